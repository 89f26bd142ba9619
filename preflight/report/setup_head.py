"""Head of a page of the PDF sheet: the job, whether it may be run and why not, what was not checked, how it lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from preflight.findings import with_and
from preflight.report.pdf_pen import Pen
from preflight.report.pdf_type import LEADING, lines_of, width_of, within_lines
from preflight.report.setup_paper import Sizes
from preflight.report.setup_points import OPEN_NAMED, Point
from preflight.report.setup_sheet import Row, SetUpSheet, first_up

NEVER: Final = "DO NOT RUN"
BANNER_LINES: Final = 4
STATE: Final = 0.84
"""Size of what says whether the job is ready, in sizes of the head."""


@dataclass(frozen=True)
class Numbers:
    """Of a page, of all pages, and of the first one behind the crew's; two figures each until they are known."""

    page: int = 88
    pages: int = 88
    behind: int = 88

    def __str__(self) -> str:
        return f"page {self.page} of {self.pages}"


def head_height(sheet: SetUpSheet, sizes: Sizes, *, first: bool = False) -> float:
    """Of all that is above the row of units; a ``first`` page says more."""
    height = sizes.margin * 0.7 + sizes.head * LEADING + sizes.body * (LEADING + 1.2)
    height += 0.0 if sheet.run_it else _banner_height(sheet, sizes, first=first)
    return height + (_state_height(sheet, sizes) + _lay_height(sheet, sizes) if first else 0.0)


def _banner_lines(sheet: SetUpSheet, sizes: Sizes, numbers: Numbers, *, first: bool) -> list[str]:
    """As many reasons as there is room for, and how many faults more there are, so that all of them are counted."""
    if not first:
        return [_reminder(sheet, numbers)]
    room = sizes.room - width_of(f"{NEVER}  ", sizes.head, bold=True) - sizes.body * 2
    shown: list[Point] = []
    for point in sheet.why_not:
        told = _banner_words([*shown, point], sheet.why_not, numbers)
        if len(lines_of(told, sizes.body, room, bold=True)) <= BANNER_LINES:
            shown.append(point)
    told = _banner_words(shown or sheet.why_not[:1], sheet.why_not, numbers)
    return within_lines(told, sizes.body, room, BANNER_LINES, bold=True)


def _reminder(sheet: SetUpSheet, numbers: Numbers) -> str:
    """What the banner of a page behind the first one says."""
    faults = sum(point.counts for point in sheet.why_not)
    told = ["no order of the units"] if any(not point.counts for point in sheet.why_not) else []
    told += [f"{faults} {'fault' if faults == 1 else 'faults'}"] if faults else []
    return f"{first_up(with_and(told))}: pages 1 and {numbers.behind}"


def _banner_words(shown: Sequence[Point], points: Sequence[Point], numbers: Numbers) -> str:
    more = sum(point.counts for point in points) - sum(point.counts for point in shown)
    left = f"{more} more {'fault' if more == 1 else 'faults'}" if more else ""
    left = left or ("more" if len(shown) < len(points) else "")
    return " \u2022 ".join([*(point.says for point in shown), *([f"{left}: page {numbers.behind}"] if left else [])])


def _banner_height(sheet: SetUpSheet, sizes: Sizes, *, first: bool) -> float:
    lines = len(_banner_lines(sheet, sizes, Numbers(), first=first))
    return max(sizes.head * LEADING, lines * sizes.body * LEADING) + sizes.body * 1.6


def _state_height(sheet: SetUpSheet, sizes: Sizes) -> float:
    """Whether the job is ready, in a frame, and what was not checked; under a banner only the latter."""
    lines = len(_open_lines(sheet, sizes, Numbers())) * sizes.body * LEADING
    if sheet.run_it:
        return lines + sizes.head * STATE * LEADING
    return lines


def _open_lines(sheet: SetUpSheet, sizes: Sizes, numbers: Numbers) -> list[str]:
    where, room = f"from page {numbers.behind}", sizes.room - sizes.body * 1.2
    told = [lines_of(sheet.open.words(where, most), sizes.body, room) for most in range(OPEN_NAMED, 0, -1)]
    return next((lines for lines in told if len(lines) == 1), told[0]) if sheet.open.count else []


def _lay_height(sheet: SetUpSheet, sizes: Sizes) -> float:
    return len(_lay_lines(sheet, sizes)) * sizes.body * (LEADING + 0.25)


def _lay_lines(sheet: SetUpSheet, sizes: Sizes) -> list[list[tuple[Row, float]]]:
    """How the sheet lies, each part with where it begins."""
    lines: list[list[tuple[Row, float]]] = [[]]
    x = 0.0
    for entry in sheet.lay:
        width = _lay_width(entry, sizes)
        if lines[-1] and x + width > sizes.room:
            lines.append([])
            x = 0.0
        lines[-1].append((entry, x))
        x += width + sizes.body * 2
    return lines


def _lay_width(entry: Row, sizes: Sizes) -> float:
    told = width_of(f"{entry.label}: ", sizes.body) + width_of(f"{entry.text} ", sizes.body, bold=True)
    return told + (0.0 if entry.text and not entry.write else sizes.body * 6)


def draw_head(
    pen: Pen, sheet: SetUpSheet, sizes: Sizes, numbers: Numbers, title: str, *, first: bool, of_line: bool = True
) -> None:
    """All that ``head_height`` is the height of; ``title`` is the page's own.

    A page that is not ``of_line`` shows the sheet and not the units in their line.
    """
    top, right = sizes.margin * 0.7, sizes.width - sizes.margin
    pen.text(right, top + sizes.head * 0.3, title, sizes.body, bold=True, align="right")
    pen.text(sizes.margin, top, _subject(sheet, title, sizes), sizes.head, bold=True)
    top += sizes.head * LEADING
    side = "" if sheet.operator_side_known else " (operator side assumed)"
    seen = f"seen from the operator side{side}" if of_line else f"printed face up, gripper edge down{side}"
    told = f"{sheet.press}, {seen}."
    told += "" if first and sheet.run_it else f" {sheet.headline}"
    pen.text(sizes.margin, top, within_lines(told, sizes.body, sizes.room, 1)[0], sizes.body)
    top += sizes.body * (LEADING + 0.3)
    if not sheet.run_it:
        _draw_banner(pen, sheet, sizes, top, numbers, first=first)
        top += _banner_height(sheet, sizes, first=first) - sizes.body * 0.5
    if first:
        _draw_state(pen, sheet, sizes, top, numbers)
        _draw_lay(pen, sheet, sizes, top + _state_height(sheet, sizes) + sizes.body * 0.45)


def _draw_state(pen: Pen, sheet: SetUpSheet, sizes: Sizes, top: float, numbers: Numbers) -> None:
    x = sizes.margin
    if sheet.run_it:
        size = sizes.head * STATE
        height = _state_height(sheet, sizes) + sizes.body * 0.3
        pen.box(x, top, sizes.room, height, line=1.8)
        x += sizes.body * 0.6
        told = within_lines(sheet.headline, size, sizes.room - sizes.body * 1.2, 1, bold=True)[0]
        pen.text(x, top + sizes.body * 0.1, told, size, bold=True)
        top += size * LEADING
    for k, line in enumerate(_open_lines(sheet, sizes, numbers)):
        pen.text(x, top + k * sizes.body * LEADING, line, sizes.body)


def _draw_lay(pen: Pen, sheet: SetUpSheet, sizes: Sizes, top: float) -> None:
    for line in _lay_lines(sheet, sizes):
        for entry, start in line:
            x = sizes.margin + start
            pen.text(x, top, f"{entry.label}:", sizes.body)
            x += width_of(f"{entry.label}: ", sizes.body)
            pen.text(x, top, entry.text, sizes.body, bold=True)
            x += width_of(f"{entry.text} ", sizes.body, bold=True) if entry.text else 0.0
            if entry.write or not entry.text:
                pen.box(x, top, sizes.body * 5.6, sizes.body * LEADING)
        top += sizes.body * (LEADING + 0.25)


def _subject(sheet: SetUpSheet, page_title: str, sizes: Sizes) -> str:
    """Number, revision and title in one line; the title gives way first."""
    room = sizes.room - width_of(page_title, sizes.body, bold=True) - sizes.body
    job = within_lines(sheet.job, sizes.head, room * 0.7, 1, bold=True)[0]
    left = room - width_of(f"{job}, ", sizes.head, bold=True)
    return f"{job}, {within_lines(sheet.title, sizes.head, left, 1, bold=True)[0]}" if sheet.title else job


def _draw_banner(pen: Pen, sheet: SetUpSheet, sizes: Sizes, top: float, numbers: Numbers, *, first: bool) -> None:
    lines = _banner_lines(sheet, sizes, numbers, first=first)
    pen.box(
        sizes.margin, top, sizes.room, _banner_height(sheet, sizes, first=first) - sizes.body * 0.8, line=0, grey=0.0
    )
    x = sizes.margin + sizes.body * 0.6
    pen.text(x, top + sizes.body * 0.3, NEVER, sizes.head, bold=True, white=True)
    x += width_of(f"{NEVER}  ", sizes.head, bold=True)
    for k, line in enumerate(lines):
        pen.text(x, top + sizes.body * (0.5 + k * LEADING), line, sizes.body, bold=True, white=True)
