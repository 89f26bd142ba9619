"""A drawn carton and its revisions: one call a state, so that what differs stands in the test."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import pikepdf

from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.compare_revisions import compare_revisions
from preflight.comparing.comparison import Comparison, PlateChange
from preflight.inputs.ticket import Ticket
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import MM, Drawing, Point

Colour = Sequence[float]
SIZE = (215.0, 200.0)
TRIM = (10.0, 10.0, 205.0, 190.0)
PLATES = ["Cyan", "Magenta", "Yellow", "Black", "Copper", "Gold", "Moss"]
PROCESS = PLATES[:4]


def carton(
    *,
    size: tuple[float, float] = SIZE,
    at: Point = (10, 10),
    die: bool = True,
    art: Point = (0, 0),
    trim: tuple[float, float, float, float] | None = None,
    rotate: int = 0,
    scale: float = 1,
    cyan: float = 0.3,
    weight: str = "500 g",
    code: str = "4012345",
    moss: str | Colour = "Moss",
    gold: str = "Gold",
    convert: Callable[[Colour], Colour] = tuple,
    turned_round: bool = False,
    magenta_art: Point = (0, 0),
) -> Drawing:
    """A reverse tuck with seven plates; ``art`` and ``magenta_art`` move print and leave the die, ``at`` moves both."""
    page = Drawing(*size, trim=trim)
    if scale != 1:
        page.raw(f"{scale} 0 0 {scale} 0 0 cm")
    x, y = at[0] + art[0], at[1] + art[1]

    def rect(left: float, low: float, right: float, high: float) -> tuple[float, float, float, float]:
        return (x + left, y + low, x + right, y + high)

    fills: list[tuple[str | Colour, tuple[float, float, float, float]]] = [
        (convert((cyan, 0, 0.4, 0)), rect(20, 40, 61, 90)),
        (convert((0.1, 0, 0.7, 0)), rect(20, 91, 61, 97)),
        (gold, rect(150, 40, 160, 60)),
        ("Copper", rect(120, 40, 140, 60)),
    ]
    for ink, box in reversed(fills) if turned_round else fills:
        page.fill(ink, rect=box)
    x, y = x + magenta_art[0], y + magenta_art[1]
    page.fill(convert((0, 0.8, 0, 0)), rect=rect(80, 95, 100, 105))
    x, y = x - magenta_art[0], y - magenta_art[1]
    page.fill(moss, points=[(x + 70, y + 50), (x + 110.2, y + 55), (x + 90, y + 90)])
    page.text(f"Oats {weight}", (x + 20, y + 100), 11, ink=convert((0, 0, 0, 1)))
    page.text(f"Code {code}", (x + 120, y + 100), 8, ink=convert((0, 0, 0, 1)))
    if die:
        draw_die(page, reverse_tuck(at=at))
    if rotate:
        page.page.obj.Rotate = rotate
    return page


def with_origin(page: Drawing, x_pt: float, y_pt: float) -> Drawing:
    """The same page with its media box somewhere else."""
    width, height = (float(v) for v in page.page.obj.MediaBox[2:])
    page.page.obj.MediaBox = [x_pt, y_pt, x_pt + width, y_pt + height]
    page.ops.insert(0, f"1 0 0 1 {x_pt} {y_pt} cm")
    return page


def other_conversion(colour: Colour) -> Colour:
    """As another profile would: each tint of all four, and a black of several inks."""
    c, m, y, k = colour
    return (
        min(1, 0.9 * c + 0.02 + 0.3 * k),
        min(1, 0.92 * m + 0.1 * y + 0.3 * k),
        0.85 * y + 0.05 * m + 0.2 * k,
        0.9 * k,
    )


def only_metadata(path: Path) -> Path:
    """The same file with another title, saved again."""
    to = path.with_name("metadata.pdf")
    with pikepdf.open(path) as pdf:
        pdf.docinfo["/Title"] = "Oats, final"
        pdf.pages[0].obj.PieceInfo = pikepdf.Dictionary(Notes=pikepdf.Dictionary(LastModified="today"))
        pdf.save(to, object_stream_mode=pikepdf.ObjectStreamMode.generate, recompress_flate=True)
    return to


def compared(folder: Path, old: Drawing | Path, new: Drawing | Path, **ticket: object) -> Comparison:
    """Two states compared as revisions."""
    paths = [
        each if isinstance(each, Path) else each.save(folder / f"{name}.pdf")
        for name, each in (("old", old), ("new", new))
    ]
    stated = Ticket.model_validate(ticket) if ticket else None
    with read_artwork(paths[0], stated) as one, read_artwork(paths[1], stated) as other:
        return compare_revisions(one, other, stated)


def changes(found: Comparison) -> dict[str, str]:
    """What became of each plate that is not the same."""
    return {plate.name: plate.change for plate in found.plates if plate.change != "none"}


def plate(found: Comparison, name: str) -> PlateChange:
    """One plate."""
    return next(each for each in found.plates if each.name == name)


def box(drawing: Drawing, key: str, mm: tuple[float, float, float, float]) -> Drawing:
    """The same page with a box of its own."""
    drawing.box(key, mm)
    return drawing


def user_unit(drawing: Drawing, unit: float) -> Drawing:
    """The same page, displayed as large, in units of another size."""
    drawing.page.obj.UserUnit = unit
    drawing.page.obj.MediaBox = [0, 0, *(side * MM / unit for side in SIZE)]
    drawing.ops.insert(0, f"{1 / unit} 0 0 {1 / unit} 0 0 cm")
    return drawing
