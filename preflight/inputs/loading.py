"""The one door for YAML: every scalar as text, all faults at once, each with file, line, key and a guess.

Numbered rules for what a file may hold; each is a fault of its own, never a traceback:

1. At most 1 MB of UTF-8 text (a byte-order mark and CRLF are fine), one document, 30 levels deep.
2. Scalars stay what was written (``NO``, ``072``, ``12:30``); only a plain ``null``, ``~`` or nothing is None.
3. A key stands once; keys are text; no tags.
4. An alias stands for its anchor, as long as the whole stays under 20,000 entries.
5. ``{caliper: 0,45 mm}`` is a decimal comma and not the keys ``caliper`` and ``45 mm``.
"""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import yaml

from preflight.errors import InputFault, InvalidInput
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.inputs.yaml_table import KeyPath, Plain, Table, build, described, key_text, keys_at
from preflight.suggest import nearest

if TYPE_CHECKING:
    from preflight.inputs.press_state import PressState

MOST_BYTES: Final = 1_000_000
MOST_ENTRIES: Final = 20_000
DEEPEST: Final = 30
RULES_VARIABLE: Final = "PREFLIGHT_RULES"

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def load_yaml(path: str | Path) -> Table:
    """Read a table: text scalars, lists and dicts, with lines.

    Raises:
        InvalidInput: with every fault of the file's form.
    """
    table = read_table(path)
    if table.faults:
        raise InvalidInput(table.faults)
    return table


def state_of(path: Path) -> tuple[int, ...]:
    """Which file it is, when it was changed last and how large it is: what is kept of it is kept under these too.

    So a table that somebody edits while a service runs is read anew, also where the new one has the size and the time
    of the old one, as a copy with its times kept may have. Empty where there is no file.
    """
    try:
        status = path.stat()
    except OSError:
        return ()
    return status.st_ino, status.st_ctime_ns, status.st_mtime_ns, status.st_size


def load_press(path: str | Path) -> Press:
    """Read a press profile; raises InvalidInput with every fault of the file."""
    press, faults = _read_press(Path(path))
    if press is None or faults:
        raise InvalidInput(faults)
    return press


def load_ticket(path: str | Path, *, given: Collection[str] = ()) -> Ticket:
    """Read a job ticket, its paths resolved against its folder; the press that it names is not opened.

    Args:
        path: the ticket.
        given: of ``artwork`` and ``press``, those that the command line gives, so that the ticket's need not be there.

    Raises:
        InvalidInput: with every fault of the file, a missing artwork or press among them.
    """
    ticket, faults, _ = _read_ticket(Path(path), given)
    if ticket is None or faults:
        raise InvalidInput(faults)
    return ticket


def load_job(
    path: str | Path, *, press: str | Path | None = None, given: Collection[str] = ()
) -> tuple[Ticket, Press | None]:
    """Read a ticket and its press: the one given, else the one that the ticket names.

    Raises:
        InvalidInput: with the faults of both files.
    """
    ticket, faults, named = _read_ticket(Path(path), [*given, *(["press"] if press else [])])
    profile, press_path = None, Path(press) if press else named
    if press_path is not None:
        profile, more = _read_press(press_path)
        faults = faults + more
    if ticket is None or faults:
        raise InvalidInput(faults)
    return ticket, profile


def load_before(path: str | Path) -> Ticket | PressState:
    """Read what is on the press: the ticket of the last job, or a file with ``on_press``.

    The artwork and the press that an old ticket names need not be there any more.

    Raises:
        InvalidInput: with every fault of the file.
    """
    from preflight.inputs.press_state import PressState  # only a set-up asks for it

    table = read_table(path)
    if isinstance(table.data, dict) and "on_press" in table.data:
        state, faults = build(PressState, table)
        if state is None or table.faults or faults:
            raise InvalidInput([*table.faults, *faults])
        return state
    return load_ticket(path, given=("artwork", "press", "die.file", "layout.file"))


def rules_dir() -> Path:
    """Folder of the house rules: ``PREFLIGHT_RULES``, else the one in the package, else the checkout's.

    Raises:
        InvalidInput: ``PREFLIGHT_RULES`` names no folder.
    """
    named = os.environ.get(RULES_VARIABLE)
    if named:
        if not Path(named).is_dir():
            raise InvalidInput([InputFault(named, 0, "", "no folder", f"the folder that {RULES_VARIABLE} names")])
        return Path(named)
    return shipped_rules_dir()


def shipped_rules_dir() -> Path:
    """Folder of the rules that come with the package, else the checkout's."""
    package = Path(__file__).parent.parent
    shipped = package / "_rules"
    return shipped if shipped.is_dir() else package.parent / "rules"


def table_file(name: str) -> Path:
    """A trade table of the house rules; the shipped one where a plant's folder has none.

    Raises:
        InvalidInput: ``PREFLIGHT_RULES`` names no folder.
    """
    own = rules_dir() / name
    return own if own.is_file() else shipped_rules_dir() / name


# Files -------------------------------------------------------------------------------------------------------------


def _read_press(path: Path) -> tuple[Press | None, list[InputFault]]:
    table = read_table(path)
    if table.data is None:
        return None, table.faults
    mistaken = _taken_for(table, Press, "a press profile", Ticket, "a job ticket")
    if mistaken is not None:
        return None, [mistaken]
    press, faults = build(Press, table)
    return press, table.faults + faults


def _read_ticket(path: Path, given: Collection[str]) -> tuple[Ticket | None, list[InputFault], Path | None]:
    """The ticket, its faults, and the press file that it names, where that is there to be read."""
    table = read_table(path)
    if table.data is None:
        return None, table.faults, None
    mistaken = _taken_for(table, Ticket, "a job ticket", Press, "a press profile")
    if mistaken is not None:
        return None, [mistaken], None
    folder = path.parent
    ticket, faults = build(Ticket, table, {"folder": folder})
    missing = [fault for fault in _points_nowhere(table, folder) if fault.key.partition("[")[0] not in given]
    faults = table.faults + faults + missing
    named = table.data.get("press") if isinstance(table.data, dict) else None
    readable = isinstance(named, str) and not any(fault.key == "press" for fault in faults)
    return ticket, faults, folder / str(named) if readable else None


def _taken_for(table: Table, wanted: type, what: str, other: type, other_is: str) -> InputFault | None:
    """One fault where most keys are those of another kind of file, in place of one for each of them."""
    keys = set(table.data) if isinstance(table.data, dict) else set()
    ours, theirs = set(keys_at(wanted, ())), set(keys_at(other, ()))
    if len(keys & (theirs - ours)) <= len(keys & (ours - theirs)) or not keys & (theirs - ours):
        return None
    return InputFault(table.file, 1, "", f"what looks like {other_is}", what)


def _points_nowhere(table: Table, folder: Path) -> Iterator[InputFault]:
    data = table.data if isinstance(table.data, dict) else {}
    artwork = data.get("artwork")
    named: list[tuple[KeyPath, object]] = [(("press",), data.get("press")), (("artwork",), artwork)]
    for number, entry in enumerate(artwork if isinstance(artwork, list) else []):
        inner = entry.get("file") if isinstance(entry, dict) else entry
        named.append((("artwork", number, "file"), inner))
    for key in ("die", "layout"):
        keys = data.get(key)
        named.append(((key, "file"), keys.get("file") if isinstance(keys, dict) else None))
    for path, value in named:
        if isinstance(value, str) and value and not _is_file(folder / value):
            expected = f"a file that is there (looked for {folder / value})"
            yield table.fault(table.nearest(path), value, expected, _near_file(folder, value))


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _near_file(folder: Path, value: str) -> str:
    """A file of nearly this name beside where it was looked for."""
    try:
        place = (folder / value).parent
        names = [entry.name for entry in place.iterdir()][:2000]
    except (OSError, ValueError):
        return ""
    near = nearest(Path(value).name, names)
    return str(Path(value).parent / near) if near else ""


def read_table(path: str | Path) -> Table:
    """Read a file as far as it can be; ``data`` is None where it cannot, and ``faults`` then says why."""
    table, text = Table(str(path), None), ""
    try:
        text = _text_of(Path(path))
        root = _EventReader(table).document(yaml.parse(text, Loader=_Loader))
        table.data = _flat(root, (), table, 0) if root else None
    except yaml.MarkedYAMLError as error:
        table.faults.append(_yaml_fault(table.file, text, error))
    except yaml.YAMLError as error:
        table.faults.append(
            InputFault(table.file, 0, "", "characters that YAML does not allow", f"plain text ({error})")
        )
    except _Unreadable as stop:
        table.faults.append(InputFault(table.file, stop.line, "", stop.found, stop.expected))
    if table.data is None and not table.faults:
        table.faults.append(InputFault(table.file, 1, "", "an empty file", "keys and values"))
    return table


def _text_of(path: Path) -> str:
    try:
        if path.is_dir():
            raise _Unreadable(0, "a folder", "a YAML file")
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _Unreadable(0, "no such file", "a YAML file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise _Unreadable(0, f"a file that cannot be opened ({reason})", "a YAML file") from None
    if len(raw) > MOST_BYTES:
        raise _Unreadable(0, "a file over 1 MB", "a YAML file of at most 1 MB")
    if raw.startswith(b"%PDF"):
        raise _Unreadable(0, "a PDF", "a YAML file")
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _Unreadable(0, "UTF-16 text", "UTF-8 text")
    if b"\0" in raw:
        raise _Unreadable(0, "a binary file", "a YAML file")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _Unreadable(line, "a character that is not UTF-8", "UTF-8 text") from None


def _yaml_fault(file: str, text: str, error: yaml.MarkedYAMLError) -> InputFault:
    mark = error.problem_mark or error.context_mark
    line = mark.line + 1 if mark else 0
    lines = text.splitlines()
    shown = lines[line - 1] if 0 < line <= len(lines) else ""
    if re.match(r" *\t", shown):
        return InputFault(file, line, "", "a tab in the indent", "spaces; YAML allows no tabs there")
    problem = str(error.problem or "text that is not YAML")
    if "undefined alias" in problem or "mapping values" in problem:
        problem = problem.replace("mapping values are not allowed", "a second colon is not allowed")
    if not shown.strip():  # what was opened further up is still open where the file or a later line ends
        opened = error.context_mark.line + 1 if error.context_mark else line
        where = lines[opened - 1].strip() if 0 < opened <= len(lines) else ""
        return InputFault(file, opened, "", described(where or "nothing"), f"YAML ({problem} by the end of the file)")
    return InputFault(file, line, "", described(shown.strip()), f"YAML ({problem})")


# YAML events to data -----------------------------------------------------------------------------------------------


@dataclass
class _Node:
    line: int
    text: str | None = None
    plain: bool = False
    items: list[_Node] | None = None
    pairs: list[tuple[str, int, _Node]] | None = None
    """Key, the line it stands on, value."""


class _Unreadable(Exception):
    """The file cannot be read, goes over a bound or stops making sense; nothing of it is used."""

    def __init__(self, line: int, found: str, expected: str) -> None:
        super().__init__(found)
        self.line, self.found, self.expected = line, found, expected


@dataclass
class _EventReader:
    """Builds nodes from the parser's events; faults that leave the rest readable go to the table."""

    table: Table
    anchors: dict[str, _Node] = field(default_factory=dict)
    read: int = 0

    def document(self, events: Iterable[Any]) -> _Node | None:
        root = None
        stream = iter(events)
        for event in stream:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    raise _Unreadable(_line(event), "a second document (---)", "one document a file")
                root = self.node(next(stream), stream, ())
        return None if root is not None and root.text is None and root.items is None and root.pairs is None else root

    def node(self, event: Any, stream: Iterator[Any], path: KeyPath) -> _Node:
        line = _line(event)
        self.read += 1
        if self.read > MOST_ENTRIES:
            raise _Unreadable(line, f"more than {MOST_ENTRIES} entries", f"at most {MOST_ENTRIES}")
        if len(path) > DEEPEST:
            raise _Unreadable(line, f"more than {DEEPEST} levels", f"at most {DEEPEST} levels, one within the other")
        if isinstance(event, yaml.AliasEvent):
            if event.anchor not in self.anchors:
                raise _Unreadable(
                    line, f"the alias {described(f'*{event.anchor}')}", "the name of an anchor further up"
                )
            return self.anchors[event.anchor]
        if event.tag not in (None, "!"):
            self.table.faults.append(
                InputFault(self.table.file, line, "", f"the tag {described(event.tag)}", "no tags")
            )
        node = self._filled(event, stream, path, line)
        if event.anchor:
            self.anchors[event.anchor] = node
        return node

    def _filled(self, event: Any, stream: Iterator[Any], path: KeyPath, line: int) -> _Node:
        if isinstance(event, yaml.ScalarEvent):
            plain = bool(event.implicit[0])
            nothing = plain and event.value in ("", "~", "null", "Null", "NULL")
            return _Node(line, None if nothing else event.value, plain)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[_Node] = []
            while not isinstance(inner := next(stream), yaml.SequenceEndEvent):
                items.append(self.node(inner, stream, (*path, len(items))))
            return _Node(line, items=items)
        node = _Node(line, pairs=[])
        while not isinstance(key := next(stream), yaml.MappingEndEvent):
            self._pair(node, key, stream, path, in_braces=bool(event.flow_style))
        return node

    def _pair(self, node: _Node, key: Any, stream: Iterator[Any], path: KeyPath, *, in_braces: bool) -> None:
        assert node.pairs is not None
        line = _line(key)
        if not isinstance(key, yaml.ScalarEvent):
            raise _Unreadable(line, "a key that is not text", "text before the colon")
        name = key.value
        value = self.node(next(stream), stream, (*path, name))
        if in_braces and value.text is None and value.plain and self._comma(node, name, path):
            return
        first = next((at for known, at, _ in node.pairs if known == name), None)
        if first is not None:
            found, expected = f"the key {described(name)} twice", f"it once (first on line {first})"
            self.table.faults.append(InputFault(self.table.file, line, key_text((*path, name)), found, expected))
            return
        node.pairs.append((name, line, value))

    def _comma(self, node: _Node, name: str, path: KeyPath) -> bool:
        """Whether this key is what stands behind the decimal comma of the value before it (rule 5)."""
        key, line, before = node.pairs[-1] if node.pairs else ("", 0, node)
        text = before.text if before.plain else None
        if not (text and text[-1].isdigit() and name[:1].isdigit()):
            return False
        faults, found = self.table.faults, f"'{text},{name}'"
        if faults and faults[-1].suggestion == text:  # 0,25 mm to 0,9 mm is one fault
            found = f"{faults.pop().found[:-1]},{name}'"
        meant = before.text = f"{text}.{name}"
        faults.append(InputFault(self.table.file, line, key_text((*path, key)), found, "a decimal point", meant))
        return True


def _flat(node: _Node, path: KeyPath, table: Table, depth: int) -> Plain:
    """Plain data of a node, lines noted; aliases are written out, within the bounds."""
    table.lines.setdefault(path, node.line)
    if len(table.lines) > MOST_ENTRIES or depth > 2 * DEEPEST:
        raise _Unreadable(
            node.line, "aliases that grow without end", f"at most {MOST_ENTRIES} entries, aliases written out"
        )
    if node.items is not None:
        return [_flat(item, (*path, number), table, depth + 1) for number, item in enumerate(node.items)]
    if node.pairs is None:
        return node.text
    for key, line, _ in node.pairs:
        table.lines[*path, key] = line
    return {key: _flat(value, (*path, key), table, depth + 1) for key, _, value in node.pairs}


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1
