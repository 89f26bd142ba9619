"""Graphics states that a derived stream begins something with, because PDFium does not take them from around it."""

from __future__ import annotations

from pikepdf import Dictionary, Name, Object

from preflight.artwork.matrices import IDENTITY
from preflight.artwork.painted.content import Call
from preflight.artwork.platemaking.plate_resources import PlateResources


def handed_on(made: PlateResources, call: Call) -> Dictionary | None:
    """The opacity and blend mode that the objects of a form begin with which is no group (ISO 32000-2, 8.10.1).

    PDFium takes them for the form's, whatever its objects set, and blends them with each other only. None where it
    need not be told.
    """
    _, _, _, fill_alpha, stroke_alpha, mode, *_ = made.book.owner.states[call.state]
    usual = fill_alpha == stroke_alpha == 1 and mode == "Normal"
    if usual or call.content.group or made.opacity != 1 or made.rendering.silhouette:
        return None
    given = Dictionary(ca=fill_alpha, CA=stroke_alpha, BM=Name(f"/{mode}"))
    return made.graphics_state(given, IDENTITY)


def for_a_stencil(made: PlateResources, alpha: float) -> Object:
    """The root of a stencil's opacity: PDFium takes the opacity twice, for the colour and for the picture."""
    key = ("stencil at an opacity", round(alpha * 1000))
    if key not in made.book.made:
        made.book.made[key] = made.book.out.make_indirect(Dictionary(ca=alpha**0.5))
    return made.book.made[key]
