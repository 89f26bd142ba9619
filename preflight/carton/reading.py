"""From drawn lines to chosen cells: tidied, told apart, noded, and read again where a second outline had to go."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from shapely import Polygon

from preflight.artwork.objects import Box
from preflight.carton.asides import find_asides
from preflight.carton.cells import Cells
from preflight.carton.choice import Choice, merged
from preflight.carton.choosing import choose_blanks
from preflight.carton.dashes import join_dashes
from preflight.carton.doubles import merge_doubles
from preflight.carton.doubts import Doubts, look_for_doubts
from preflight.carton.fills import edges_of_fills
from preflight.carton.lines import DieLine, Role, Segments, segments_of
from preflight.carton.net import build_net
from preflight.carton.roles import Told, tell_roles
from preflight.quantities import shown

ROUNDS: Final = 4
MOST_INKS: Final = 4


@dataclass(frozen=True)
class Reading:
    """One reading of the lines: their cells, what was chosen, and the outlines of that in reading order."""

    cells: Cells
    choice: Choice
    groups: tuple[int, ...]
    outlines: tuple[Polygon, ...]


@dataclass
class Prepared:
    """Lines ready to be noded, and what was put aside."""

    lines: list[DieLine]
    dimension: list[DieLine] = field(default_factory=list)
    """Dimension lines with an arrow head."""
    aside: list[DieLine] = field(default_factory=list)
    """Arrow heads and lettering."""
    words: int = 0
    assumed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    guessed_within: tuple[str, ...] = ()
    """What is guessed of lines within the cut."""


def prepare(lines: Sequence[DieLine]) -> Prepared:
    """Tidies the lines: fills to edges, loose dashes to dashed lines, lettering and dimension lines put aside."""
    tidy, bands = edges_of_fills(lines)
    tidy = join_dashes(tidy)
    asides = find_asides(tidy)
    told: Told = tell_roles([line for line, gone in zip(tidy, asides.any, strict=True) if not gone])
    return Prepared(
        told.lines,
        [line for line, mine in zip(tidy, asides.dimension, strict=True) if mine],
        [line for line, mine in zip(tidy, asides.arrows | asides.lettering, strict=True) if mine],
        asides.words,
        notes=(
            *told.notes,
            *([f"{shown(bands, 'strokes')} turned into outlines: the middle is taken"] if bands else []),
        ),
        guessed_within=told.guessed_within,
    )


def read_lines(segments: Segments, trim: Box | None) -> Reading:
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
    return Reading(cells, choice, groups, tuple(outlines[group] for group in groups))


def told_by_ink(prepared: Prepared, trim: Box | None) -> tuple[Prepared, Segments, Reading] | None:
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
        reading = read_lines(segments, trim)
        doubts = Doubts()
        look_for_doubts(reading.cells, reading.groups, reading.outlines, doubts)
        if reading.groups and not (reading.choice.assumed or reading.choice.alike or doubts.says):
            others = ", ".join(other for other in length if other != name)
            words = f"lines in {name} are taken for cuts and those in {others} for creases"
            return replace(prepared, lines=lines, assumed=(*prepared.assumed, words)), segments, reading
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
