"""Reads colour spaces: which separations a colour can put ink on, and at what tint.

A Separation or DeviceN colour is its tint; the tint transform is only a picture of it and is not looked at. What is
no plate (RGB, Lab …) is brought to the process plates in a naive way and marked as such.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
import pikepdf

from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.colour_spaces import (
    BY_COUNT,
    BY_NAME,
    CMYK,
    PATTERN,
    ColourSpace,
    black_of_gray,
    cmyk_of_lab,
    unknown,
)
from preflight.artwork.pdf.colour.device_conversion import ColourRows, rgb_to_cmyk
from preflight.artwork.pdf.structure.stream_decoding import read_head, read_stream
from preflight.artwork.pdf.structure.values import identity, items, lookup, name_bytes, numbers, spelt, whole
from preflight.errors import OverLimit, Undecodable

__all__ = ["PATTERN", "ColourReader", "ColourSpace", "shown_name", "unknown"]

DEVICE: Final = {"DeviceGray": 1, "DeviceRGB": 3, "DeviceCMYK": 4}
DEFAULTS: Final = {"DeviceGray": "DefaultGray", "DeviceRGB": "DefaultRGB", "DeviceCMYK": "DefaultCMYK"}
INLINE: Final = {"G": "DeviceGray", "RGB": "DeviceRGB", "CMYK": "DeviceCMYK", "I": "Indexed"}
"""Abbreviations of inline images (ISO 32000-2, table 91); some writers use them elsewhere too."""
LAB_RANGES: Final = ((0.0, 100.0), (-100.0, 100.0), (-100.0, 100.0))
ICC_HEADERS: Final = {b"GRAY": 1, b"RGB ": 3, b"CMYK": 4, b"Lab ": 3}
"""Colour space in the header of a profile (ISO 15076-1, 7.2.6) to components."""
MOST_NESTED: Final = 8
MOST_COLORANTS: Final = 256
UNNAMED: Final = "(unreadable name)"


def shown_name(name: Any) -> str:
    """Name (pikepdf's, or bytes) as people wrote it: UTF-8, else Latin-1, invisible characters spelt out.

    Two different names of one file may read alike here; ``ColourReader.shown_name`` keeps them apart.
    """
    raw = name_bytes(name)
    return UNNAMED if raw is None else spelt(raw)


class ColourReader:
    """Reads the colour spaces of one file; keeps what it has read."""

    def __init__(self) -> None:
        self._kept: dict[object, ColourSpace] = {}
        self._shown: dict[bytes, str] = {}
        self._taken: set[str] = set()

    def shown_name(self, name: Any) -> str:
        """As the module's ``shown_name``; of two names that would read alike the later one gets its encoding added."""
        raw = name_bytes(name)
        if raw is None:
            return UNNAMED
        if raw not in self._shown:
            text = spelt(raw)
            if text in self._taken:
                text = f"{text} ({'UTF-8' if _is_utf8(raw) else 'Latin-1'})"
            while text in self._taken:
                text += "'"
            self._shown[raw] = text
            self._taken.add(text)
        return self._shown[raw]

    def resolve(self, space: Any, resources: Any) -> ColourSpace:
        """Colour space of an object or a name (pikepdf's, or bytes or text without slash) of ``resources``.

        Never raises: what cannot be read comes back as ``Unknown`` with its remark.
        """
        try:
            return self._resolve(space, resources, 0)
        except (pikepdf.PdfError, ValueError, TypeError, KeyError, IndexError, OverflowError, RecursionError):
            return unknown("the colour space cannot be read")

    def _resolve(self, space: Any, resources: Any, depth: int) -> ColourSpace:
        if depth > MOST_NESTED:
            return unknown(f"colour spaces are nested more than {MOST_NESTED} deep")
        raw = name_bytes(space)
        if raw is not None:
            return self._named(raw, resources, depth)
        if isinstance(space, pikepdf.Stream):  # a bare profile where an array was due
            return self._icc(space, resources, depth)
        if not isinstance(space, pikepdf.Array) or not len(space):
            return unknown("the colour space is neither a name nor an array")
        key = (identity(space), self._defaults_key(resources))
        if key not in self._kept:
            self._kept[key] = unknown("the colour space refers to itself")
            self._kept[key] = self._array(space, resources, depth)
        return self._kept[key]

    def _defaults_key(self, resources: Any) -> tuple[object, ...]:
        spaces = lookup(resources, "ColorSpace")
        return tuple(identity(lookup(spaces, default)) for default in DEFAULTS.values()) if spaces is not None else ()

    def _named(self, raw: bytes, resources: Any, depth: int) -> ColourSpace:
        name = raw.decode("latin-1")
        spaces = lookup(resources, "ColorSpace")
        if name in DEVICE:
            default = lookup(spaces, DEFAULTS[name])
            if default is None or name_bytes(default) is not None:
                return BY_NAME[name]
            found = self._resolve(default, None, depth + 1)
            return found if found.components == DEVICE[name] and found.family != "Indexed" else BY_NAME[name]
        if name == "Pattern":
            return PATTERN
        entry = lookup(spaces, raw)
        if entry is not None and name_bytes(entry) != raw:
            return self._resolve(entry, resources, depth + 1)
        if name in INLINE and name != "I":
            return self._named(INLINE[name].encode(), resources, depth + 1)
        return unknown(f"the page names a colour space {spelt(raw)} that it does not have")

    def _array(self, array: Any, resources: Any, depth: int) -> ColourSpace:
        family = (name_bytes(array[0]) or b"").decode("latin-1")
        family = INLINE.get(family, family)
        member = items(array, 6)
        member += [None] * (6 - len(member))
        if family in DEVICE or len(array) == 1:
            return self._named(family.encode("latin-1"), resources, depth + 1)
        if family in ("CalGray", "CalRGB", "CalCMYK", "Lab"):
            return self._calibrated(family, member[1])
        if family == "ICCBased":
            return self._icc(member[1], resources, depth)
        if family == "Indexed":
            return self._indexed(self._resolve(member[1], resources, depth + 1), member[2], member[3])
        if family == "Separation":
            return replace(self._separation(member[1]), source=array)
        if family == "DeviceN":
            return replace(self._device_n(member[1], member[4], resources, depth), source=array)
        if family == "Pattern":
            return _pattern(self._resolve(member[1], resources, depth + 1))
        return unknown(f"there is no colour space {spelt(family.encode('latin-1'))}")

    def _calibrated(self, family: str, entry: Any) -> ColourSpace:
        if family == "CalGray":
            return ColourSpace("CalGray", 1, ("Black",), (0.0,), to_plates=black_of_gray)
        if family == "CalRGB":
            return ColourSpace("CalRGB", 3, PROCESS, (0.0,) * 3, not_a_plate="CalRGB", to_plates=rgb_to_cmyk)
        if family == "CalCMYK":  # never defined; readers take it as DeviceCMYK
            return CMYK
        ranges = (LAB_RANGES[0], *(_pairs(lookup(entry, "Range"), 2) or LAB_RANGES[1:]))
        return ColourSpace(
            "Lab", 3, PROCESS, _nearest_to_zero(ranges), ranges=ranges, not_a_plate="Lab", to_plates=cmyk_of_lab
        )

    def _icc(self, profile: Any, resources: Any, depth: int) -> ColourSpace:
        entry = lookup(profile, "Alternate")
        alternate = None if entry is None else self._resolve(entry, resources, depth + 1)
        signature = read_head(profile, 20)[16:20]
        count, remark = _icc_components(whole(lookup(profile, "N")), alternate, signature)
        if count is None:
            return unknown("an ICC profile does not say how many components it has")
        under = BY_COUNT[count]
        alternate_lab = alternate is not None and alternate.family == "Lab" and not signature
        lab = count == 3 and (signature == b"Lab " or alternate_lab)
        ranges = _pairs(lookup(profile, "Range"), count) or (LAB_RANGES if lab else None)
        return ColourSpace(
            f"ICCBased-{count}",
            count,
            under.plates,
            _nearest_to_zero(ranges or ((0.0, 1.0),) * count),
            ranges=ranges or (),
            not_a_plate="Lab" if lab else under.not_a_plate,
            remark=remark,
            to_plates=cmyk_of_lab if lab else _unit_range(ranges, under.to_plates),
        )

    def _indexed(self, base: ColourSpace, highest: Any, table: Any) -> ColourSpace:
        if base.family in ("Indexed", "Pattern", "Unknown") or not base.components:
            return unknown(base.remark or f"an Indexed space over {base.family}, which cannot be")
        last = whole(highest)
        if last is None:
            return unknown("an Indexed space does not say how many colours it has")
        entries_wanted = min(max(last, 0), 255) + 1
        raw = _table_bytes(table)
        wanted = entries_wanted * base.components
        samples = np.frombuffer(raw[:wanted].ljust(wanted, b"\0"), np.uint8).reshape(-1, base.components)
        low, high = np.array(base.default_decode(8)).reshape(-1, 2).T
        remark = "an Indexed space has fewer colours than it says" if len(raw) < wanted else ""
        return ColourSpace(
            "Indexed",
            1,
            base.plates,
            (0.0,),
            ranges=((0.0, 255.0),),
            base=base,
            not_a_plate=base.not_a_plate,
            remark=remark,
            table=low + samples / 255 * (high - low),
        )

    def _separation(self, name: Any) -> ColourSpace:
        if isinstance(name, pikepdf.String):  # a string where a name was due
            name = bytes(name)
        raw = name_bytes(name)
        if raw == b"None":
            return ColourSpace("Separation", 1, (), (1.0,))
        remark = "a Separation space has no readable name" if raw is None else ""
        return ColourSpace("Separation", 1, (self.shown_name(name),), (1.0,), remark=remark)

    def _device_n(self, names: Any, attributes: Any, resources: Any, depth: int) -> ColourSpace:
        from preflight.artwork.pdf.colour.device_n import device_n_space  # few files need it

        raw = [name_bytes(name) for name in items(names, MOST_COLORANTS + 1)]
        if not raw or len(raw) > MOST_COLORANTS:
            return unknown(f"a DeviceN space has {'no' if not raw else f'more than {MOST_COLORANTS}'} colorants")
        nchannel = name_bytes(lookup(attributes, "Subtype")) == b"NChannel"
        shown = [UNNAMED if name is None else "" if name == b"None" else self.shown_name(name) for name in raw]
        parts = self._process_parts(raw, lookup(attributes, "Process"), resources, depth) if nchannel else None
        return device_n_space(shown, nchannel, parts)

    def _process_parts(
        self, raw: list[bytes | None], process: Any, resources: Any, depth: int
    ) -> tuple[ColourSpace, list[int]] | None:
        """Process space of an NChannel space, and for each of its components the column that holds it or -1."""
        if process is None:
            return None
        space = self._resolve(lookup(process, "ColorSpace"), resources, depth + 1)
        names = [name_bytes(name) for name in items(lookup(process, "Components"), MOST_COLORANTS)]
        if space.components != len(names) or not names:
            return None
        return space, [raw.index(name) if name is not None and name in raw else -1 for name in names]


def _pattern(base: ColourSpace) -> ColourSpace:
    if base.family == "Pattern":
        return PATTERN
    return ColourSpace(
        "Pattern", base.components, base.plates, (), base=base, not_a_plate=base.not_a_plate, remark=base.remark
    )


def _icc_components(count: int | None, alternate: ColourSpace | None, signature: bytes) -> tuple[int | None, str]:
    """Component count of a profile: by N, else by the alternate space, else by the profile's own header."""
    by_header = ICC_HEADERS.get(signature)
    if count in BY_COUNT:
        if by_header in (None, count):
            return count, ""
        return count, f"an ICC profile for {by_header} components is said to have {count}"
    if alternate is not None and alternate.components in BY_COUNT and alternate.family != "Indexed":
        return alternate.components, "an ICC profile has a wrong N; its alternate space is used"
    return by_header, "an ICC profile has a wrong N; its header is used"


def _pairs(value: Any, count: int) -> tuple[tuple[float, float], ...] | None:
    limits = numbers(value, 2 * count)
    if limits is None:
        return None
    pairs = tuple(zip(limits[::2], limits[1::2], strict=True))
    return pairs if all(low < high for low, high in pairs) else None


def _nearest_to_zero(ranges: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    return tuple(min(max(0.0, low), high) for low, high in ranges)


def _unit_range(
    ranges: tuple[tuple[float, float], ...] | None, to_plates: Callable[[ColourRows], ColourRows]
) -> Callable[[ColourRows], ColourRows]:
    """ICC components with a range of their own, such as 0..255, brought to 0..1 first."""
    if ranges is None or all(pair == (0.0, 1.0) for pair in ranges):
        return to_plates
    low, high = np.array(ranges).T
    return lambda rows: to_plates((rows - low) / (high - low))


def _table_bytes(table: Any) -> bytes:
    if isinstance(table, bytes):
        return table
    if isinstance(table, pikepdf.String):
        return bytes(table)
    try:
        return read_stream(table, 1 << 20)
    except (OverLimit, Undecodable):
        return b""


def _is_utf8(raw: bytes) -> bool:
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True
