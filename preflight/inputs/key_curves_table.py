"""rules/key_curves.yaml: how far a key is opened for the cover in its strip, as far as the plant has learnt it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Final

from pydantic import field_validator

from preflight.errors import InputFault, InvalidInput, NotUnderstood
from preflight.inputs.fields import ClosedKeys, Count, Number, Text, word
from preflight.inputs.loading import load_yaml, state_of, table_file
from preflight.inputs.yaml_table import Table, build
from preflight.kinds import PRINTING_KINDS

FILE: Final = "key_curves.yaml"
ANY: Final = "any"


class KeyCurve(ClosedKeys):
    """Opening by cover for one kind of ink on one unit and one board."""

    unit: Count
    ink: Annotated[str, word(*PRINTING_KINDS)]
    board: Text
    """The ticket's grade; ``any`` for all."""
    press: Text | None = None
    """The profile's name; None holds for every press."""
    points: tuple[tuple[Number, Number], ...]
    """Cover 0..1 and opening in %, covers rising, openings never falling."""
    sheets: Count | None = None
    readings: Count | None = None
    spread: Number | None = None
    """Standard deviation of the readings about the curve, in points of opening."""
    says: Text | None = None

    @field_validator("unit")
    @classmethod
    def _from_one(cls, unit: int) -> int:
        if unit < 1:
            raise NotUnderstood("the number of a unit, from 1")
        return unit

    @field_validator("points")
    @classmethod
    def _rising(cls, points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        if len(points) < 2:
            raise NotUnderstood("at least two points, each [cover, opening]")
        for place, (cover, opening) in enumerate(points):
            if cover > 1 or opening > 100:
                raise NotUnderstood("points of a cover up to 1 and an opening up to 100 %", entry=place)
        for place, ((cover, opening), (more, wider)) in enumerate(pairwise(points), 1):
            if more <= cover or wider < opening:
                raise NotUnderstood("points of rising cover whose openings never fall", entry=place)
        return points

    @property
    def is_for(self) -> tuple[str, int, str, str]:
        """Press, unit, kind and board, as they are compared."""
        return (self.press or "").casefold(), self.unit, self.ink, self.board.casefold()

    def fits(self, press: str, unit: int, kind: str, grade: str | None) -> bool:
        """Whether the curve is for this ink there."""
        mine = self.press is None or self.press.casefold() == press.casefold()
        board = self.board.casefold() in (ANY, (grade or ANY).casefold())
        return mine and board and (self.unit, self.ink) == (unit, kind)


def load_key_curves(file: str | Path | None = None) -> tuple[KeyCurve, ...]:
    """The curves of the rules folder, the shipped ones (none) where a plant's folder has no such file; or of one file.

    Raises:
        InvalidInput: with every fault of the file.
    """
    path = Path(file) if file is not None else table_file(FILE)
    return _curves(path, state_of(path))


@lru_cache(maxsize=4)
def _curves(path: Path, state: tuple[int, ...]) -> tuple[KeyCurve, ...]:  # state: an edited table is read anew
    table = load_yaml(path)
    if not isinstance(table.data, list):
        raise InvalidInput([table.fault((), table.data, "a list of curves, each beginning with - unit:")])
    built = [build(KeyCurve, table, at=(place,)) for place in range(len(table.data))]
    curves = [curve for curve, _ in built if curve is not None]
    faults = [fault for _, more in built for fault in more] or list(_twice(table, curves))
    if faults:
        raise InvalidInput(faults)
    return tuple(curves)


def _twice(table: Table, curves: Sequence[KeyCurve]) -> Iterator[InputFault]:
    first: dict[tuple[str, int, str, str], int] = {}
    for place, curve in enumerate(curves):
        if curve.is_for in first:
            line = table.line((first[curve.is_for],))
            yield table.fault((place,), f"a second curve for the same (the first is on line {line})", "one curve each")
        first.setdefault(curve.is_for, place)


def curves_text(curves: Sequence[KeyCurve], says: Sequence[str] = ()) -> str:
    """The table as YAML, ``says`` on top as remarks."""
    lines = [f"# {said}".rstrip() for said in says]
    for curve in curves:
        lines.append(f"- unit: {curve.unit}")
        texts = {"ink": curve.ink, "board": curve.board, "press": curve.press}
        lines += [f"  {key}: {json.dumps(text, ensure_ascii=False)}" for key, text in texts.items() if text is not None]
        lines.append(f"  points: [{', '.join(f'[{cover:.4g}, {opening:.4g}]' for cover, opening in curve.points)}]")
        counts = {"sheets": curve.sheets, "readings": curve.readings, "spread": curve.spread}
        lines += [f"  {key}: {figure:g}" for key, figure in counts.items() if figure is not None]
        lines += [f"  says: {json.dumps(curve.says, ensure_ascii=False)}"] if curve.says else []
    return "\n".join([*lines, *([] if curves else ["[]"]), ""])
