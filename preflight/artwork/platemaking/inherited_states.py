"""Graphics states that a derived stream begins something with, because PDFium does not take them from around it."""

from __future__ import annotations

from pikepdf import Dictionary, Name

from preflight.artwork.page.geometry import IDENTITY
from preflight.artwork.pdf.content.stream_content import Call
from preflight.artwork.platemaking.plate_resources import PlateResources
from preflight.errors import CannotBeRendered


def inherited_state(made: PlateResources, call: Call) -> Dictionary | None:
    """The opacity and blend mode that the objects of a form begin with which is no group (ISO 32000-2, 8.10.1).

    PDFium takes them for the form's, whatever its objects set, and blends them with each other only. A soft mask it
    takes for both, so the objects begin without. None where it need not be told.

    Raises:
        NotDrawn: masked as a whole, the objects cannot be blended with what lies below.
    """
    page = made.derived_pdf.page_content
    state = page.states[call.state]
    if state.is_plain or call.content.group or made.opacity != 1 or made.rendering.silhouette:
        return None
    if state.soft_mask and (state.blend != "Normal" or page.transparency.blends(call.content)):
        raise CannotBeRendered("a form that is no group, with blend modes in it, through a soft mask")
    given = Dictionary(ca=state.fill_alpha, CA=state.stroke_alpha, BM=Name(f"/{state.blend}"))
    if state.soft_mask:
        given.SMask = Name("/None")
    return made.graphics_state(given, IDENTITY)
