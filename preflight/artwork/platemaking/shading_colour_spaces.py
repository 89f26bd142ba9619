"""Colour spaces whose tint transform goes to the plates of one rendering, for shadings."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Name, Object

from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.colour_spaces import ColourSpace, cmyk_of_lab
from preflight.artwork.pdf.colour.device_conversion import rgb_to_cmyk
from preflight.artwork.platemaking.luminosity import light_of, luminosity
from preflight.artwork.platemaking.renderings import Rendering
from preflight.errors import CannotBeRendered, TooBig

_STEPS = {1: 256, 2: 33, 3: 17}
_MOST_SAMPLES = 1 << 18
_MOST_INKS = 16
_GREATER = "2 copy lt {exch} if pop"
_GREATEST = f"2 index 2 index {_GREATER} 1 index {_GREATER}"
"""Of the three on top, pushed on them."""
_CUBE = "dup 6 29 div ge {dup dup mul mul} {4 29 div sub 108 841 div mul} ifelse"
_CURVE = "dup 0 lt {pop 0} if dup 1 gt {pop 1} if"
_CURVE += " dup 0.0031308 le {12.92 mul} {1 2.4 div exp 1.055 mul 0.055 sub} ifelse"
_LAB_TO_RGB = (
    "3 -1 roll 16 add 116 div 3 1 roll 200 div neg 2 index add"  # M a M-b/200
    f" exch 500 div 2 index add {_CUBE} 0.9505 mul 3 1 roll {_CUBE} 1.089 mul exch {_CUBE} exch"  # X Y Z
    " 2 index 3.2406 mul 2 index -1.5372 mul add 1 index -0.4986 mul add 4 1 roll"
    " 2 index -0.9689 mul 2 index 1.8758 mul add 1 index 0.0415 mul add 4 1 roll"
    f" 1.0570 mul exch -0.2040 mul add exch 0.0557 mul add {_CURVE}"
    f" 3 1 roll exch {_CURVE} 3 1 roll {_CURVE} exch"
)
"""The formulas of ``device_conversion.lab_to_rgb``."""


def space_for_plates(out: pikepdf.Pdf, space: ColourSpace, rendering: Rendering, solids: Mapping[str, float]) -> Object:
    """A DeviceN space over DeviceRGB with as many components as ``space``; channel i is 1 - tint of plate i.

    For a rendering of luminosity all three channels hold that; ``solids`` is the luminosity of solid spots. For one of
    silhouettes they are solid.

    Raises:
        NotDrawn: Indexed, or too many components.
    """
    if space.family == "Indexed":  # vertices would have to be looked up before anything is interpolated (8.7.4.4)
        raise CannotBeRendered("a shading in an Indexed colour space")
    count = max(space.components, 1)
    columns = _handed_on(space, rendering)
    if columns is not None:
        function = _calculator(out, columns, rendering, count)
    elif is_calculated(space, rendering):
        function = _of_three(out, space, rendering)
    elif count <= _MOST_INKS:
        function = _sampled(out, space, rendering, count, solids)
    else:
        raise TooBig(f"a shading in a colour space of {count} colorants")
    names = Array([Name(f"/Pl{i}") for i in range(count)])
    return Array([Name.DeviceN, names, Name.DeviceRGB, function])


def is_calculated(space: ColourSpace, rendering: Rendering) -> bool:
    """Whether the tint transform is exact: a calculator that is worked out at each pixel."""
    converted = space.to_plates in (rgb_to_cmyk, cmyk_of_lab) and not rendering.light
    return converted or _handed_on(space, rendering) is not None


def in_channels(
    rendering: Rendering, space: ColourSpace, tints: NDArray[np.uint8], solids: Mapping[str, float]
) -> NDArray[np.uint8]:
    """Tints (…, plates of the space), 255 solid, as red, green and blue of a rendering, 255 bare and 0 solid."""
    rgb = np.empty((*tints.shape[:-1], 3), np.uint8)
    if rendering.luminosity:
        light = luminosity(space.plates, tints / np.float32(255), solids, from_rgb=bool(space.not_a_plate))
        rgb[...] = (light * 255 + 0.5).astype(np.uint8)[..., None]
        return rgb
    if rendering.silhouette:
        rgb[...] = 0
        return rgb
    if rendering.light:
        names = PROCESS if "All" in space.plates else space.plates  # registration colour is black
        ink = tints[..., [0] * 4] if "All" in space.plates else tints
        rgb[...] = (light_of(names, ink / np.float32(255), rendering.light) * 255 + 0.5).astype(np.uint8)
        return rgb
    for channel in range(3):
        plates = rendering.channels[channel] if channel < len(rendering.channels) else ()
        name = _name_in(space.plates, plates, rendering)
        if name is None:
            rgb[..., channel] = 255
        else:
            np.subtract(255, tints[..., space.plates.index(name)], out=rgb[..., channel])
    return rgb


def on_one_plate(rendering: Rendering, names: Sequence[str]) -> int | None:
    """Which of a colour's plates is the only one that a rendering has of it; None where it has more, or none.

    What all channels have of such a colour is told by that one tint.
    """
    if rendering.luminosity or rendering.silhouette or rendering.light or "All" in names:
        return None
    found = {_name_in(names, plates, rendering) for plates in rendering.channels} - {None}
    return names.index(found.pop()) if len(found) == 1 else None


def _name_in(names: Container[str], plates: Sequence[str], rendering: Rendering) -> str | None:
    """What of a colour goes to a channel that carries some plates; of several plates a colour has no more than one."""
    if "All" in names and any(plate in rendering.marked for plate in plates):
        return "All"
    return next((plate for plate in plates if plate in names), None)


def as_bytes(tints: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Tints 0..1 as 0..255."""
    return np.rint(tints * 255).astype(np.uint8)


def _handed_on(space: ColourSpace, rendering: Rendering) -> dict[str, int] | None:
    return {} if rendering.silhouette else None if rendering.luminosity or rendering.light else _columns(space)


def _columns(space: ColourSpace) -> dict[str, int] | None:
    """The component that each plate's tint is; None where tints are more than components handed on."""
    count = space.components
    if not count or not space.plates:
        return None
    probes = np.vstack([np.zeros(count), np.ones(count), np.eye(count), np.eye(count) * 0.5])
    tints = space.tints(probes)
    columns = np.argmax(tints[2 : 2 + count], axis=0)
    if space.ranges or not np.allclose(tints, probes[:, columns], atol=1e-6):
        return None
    return dict(zip(space.plates, columns.tolist(), strict=True))


def _calculator(out: pikepdf.Pdf, columns: Mapping[str, int], rendering: Rendering, count: int) -> Object:
    """PostScript calculator function (ISO 32000-2, 7.10.5): the components lie on the stack, the last on top."""
    words = []
    nothing = "0.0" if rendering.silhouette else "1.0"
    for pushed in range(3):
        plates = rendering.channels[pushed] if pushed < len(rendering.channels) else ()
        name = _name_in(columns, plates, rendering)
        words.append(nothing if name is None else f"{count - 1 - columns[name] + pushed} index 1 exch sub")
    words.append(f"{count + 3} 3 roll" + " pop" * count)
    function = out.make_stream(("{" + " ".join(words) + "}").encode())
    function.FunctionType, function.Domain, function.Range = 4, Array([0, 1] * count), Array([0, 1] * 3)
    return function


def _of_three(out: pikepdf.Pdf, space: ColourSpace, rendering: Rendering) -> Object:
    """PostScript calculator function from red, green and blue, or L* a* b*, as in ``device_conversion``."""
    words = ["{", _LAB_TO_RGB if space.to_plates is cmyk_of_lab else "", _GREATEST]
    for pushed in range(3):
        plates = rendering.channels[pushed] if pushed < len(rendering.channels) else ()
        name = _name_in(space.plates, plates, rendering)
        if rendering.luminosity:
            # one number deeper for each that is pushed meanwhile
            words.append(f"{3 + pushed} index 0.3 mul {3 + pushed} index 0.59 mul add {2 + pushed} index 0.11 mul add")
        elif name == "Black":
            words.append(f"{pushed} index")
        elif name is None:
            words.append("1.0")
        else:
            words.append(f"{3 - PROCESS.index(name) + pushed} index {1 + pushed} index sub 1 add")
    words.append("7 3 roll pop pop pop pop }")
    function = out.make_stream(" ".join(words).encode())
    ranges = [limit for pair in space.ranges or ((0.0, 1.0),) * 3 for limit in pair]
    function.FunctionType, function.Domain, function.Range = 4, Array(ranges), Array([0, 1] * 3)
    return function


def _sampled(
    out: pikepdf.Pdf, space: ColourSpace, rendering: Rendering, count: int, solids: Mapping[str, float]
) -> Object:
    """Sampled function (ISO 32000-2, 7.10.2) over the space's own ranges; the first input varies fastest."""
    steps = _STEPS.get(count, max(2, min(9, int(_MOST_SAMPLES ** (1 / count)))))
    pairs = np.array(space.default_decode(8), float).reshape(-1, 2)
    if len(pairs) != count:
        pairs = np.tile([0.0, 1.0], (count, 1))
    axes = [np.linspace(low, high, steps) for low, high in pairs]
    grid = np.stack(np.meshgrid(*axes[::-1], indexing="ij"), axis=-1).reshape(-1, count)[:, ::-1]
    rgb = in_channels(rendering, space, as_bytes(space.tints(grid)), solids)
    function = out.make_stream(rgb.tobytes())
    function.FunctionType, function.BitsPerSample, function.Size = 0, 8, Array([steps] * count)
    function.Domain, function.Range = Array([float(v) for v in pairs.ravel()]), Array([0, 1] * 3)
    return function
