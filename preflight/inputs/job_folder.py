"""The jobs of a folder: its tickets, and the PDFs that none of them names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from preflight.errors import ArtworkNotThere
from preflight.inputs.loading import read_table
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.inputs.yaml_table import keys_at

TICKET_ENDINGS: Final = (".yaml", ".yml")


def jobs_in(folder: Path) -> list[Path]:
    """Tickets, those of folders in it (a folder a job), then its own PDFs, each by name; what is hidden is left alone.

    A YAML file that cannot be read may be a ticket and is among them: it is said to be wrong where it is checked.
    Presses, rules and other tables are not.

    Raises:
        ArtworkNotThere: the folder may not be read.
    """
    try:
        entries = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError as error:
        raise ArtworkNotThere(f"{folder} cannot be read: {error.strerror or error}") from error
    files = [path for path in entries if path.is_file()]
    tickets = dict(_tickets(files))
    for inner in entries:
        if inner.is_dir():
            with suppress(OSError):  # a folder in it that may not be read is no reason to leave the others
                tickets.update(_tickets(sorted(path for path in inner.iterdir() if path.is_file())))
    named = {(path.parent / name).resolve() for path, names in tickets.items() for name in names}
    pdfs = [path for path in files if path.suffix.lower() == ".pdf" and path.resolve() not in named]
    return [*tickets, *pdfs]


def _tickets(files: Iterable[Path]) -> Iterator[tuple[Path, list[str]]]:
    """Those of the files that are tickets, or may be, with the files that each names."""
    for path in files:
        if path.suffix.lower() in TICKET_ENDINGS and not path.name.startswith("."):
            data = read_table(path).data
            if data is None or _is_ticket(data):
                yield path, list(_files_named(data))


def _is_ticket(data: Any) -> bool:
    keys = set(data) if isinstance(data, dict) else set()
    tickets, presses = set(keys_at(Ticket, ())), set(keys_at(Press, ()))
    return len(keys & (tickets - presses)) > len(keys & (presses - tickets)) and len(keys & tickets) > len(keys) / 2


def _files_named(data: Any) -> Iterator[str]:
    """Artwork and die files of a ticket, as it names them."""
    table = data if isinstance(data, dict) else {}
    artwork, die = table.get("artwork"), table.get("die")
    entries = artwork if isinstance(artwork, list) else [artwork]
    entries.append(die.get("file") if isinstance(die, dict) else None)
    for entry in entries:
        name = entry.get("file") if isinstance(entry, dict) else entry
        if isinstance(name, str):
            yield name
