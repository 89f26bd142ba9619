"""From die lines to the cells that are blanks: lines are noded and blanks chosen, in as many rounds as it takes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Final

from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.carton.cells.choice_of_blanks import Choice, merged
from preflight.carton.cells.closed_cells import Cells
from preflight.carton.cells.doubtful_cuts import Doubts, look_for_doubts
from preflight.carton.cells.folding_blanks import choose_blanks
from preflight.carton.cells.net import build_net
from preflight.carton.lines.double_lines import merge_doubles
from preflight.carton.lines.drawn_lines import Role, Segments, segments_of
from preflight.carton.lines.prepared_lines import PreparedLines

ROUNDS: Final = 4
MOST_INKS: Final = 4


@dataclass(frozen=True)
class BlankCells:
    """The cells that lines enclose, what was chosen of them as blanks, and the outlines of that in reading order."""

    cells: Cells
    choice: Choice
    groups: tuple[int, ...]
    outlines: tuple[Polygon, ...]


def find_blank_cells(segments: Segments, trim: Box | None) -> BlankCells:
    """Nodes the lines, builds cells and chooses blanks, again where a second outline had to go."""
    net = build_net(segments)
    so_far = Choice()
    for _ in range(ROUNDS):
        cells = Cells.of(net)
        choice = merged(so_far, choose_blanks(cells, trim))
        if choice.drop is not None and choice.drop.any():
            net = net.without(choice.drop)
        elif choice.fold is not None and choice.fold.any():
            net = net.folding(choice.fold)
        else:
            break
        so_far = choice
    outlines = {group: cells.outline(group) for group in choice.groups}
    groups = _in_reading_order({group: shape for group, shape in outlines.items() if not shape.is_empty})
    return BlankCells(cells, choice, groups, tuple(outlines[group] for group in groups))


def told_by_ink(prepared: PreparedLines, trim: Box | None) -> tuple[PreparedLines, Segments, BlankCells] | None:
    """Where nothing else tells cuts from creases: one ink whose lines enclose what those of all others divide."""
    length: dict[str, float] = defaultdict(float)
    for line in prepared.lines:
        length[line.drawn_in] += line.length_mm
    if not 2 <= len(length) <= MOST_INKS:
        return None
    for name in sorted(length, key=lambda name: -length[name]):
        roles: list[Role] = ["cut" if line.drawn_in == name else "crease" for line in prepared.lines]
        lines = [replace(line, role=role) for line, role in zip(prepared.lines, roles, strict=True)]
        segments, _ = merge_doubles(segments_of(lines))
        chosen = find_blank_cells(segments, trim)
        doubts = Doubts()
        look_for_doubts(chosen.cells, chosen.groups, chosen.outlines, doubts)
        if chosen.groups and not (chosen.choice.assumed or chosen.choice.alike or doubts.says):
            others = ", ".join(other for other in length if other != name)
            words = f"lines in {name} are taken as cuts and those in {others} for creases"
            return replace(prepared, lines=lines, assumed=(*prepared.assumed, words)), segments, chosen
    return None


def _in_reading_order(outlines: dict[int, Polygon]) -> tuple[int, ...]:
    """From left to right in rows from top to bottom; a row is what overlaps by more than half its height."""
    rest = sorted(outlines, key=lambda group: -outlines[group].bounds[3])
    order: list[int] = []
    while rest:
        _, low, _, high = outlines[rest[0]].bounds
        row = [
            group
            for group in rest
            if min(high, (box := outlines[group].bounds)[3]) - max(low, box[1]) > 0.5 * min(high - low, box[3] - box[1])
        ]
        order += sorted(row, key=lambda group: outlines[group].bounds[0])
        rest = [group for group in rest if group not in row]
    return tuple(order)
