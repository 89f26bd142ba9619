"""Lines of a drafted YAML file: texts that are read back as they are, settings, and those that wait behind a ``#``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

PLAIN: Final = re.compile(r"[A-Za-z][\w .()/+-]*[\w)]")
NOTHING: Final = frozenset({"null", "none"})
SCHEMA: Final = "# yaml-language-server: $schema={}.schema.json"
"""First line of a file, by which an editor finds the schema that ``preflight schema --write`` lays beside it."""
NOTE_AT: Final = 42
"""Column of the notes behind settings."""


def text(value: str) -> str:
    """A text as a scalar that the loader gives back unchanged, plain where it can be."""
    if PLAIN.fullmatch(value) and value.isascii() and value.lower() not in NOTHING:
        return value
    return '"' + "".join(_escaped(character) for character in value) + '"'


def listed(values: Iterable[str]) -> str:
    """Texts as a list on one line."""
    return f"[{', '.join(text(value) for value in values)}]"


def setting(line: str, note: str = "") -> str:
    """A setting that holds, with a note behind it."""
    return f"{line:<{NOTE_AT - 2}}  # {_one_line(note)}" if note else line


def waiting(line: str, note: str = "") -> str:
    """A setting that holds once somebody takes away the ``#`` before it."""
    return setting(f"#{line}", note)


def remark(words: str) -> str:
    """A line for people."""
    return f"# {_one_line(words)}"


def _one_line(words: str) -> str:
    """Names come from a customer's file: none of them begins a line of its own."""
    return "".join(character if character.isprintable() else "?" for character in words)


def _escaped(character: str) -> str:
    if character in '"\\':
        return f"\\{character}"
    if character.isprintable():
        return character
    number = ord(character)
    return f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"
