"""A page written anew for its plates: the shapes stay, every colour becomes tints in red, green and blue.

One PDF is made with a page for each ``Rendering``, or several where groups are composed by us. White (1) is bare board
and 0 is solid, so that a renderer which knows nothing of plates composes tints. What overprints is left out of the
renderings of the plates that it leaves alone. In an isolated group it may not be left out: where nothing lies below it
in the group the standard lets its own tint of zero show (ISO 32000-2, 11.7.4.3, the backdrop's alpha being zero), and
that is painted there as bare board with blend mode Darken, which changes nothing where something does lie below. In a
blend mode it is blended with itself: see ``overprint``.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from tempfile import TemporaryFile
from typing import BinaryIO

import pikepdf
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.geometry import Matrix
from preflight.artwork.platemaking.composed_groups import Composer, Step
from preflight.artwork.platemaking.derived_pdf import DerivedPdf
from preflight.artwork.platemaking.group_elements import StreamPart
from preflight.artwork.platemaking.page_pieces import pieces_of
from preflight.artwork.platemaking.plate_resources import as_form
from preflight.artwork.platemaking.rendering_writer import write_stream
from preflight.artwork.platemaking.renderings import Rendering


def write_derived_pdf(
    derived_pdf: DerivedPdf, to_mm: Matrix, media_pt: Sequence[float], renderings: Sequence[Rendering]
) -> tuple[BinaryIO, list[tuple[Step, ...]]]:
    """The derived PDF as an open file, and for each rendering the steps in which it is drawn from its pages.

    What could not be written is in ``derived_pdf.missing``.
    """
    page, isolated = derived_pdf.page_content.stream, derived_pdf.isolated

    def add_page(rendering: Rendering, part: StreamPart | None) -> int:
        stream, resources = write_stream(derived_pdf, page, to_mm, rendering, True, part)
        sheet = derived_pdf.out.add_blank_page(page_size=(100, 100))
        sheet.obj.MediaBox = Array([float(v) for v in media_pt])
        if isolated and part is None:
            group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=True)
            resources = Dictionary(XObject=Dictionary(Page=as_form(stream, resources, page, group)))
            stream = derived_pdf.out.make_stream(b"/Page Do")
        sheet.obj.Resources = resources
        sheet.obj.Contents = stream
        return len(derived_pdf.out.pages) - 1

    left_out = len(derived_pdf.left_out.get(page.number, ()))
    composer = Composer(derived_pdf.page_content, media_pt, add_page, partial(pieces_of, left_out=left_out))
    drawings = [composer.drawing(rendering, isolated=isolated) for rendering in renderings]
    return _saved(derived_pdf.out), drawings


def _saved(out: pikepdf.Pdf) -> BinaryIO:
    """A file without a name, since photographs make it a hundred megabytes; in memory where the disk has no room."""
    targets: tuple[Callable[[], BinaryIO], ...] = (TemporaryFile, io.BytesIO)
    for target in targets:
        file = target()
        with suppress(OSError):
            out.save(file, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
            file.flush()
            break
        file.close()
    return file
