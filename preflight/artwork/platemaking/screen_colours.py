"""What solid spots look like on the screen: their alternate colours, as PDFium shows them."""

from __future__ import annotations

import io
from collections.abc import Mapping

import pikepdf
from pikepdf import Dictionary, Name, Object

from preflight.artwork.platemaking.pdfium import DerivedDocument

_PATCH_PX = 4
_MOST = 400


def screen_colours_of(spaces: Mapping[str, Object]) -> dict[str, tuple[int, int, int]]:
    """SRGB 0..255 of the solid of each Separation colour space (indirect objects), by the separation's name.

    For pictures only; nothing is judged by it. A space that cannot be copied or drawn is left out.
    """
    names = list(spaces)[:_MOST]
    if not names:
        return {}
    out = pikepdf.new()
    page = out.add_blank_page(page_size=(_PATCH_PX * len(names), _PATCH_PX))
    resources, content = Dictionary(), []
    for number, name in enumerate(names):
        resources[Name(f"/S{number}")] = out.copy_foreign(spaces[name])
        content.append(f"/S{number} cs 1 scn {number * _PATCH_PX} 0 {_PATCH_PX} {_PATCH_PX} re f")
    page.obj.Resources = Dictionary(ColorSpace=resources)
    page.obj.Contents = out.make_stream("\n".join(content).encode())
    target = io.BytesIO()
    out.save(target)
    document = DerivedDocument(target)
    try:
        inked = document.render(0, (1, 0, 0, 1, 0, 0), _PATCH_PX * len(names), _PATCH_PX)
    finally:
        document.close()
    middle = _PATCH_PX // 2
    found = {}
    for number, name in enumerate(names):
        red, green, blue = (255 - int(v) for v in inked[middle, number * _PATCH_PX + middle])
        found[name] = (red, green, blue)
    return found
