"""Names and text as XML takes them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

_NOT_IN_TOKEN: Final = re.compile(r"[^A-Za-z0-9._-]")
_NOT_IN_XML: Final = re.compile(r"[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def token(text: str) -> str:
    """A text as an NMTOKEN of plain letters; what does not fit becomes ``_``, and nothing at all too."""
    return _NOT_IN_TOKEN.sub("_", text) or "_"


def tokens(names: Iterable[str]) -> list[str]:
    """One token for each name, all different: where two come out alike, the later one gets a number."""
    given: list[str] = []
    for name in names:
        first = here = token(name)
        number = 1
        while here in given:
            number += 1
            here = f"{first}-{number}"
        given.append(here)
    return given


def readable(text: str) -> str:
    """A text with what XML 1.0 does not allow (control characters, lone surrogates) replaced by U+FFFD."""
    return _NOT_IN_XML.sub("\ufffd", text)
