"""Colour spaces whose tint transform goes to the plates of one rendering, for shadings."""

from __future__ import annotations

import numpy as np
import pikepdf
from pikepdf import Array, Name, Object

from preflight.artwork.colours import ColourSpace

_STEPS = {1: 256, 2: 33, 3: 17}


def space_for_plates(out: pikepdf.Pdf, space: ColourSpace, plates: tuple[str, ...]) -> Object:
    """A DeviceN space over DeviceRGB with as many components as ``space``; channel i is 1 - tint of ``plates[i]``."""
    count = max(space.components, 1)
    plain = space.family in ("DeviceCMYK", "Separation") or (space.family == "ICCBased-4" and not space.ranges)
    function = _calculator(out, space, plates, count) if plain else _sampled(out, space, plates, count)
    names = Array([Name(f"/Pl{i}") for i in range(count)])
    return Array([Name.DeviceN, names, Name.DeviceRGB, function])


def _calculator(out: pikepdf.Pdf, space: ColourSpace, plates: tuple[str, ...], count: int) -> Object:
    """PostScript calculator function (ISO 32000-2, 7.10.5): the components lie on the stack, the last on top."""
    words = []
    for pushed in range(3):
        plate = plates[pushed] if pushed < len(plates) else None
        if plate in space.plates:
            words.append(f"{count - 1 - space.plates.index(plate) + pushed} index 1 exch sub")
        elif space.plates == ("All",):
            words.append(f"{count - 1 + pushed} index 1 exch sub")
        else:
            words.append("1.0")
    words.append(f"{count + 3} 3 roll" + " pop" * count)
    function = out.make_stream(("{" + " ".join(words) + "}").encode())
    function.FunctionType, function.Domain, function.Range = 4, Array([0, 1] * count), Array([0, 1] * 3)
    return function


def _sampled(out: pikepdf.Pdf, space: ColourSpace, plates: tuple[str, ...], count: int) -> Object:
    """Sampled function (ISO 32000-2, 7.10.2) over the space's own ranges; the first input varies fastest."""
    steps = _STEPS.get(count, 9 if count <= 4 else 3 if count <= 8 else 2)
    pairs = np.array(space.default_decode(8), float).reshape(-1, 2)
    if len(pairs) != count:
        pairs = np.tile([0.0, 1.0], (count, 1))
    axes = [np.linspace(low, high, steps) for low, high in pairs]
    grid = np.stack(np.meshgrid(*axes[::-1], indexing="ij"), axis=-1).reshape(-1, count)[:, ::-1]
    tints = space.tints(grid)
    rgb = np.ones((len(grid), 3))
    for channel, plate in enumerate(plates):
        name = plate if plate in space.plates else "All" if "All" in space.plates else None
        if name is not None:
            rgb[:, channel] = 1 - tints[:, space.plates.index(name)]
    function = out.make_stream((rgb * 255 + 0.5).astype(np.uint8).tobytes())
    function.FunctionType, function.BitsPerSample, function.Size = 0, 8, Array([steps] * count)
    function.Domain, function.Range = Array([float(v) for v in pairs.ravel()]), Array([0, 1] * 3)
    return function
