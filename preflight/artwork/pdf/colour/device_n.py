"""DeviceN and NChannel: many colorants in one colour space."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from preflight.artwork.pdf.colour.colour_spaces import ColourSpace
from preflight.artwork.pdf.colour.device_conversion import ColourRows


def device_n_space(shown: list[str], nchannel: bool, parts: tuple[ColourSpace, list[int]] | None) -> ColourSpace:
    """DeviceN from its names (empty for None): duplicates merged, process parts by their own space."""
    process, columns = parts or (None, [])
    if process is not None and not process.not_a_plate:
        # each component of a gray or CMYK process space is a plate of its own; those it does not use stay unnamed
        for plate, column in zip(process.plates, columns, strict=False):
            if column >= 0 and process.family.endswith(("CMYK", "-4")):
                shown[column] = plate
        process, columns = None, []
    in_process = set(columns) - {-1}
    own = [(column, name) for column, name in enumerate(shown) if name and column not in in_process]
    converted = process if in_process else None
    plates = tuple(dict.fromkeys([*(converted.plates if converted else ()), *(name for _, name in own)]))
    remarks = []
    if len({name for _, name in own}) < len(own):
        remarks.append("a DeviceN space names a colorant twice")
    if "All" in plates:
        remarks.append("a DeviceN space names All, which is not allowed there; it is taken as a colorant of that name")
    return ColourSpace(
        "DeviceN",
        len(shown),
        plates,
        (1.0,) * len(shown),
        nchannel=nchannel,
        not_a_plate=converted.not_a_plate if converted else "",
        remark="; ".join(remarks),
        to_plates=_device_n_plates(plates, own, converted, columns),
    )


def _device_n_plates(
    plates: tuple[str, ...], own: list[tuple[int, str]], process: ColourSpace | None, columns: list[int]
) -> Callable[[ColourRows], ColourRows]:
    """``process`` is a process space that is no plate (RGB); a component that the space lacks counts as paper."""

    def to_plates(rows: ColourRows) -> ColourRows:
        ink = np.zeros((len(rows), len(plates)))
        if process is not None:
            given = np.column_stack([rows[:, column] if column >= 0 else np.ones(len(rows)) for column in columns])
            for at, tint in enumerate(process.tints(given).T):
                ink[:, plates.index(process.plates[at])] = tint
        for column, name in own:
            at = plates.index(name)
            ink[:, at] = np.maximum(ink[:, at], rows[:, column])
        return ink

    return to_plates
