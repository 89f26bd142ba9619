"""A colour space as it matters on press: its plates, and the tints that its colours put on them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.device_conversion import ColourRows, lab_to_rgb, rgb_to_cmyk


@dataclass(frozen=True, eq=False)
class ColourSpace:
    """Colour space of it matters on press. Compared by identity; the reader hands out one object a space."""

    family: str
    """As in ``Colour.space``, or ``Unknown``."""
    components: int
    plates: tuple[str, ...]
    """Separations that its colours can put ink on, in the column order of ``tints``."""
    initial: tuple[float, ...]
    """The colour that ``cs`` sets (ISO 32000-2, 8.6.8)."""
    ranges: tuple[tuple[float, float], ...] = ()
    """Lowest and highest value of each component; empty for 0..1 throughout."""
    base: ColourSpace | None = None
    """Of Indexed, and of Pattern for uncoloured patterns."""
    not_a_plate: str = ""
    """``RGB``, ``CalRGB``, ``Lab`` … where somebody has to convert its colours before plates are made."""
    nchannel: bool = False
    remark: str = ""
    """What is odd or unreadable about it."""
    to_plates: Callable[[ColourRows], ColourRows] = field(default=lambda rows: rows, repr=False)
    """(k, components) clipped to the ranges, to (k, plates)."""
    table: ColourRows | None = field(default=None, repr=False)
    """Indexed: the colours of the base space, (entries, components of the base)."""
    source: Any = field(default=None, repr=False)
    """Separation and DeviceN: the array that it was read from, with its alternate colours."""

    def tints(self, values: NDArray[Any]) -> NDArray[np.float32]:
        """Tints 0..1 of many colours: (k, components) to (k, plates). Values outside the ranges are clipped."""
        if self.family == "Pattern":
            return self.base.tints(values) if self.base else np.zeros((len(values), 0), np.float32)
        rows = np.nan_to_num(np.asarray(values, np.float64), posinf=0.0, neginf=0.0)
        if not self.plates or rows.shape[1] == 0:
            return np.zeros((len(rows), len(self.plates)), np.float32)
        if self.table is not None:
            index = np.clip(np.floor(rows[:, 0] + 0.5), 0, len(self.table) - 1).astype(np.intp)
            return self._table_tints[index]
        if self.ranges:
            low, high = np.array(self.ranges).T
            rows = np.clip(rows, low, high)
        else:
            rows = np.clip(rows, 0, 1)
        return np.clip(self.to_plates(rows), 0, 1).astype(np.float32)

    @cached_property
    def _table_tints(self) -> NDArray[np.float32]:
        return self.base.tints(self.table) if self.base and self.table is not None else np.zeros((1, 0), np.float32)

    @property
    def base_family(self) -> str:
        """Family of the base space of Indexed; empty for all others."""
        return self.base.family if self.family == "Indexed" and self.base else ""

    @property
    def registration(self) -> bool:
        """Whether its colours are registration colour: Separation All, or Indexed over it."""
        return (self.base_family or self.family) == "Separation" and self.plates == ("All",)

    def colour(self, values: Sequence[float], *, direct: bool = True) -> Colour:
        """One colour; missing values are 0, further ones left out.

        ``direct``: set as the current colour (``k``, ``scn``), not by an image or shading.
        """
        if self.family == "Pattern":
            if self.base is None:
                return Colour("Pattern", (), varies=True)
            return replace(self.base.colour(values, direct=direct), space="Pattern")
        row = [*values[: self.components], *[0.0] * (self.components - len(values))]
        tints = self.tints(np.array([row], np.float64))[0] if self.components else ()
        return Colour(
            self.family,
            tuple((name, round(float(tint), 6)) for name, tint in zip(self.plates, tints, strict=True)),
            direct_cmyk=direct and self.family == "DeviceCMYK",
            registration=self.registration,
            not_a_plate=self.not_a_plate,
            base=self.base_family,
        )

    def anything(self) -> Colour:
        """Colour of an image or shading in this space: every plate, at its greatest tint."""
        return Colour(
            self.family,
            tuple((name, 1.0) for name in self.plates),
            registration=self.registration,
            not_a_plate=self.not_a_plate,
            varies=True,
            base=self.base_family,
        )

    def default_decode(self, bits: int) -> list[float]:
        """Decode array of an image that has none (ISO 32000-2, table 90)."""
        if self.family == "Indexed":
            return [0.0, float(2**bits - 1)]
        pairs = self.ranges or ((0.0, 1.0),) * self.components
        return [limit for pair in pairs for limit in pair]


def black_of_gray(rows: ColourRows) -> ColourRows:
    """(k, 1) gray to black ink."""
    return 1 - rows


def cmyk_of_lab(rows: ColourRows) -> ColourRows:
    """(k, 3) L* a* b* to process inks, the naive way."""
    return rgb_to_cmyk(lab_to_rgb(rows))


GRAY: Final = ColourSpace("DeviceGray", 1, ("Black",), (0.0,), to_plates=black_of_gray)
RGB: Final = ColourSpace("DeviceRGB", 3, PROCESS, (0.0,) * 3, not_a_plate="RGB", to_plates=rgb_to_cmyk)
CMYK: Final = ColourSpace("DeviceCMYK", 4, PROCESS, (0.0, 0.0, 0.0, 1.0))
PATTERN: Final = ColourSpace("Pattern", 0, (), ())
BY_COUNT: Final = {1: GRAY, 3: RGB, 4: CMYK}
BY_NAME: Final = {"DeviceGray": GRAY, "DeviceRGB": RGB, "DeviceCMYK": CMYK, "Pattern": PATTERN}


def unknown(remark: str) -> ColourSpace:
    """Space that cannot be read: no plates, and a word about why."""
    return ColourSpace("Unknown", 0, (), (), not_a_plate="unreadable colour", remark=remark)
