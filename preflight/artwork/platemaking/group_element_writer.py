"""Groups written element by element, each through a mask that is shut in the shapes of those behind it.

``group_elements.py`` says which.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

from pikepdf import Array, Dictionary, Name, Stream

from preflight.artwork.page.geometry import IDENTITY, Matrix
from preflight.artwork.pdf.content.stream_content import Content
from preflight.artwork.platemaking.derived_pdf import FAR_RE, DerivedPdf
from preflight.artwork.platemaking.group_elements import StreamPart, steps
from preflight.artwork.platemaking.plate_resources import Written, as_form
from preflight.artwork.platemaking.renderings import SILHOUETTE, Rendering


class Beginning(NamedTuple):
    """What a part of a stream begins with."""

    state: Dictionary
    """The graphics state."""
    first: bool
    """As in ``write_stream``."""
    opacity: float = 1.0
    """That of a group, handed on to each of its elements; the group is then none any more."""


class WritePart(Protocol):
    """Writes some elements of a stream as a form; see ``rendering_writer.py``."""

    def __call__(
        self,
        derived_pdf: DerivedPdf,
        content: Content,
        to_mm: Matrix,
        rendering: Rendering,
        part: StreamPart,
        begin: Beginning,
    ) -> Stream:
        """The form, in the space of the stream."""


def write_by_elements(
    derived_pdf: DerivedPdf,
    content: Content,
    to_mm: Matrix,
    rendering: Rendering,
    write_part: WritePart,
    *,
    first: bool = False,
    opacity: float = 1.0,
) -> Written:
    """A group's elements one by one; ``first`` and ``opacity`` as in ``Beginning``.

    Raises:
        NotDrawn: see ``group_elements.steps``.
    """
    forms, order = Dictionary(), []
    for number, step in enumerate(steps(derived_pdf.page_content, content, faint=opacity < 1)):
        state = Dictionary()
        if step.later:
            state.SMask = _shut_mask(derived_pdf, content, to_mm, step.later, write_part)
        if opacity < 1:
            state.ca = state.CA = opacity
            state.BM = Name.Normal
        begin = Beginning(state, first, opacity)
        forms[Name(f"/E{number}")] = write_part(derived_pdf, content, to_mm, rendering, step.painted, begin)
        order.append(b"/E%d Do" % number)
    return derived_pdf.out.make_stream(b" ".join(order)), Dictionary(XObject=forms)


def _shut_mask(
    derived_pdf: DerivedPdf,
    content: Content,
    to_mm: Matrix,
    later: Sequence[tuple[StreamPart, float]],
    write_part: WritePart,
    *,
    turned: bool = False,
) -> Dictionary:
    """A soft mask that is shut in the shapes of some elements; ``turned``: that is open there.

    Where one of them covers a share f of a pixel, what is earlier keeps 1 - f of its opacity; but it is painted over
    by f alpha, so it has to be let through by (1 - f) / (1 - f alpha). Elements of several opacities are masks in a
    mask, and what each lets through is multiplied.
    """
    if len(later) == 1:
        (part, alpha), *_ = later
        shapes = write_part(derived_pdf, content, to_mm, SILHOUETTE, part, Beginning(Dictionary(), first=True))
    else:
        shapes = as_form(derived_pdf.out.make_stream(b""), Dictionary(ExtGState=Dictionary()), content, None)
        shapes.Matrix = Array(list(IDENTITY))
        for number, one in enumerate(later):
            mask = _shut_mask(derived_pdf, content, to_mm, [one], write_part, turned=True)
            shapes.Resources.ExtGState[Name(f"/S{number}")] = Dictionary(SMask=mask)
        shapes.write(b" ".join(b"/S%d gs 0 g %s f" % (number, FAR_RE) for number in range(len(later))))
    shapes.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceGray, I=True)
    mask = Dictionary(Type=Name.Mask, S=Name.Luminosity, G=shapes, BC=Array([1.0]))
    if len(later) == 1 and (alpha or turned):
        words = b"{dup %.4f mul %.4f add div%s}" % (alpha, 1 - alpha, b" 1 exch sub" if turned else b"")
        mask.TR = derived_pdf.out.make_stream(words)
        mask.TR.FunctionType, mask.TR.Domain, mask.TR.Range = 4, Array([0, 1]), Array([0, 1])
    return mask
