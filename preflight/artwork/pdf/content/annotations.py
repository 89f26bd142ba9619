"""Annotations that print: their appearances stand behind the page's content and put ink on plates as it does."""

from __future__ import annotations

from typing import Any

import numpy as np
from pikepdf import Dictionary, Name, Object, Stream

from preflight.artwork.page.geometry import Matrix, box_of, box_through, matrix_of
from preflight.artwork.page.page import Annotation
from preflight.artwork.pdf.content.tokens import operator_code, scan
from preflight.artwork.pdf.structure.layers import LayerReader
from preflight.artwork.pdf.structure.values import entries, items, lookup, name_bytes, text, whole

MOST_ANNOTATIONS = 5000
_HIDDEN, _PRINT = 1 << 1, 1 << 2
_SAVE, _RESTORE = operator_code(b"q"), operator_code(b"Q")


def with_annotations(page: Object, content: bytes, resources: Object) -> tuple[bytes, Object]:
    """The page's content and resources with the appearances of its printing annotations behind; else as they are.

    An annotation prints with its Print flag set and its Hidden flag not (ISO 32000-2, 12.5.3).
    """
    shown = _shown(page)
    if not shown:
        return content, resources
    forms, layers, painted = Dictionary(), Dictionary(), []
    for number, (annotation, form) in enumerate(shown):
        matrix = _placed(form, box_of(lookup(annotation, "Rect")))
        if matrix is None:
            continue
        forms[f"/PlAnnotation{number}"] = form
        call = b"q %.6f %.6f %.6f %.6f %.6f %.6f cm /PlAnnotation%d Do Q" % (*matrix, number)
        layer = lookup(annotation, "OC")
        if isinstance(layer, Dictionary):
            layers[f"/PlAnnotation{number}"] = layer
            call = b"/OC /PlAnnotation%d BDC %s EMC" % (number, call)
        painted.append(call)
    before, after = _balance(content)
    joined = b"\n".join([b"q " * before, content, b"Q " * after, *painted])
    return joined, _joined(_joined(resources, "/XObject", forms), "/Properties", layers)


def printed_annotations(page: Object, to_mm: Matrix, layers: LayerReader) -> list[Annotation]:
    """Annotations that print, those on layers that do not print left out."""
    found = []
    for annotation, form in _shown(page):
        rect = box_of(lookup(annotation, "Rect"))
        if rect is None or _placed(form, rect) is None or not layers.state(lookup(annotation, "OC"))[1]:
            continue
        kind, contents = (text(lookup(annotation, key)) for key in ("Subtype", "Contents"))
        found.append(Annotation(kind, box_through(to_mm, rect), contents))
    return found


def _shown(page: Object) -> list[tuple[Object, Stream]]:
    """Annotations of a page that print, each with its appearance."""
    printed = [annotation for annotation in items(lookup(page, "Annots"), MOST_ANNOTATIONS) if _prints(annotation)]
    return [(annotation, form) for annotation in printed if (form := _appearance(annotation)) is not None]


def _prints(annotation: Any) -> bool:
    flags = whole(lookup(annotation, "F")) or 0
    return bool(flags & _PRINT) and not flags & _HIDDEN and name_bytes(lookup(annotation, "Subtype")) != b"Popup"


def _appearance(annotation: Any) -> Stream | None:
    """The normal appearance, of several states the current one (12.5.5)."""
    normal = lookup(lookup(annotation, "AP"), "N")
    if isinstance(normal, Dictionary):
        state = name_bytes(lookup(annotation, "AS"))
        normal = lookup(normal, state) if state is not None else None
    return normal if isinstance(normal, Stream) else None


def _placed(form: Stream, rect: tuple[float, float, float, float] | None) -> Matrix | None:
    """The matrix A of 12.5.5: it brings the box of the transformed appearance onto the annotation's rectangle."""
    bbox = box_of(lookup(form, "BBox"))
    if bbox is None or rect is None:
        return None
    x0, y0, x1, y1 = box_through(matrix_of(lookup(form, "Matrix")), bbox)
    if x1 <= x0 or y1 <= y0:
        return None
    a, d = (rect[2] - rect[0]) / (x1 - x0), (rect[3] - rect[1]) / (y1 - y0)
    return (a, 0.0, 0.0, d, rect[0] - a * x0, rect[1] - d * y0)


def _balance(content: bytes) -> tuple[int, int]:
    """How many ``q`` to put before and ``Q`` behind, so that what follows begins with the page's first state."""
    depth, lowest = 0, 0
    for chunk in scan(content):
        codes = chunk.operator_code
        steps = (codes == _SAVE).astype(np.int64) - (codes == _RESTORE)
        lowest = min(lowest, depth + int(np.cumsum(steps).min(initial=0)))
        depth += int(steps.sum())
    before = 1 - lowest
    return before, before + depth


def _joined(resources: Object, category: str, more: Dictionary) -> Object:
    """Resources with more members in one category; the file's own are left as they are."""
    if not len(more):
        return resources
    made = Dictionary(dict(entries(resources)))
    kept = Dictionary(dict(entries(lookup(resources, category))))
    for name, value in entries(more):
        kept[name] = value
    made[Name(category)] = kept
    return made
