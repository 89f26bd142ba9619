"""rules/drying.yaml: when the next operation may start, as far as the plant has filled it in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Final

from preflight.errors import InputFault, InvalidInput
from preflight.inputs.fields import ClosedKeys, Number, Text, some_words
from preflight.inputs.loading import load_yaml, state_of, table_file
from preflight.inputs.ticket import ABSORBING_NOTHING, SURFACES
from preflight.inputs.yaml_table import Table, build
from preflight.kinds import COATINGS, INK_SYSTEMS

FILE: Final = "drying.yaml"
NOT_AT_ONCE: Final = ABSORBING_NOTHING
"""Surfaces that nothing follows on at once, whatever a table says."""


class DryingRow(ClosedKeys):
    """Hours for inks of these systems under these coatings on these surfaces."""

    ink_system: Annotated[tuple[str, ...], some_words(*INK_SYSTEMS)]
    coating: Annotated[tuple[str, ...], some_words("none", *COATINGS, open_list=True)]
    surface: Annotated[tuple[str, ...], some_words(*SURFACES)]
    hours: Number
    says: Text | None = None

    def fits(self, ink_system: str, coating: str, surface: str) -> bool:
        """Whether the row is for these; ``coating`` is ``none`` where nothing is laid over the inks."""
        return ink_system in self.ink_system and coating in self.coating and surface in self.surface


def load_drying_table() -> tuple[DryingRow, ...]:
    """The rows of the rules folder, the shipped ones where a plant's folder has no such file.

    Raises:
        InvalidInput: with every fault of the file.
    """
    path = table_file(FILE)
    return _rows(path, state_of(path))


@lru_cache(maxsize=4)
def _rows(path: Path, state: tuple[int, ...]) -> tuple[DryingRow, ...]:  # state: so that an edited table is read anew
    table = load_yaml(path)
    if not isinstance(table.data, list):
        raise InvalidInput([table.fault((), table.data, "a list of rows, each beginning with - ink_system:")])
    built = [build(DryingRow, table, at=(place,)) for place in range(len(table.data))]
    rows = [row for row, _ in built if row is not None]
    faults = [fault for _, more in built for fault in more] or list(_at_once_in_vain(table, rows))
    if faults:
        raise InvalidInput(faults)
    return tuple(rows)


def _at_once_in_vain(table: Table, rows: Sequence[DryingRow]) -> Iterator[InputFault]:
    for place, row in enumerate(rows):
        if row.hours == 0 and set(row.surface) & set(NOT_AT_ONCE):
            yield table.fault((place, "hours"), "0", f"hours above 0 for {' and '.join(NOT_AT_ONCE)} board")
