"""The template engine of the pages, and what their security policy needs."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from preflight.quantities import with_squares
from preflight.report import words


def digest_of(text: str) -> str:
    """The digest by which a Content-Security-Policy names a script or a style."""
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def text_of(name: str) -> str:
    """A file that lies in this folder."""
    return files("preflight.report").joinpath(name).read_text("utf-8")


def _shown(value: object) -> object:
    """Runs over everything that the template writes."""
    return value if isinstance(value, Markup) else words.plain(value)


@cache
def environment() -> Environment:
    """Everything that a template writes is escaped, and freed of characters that steer a screen."""
    environment = Environment(
        loader=FunctionLoader(text_of),
        autoescape=True,
        finalize=_shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["words"] = words
    environment.globals["newline"] = Markup("\n")
    environment.globals["signs"] = words.SIGNS
    environment.filters["prose"] = with_squares
    environment.filters["first_up"] = lambda text: text[:1].upper() + text[1:]
    environment.filters["mm"] = lambda value: f"{value:.2f}".rstrip("0").rstrip(".")
    return environment
