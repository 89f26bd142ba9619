"""Which version each blank carries, and how many sheets that takes."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil

from preflight.errors import NotMeasured


def share_of_versions(quantities: Mapping[str, int], ups: int) -> dict[str, int]:
    """Blanks of each version on a sheet, so that as few sheets as possible are printed.

    Every version has one; each further blank goes to the version that needs most sheets. That is best, since a blank
    given to another would leave that number of sheets as it is. Ties go to the version named first.

    Raises:
        NotMeasured: there are more versions than blanks.
    """
    if ups < len(quantities):
        because = f"{len(quantities)} versions do not go on a sheet of {ups} blank{'s' * (ups != 1)}"
        raise NotMeasured(because, "fewer versions on one sheet, or a larger one", "ticket")
    shared = dict.fromkeys(quantities, 1)
    wanted = quantities if any(quantities.values()) else shared.copy()
    for _ in range(ups - len(shared)):
        most = max(shared, key=lambda name: wanted[name] / shared[name])
        shared[most] += 1
    return shared


def versions_of_blanks(quantities: Mapping[str, int], ups: int) -> tuple[str | None, ...]:
    """The version of blank 1, 2, …: all of one version before the next, in the order in which they are named."""
    if not quantities:
        return (None,) * ups
    return tuple(name for name, count in share_of_versions(quantities, ups).items() for _ in range(count))


def sheets_for(quantities: Mapping[str, int], quantity: int | None, ups: int) -> int | None:
    """Net sheets; None where nobody says how many cartons."""
    if len(quantities) > 1 and ups >= len(quantities) and any(quantities.values()):
        return max(ceil(quantities[name] / count) for name, count in share_of_versions(quantities, ups).items())
    total = quantity if quantity is not None else sum(quantities.values())
    return ceil(total / ups) if total else None
