"""A page written anew for its plates: the shapes stay, every colour becomes tints in red, green and blue.

One PDF is made with a page for each ``Rendering``. White (1) is bare board and 0 is solid, so that a renderer which
knows nothing of plates composes tints. What overprints is left out of the renderings of the plates that it leaves
alone. In an isolated group it may not be left out: where nothing lies below it in the group the standard lets its
own tint of zero show (ISO 32000-2, 11.7.4.3, the backdrop's alpha being zero), and that is painted there as bare
board with blend mode Darken, which changes nothing where something does lie below.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

import pikepdf
from pikepdf import Array, Dictionary, Name

from preflight.artwork.matrices import Matrix
from preflight.artwork.painted.content import Content
from preflight.artwork.platemaking.pass_writer import write_stream
from preflight.artwork.platemaking.passes import Rendering
from preflight.artwork.platemaking.plate_book import PlateBook
from preflight.artwork.platemaking.plate_resources import as_form


def derived_pdf(
    book: PlateBook,
    page: Content,
    to_mm: Matrix,
    media_pt: Sequence[float],
    renderings: Sequence[Rendering],
    *,
    isolated: bool = False,
) -> bytes:
    """The derived PDF, one page for each rendering in their order; what could not be written is in ``book.faults``.

    ``isolated``: the page is composed on nothing and then laid on bare board, as ISO 32000-2, 11.4.7 has it; otherwise
    it is composed on bare board at once, which is faster and for most pages the same.
    """
    for rendering in renderings:
        stream, resources = write_stream(book, page, to_mm, rendering, True)
        sheet = book.out.add_blank_page(page_size=(100, 100))
        sheet.obj.MediaBox = Array([float(v) for v in media_pt])
        if isolated:
            group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=True)
            resources = Dictionary(XObject=Dictionary(Page=as_form(stream, resources, page, group)))
            stream = book.out.make_stream(b"/Page Do")
        sheet.obj.Resources = resources
        sheet.obj.Contents = stream
    target = io.BytesIO()
    book.out.save(target, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    return target.getvalue()
