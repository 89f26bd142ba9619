"""What a file calls its pages: their labels, and the plate that a page of a pre-separated file says that it is."""

from __future__ import annotations

import warnings
from typing import Any

import pikepdf

from preflight.artwork.pdf.structure.values import lookup, spelt, text


def page_label(pdf: pikepdf.Pdf, number: int) -> str:
    """Label of a page, counted from 1; empty where the file gives its pages none. Never raises."""
    if lookup(pdf.Root, "PageLabels") is None:
        return ""
    try:
        with warnings.catch_warnings(action="ignore"):  # the library tells of what it cannot read; here it is no label
            label = pdf.pages[number - 1].label
        return spelt(label.encode()) if label else ""
    except (pikepdf.PdfError, RuntimeError, ValueError, TypeError, KeyError, RecursionError, OverflowError):
        return ""


def plate_of(page: Any) -> str:
    """The colorant of a page's separation dictionary, a name or a string (ISO 32000-2, 14.11.4); empty for none."""
    info = lookup(page, "SeparationInfo")
    if not isinstance(info, pikepdf.Dictionary):
        return ""
    return text(lookup(info, "DeviceColorant")).strip() or "a colorant that it does not name"
