"""Graphics states that a derived stream begins something with, because PDFium does not take them from around it."""

from __future__ import annotations

from pikepdf import Dictionary, Name

from preflight.artwork.matrices import IDENTITY
from preflight.artwork.painted.content import Call
from preflight.artwork.painted.showing import blends
from preflight.artwork.platemaking.plate_resources import PlateResources
from preflight.errors import CannotBeRendered


def handed_on(made: PlateResources, call: Call) -> Dictionary | None:
    """The opacity and blend mode that the objects of a form begin with which is no group (ISO 32000-2, 8.10.1).

    PDFium takes them for the form's, whatever its objects set, and blends them with each other only. A soft mask it
    takes for both, so the objects begin without. None where it need not be told.

    Raises:
        NotDrawn: masked as a whole, the objects cannot be blended with what lies below.
    """
    state = made.book.owner.states[call.state]
    fill_alpha, stroke_alpha, mode, masked = state[3], state[4], state[5], state[10]
    usual = fill_alpha == stroke_alpha == 1 and mode == "Normal" and not masked
    if usual or call.content.group or made.opacity != 1 or made.rendering.silhouette:
        return None
    if masked and (mode != "Normal" or blends(made.book.owner, call.content)):
        raise CannotBeRendered("a form that is no group, with blend modes in it, through a soft mask")
    given = Dictionary(ca=fill_alpha, CA=stroke_alpha, BM=Name(f"/{mode}"))
    if masked:
        given.SMask = Name("/None")
    return made.graphics_state(given, IDENTITY)
