"""Shadings of one rendering: their colours are worked out in their own space, and then become channels.

PDFium is given what it draws truly: axial and radial shadings with the 256 colours that it uses, meshes as triangles
within which every plate is even or rises evenly.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object, Stream

from preflight.artwork.pdf.colour.colour_spaces import ColourSpace
from preflight.artwork.pdf.colour.functions import Evaluate, read_functions
from preflight.artwork.pdf.content.stream_content import ShadingFill
from preflight.artwork.pdf.structure.stream_decoding import read_stream
from preflight.artwork.pdf.structure.values import entries, identity, items, lookup, numbers, present, whole
from preflight.artwork.platemaking.derived_pdf import DerivedPdf
from preflight.artwork.platemaking.mesh_streams import Triangles, read_mesh
from preflight.artwork.platemaking.mesh_triangles import EMPTY_MESH, in_plates, written
from preflight.artwork.platemaking.renderings import Rendering
from preflight.artwork.platemaking.shading_axes import axis_of, extends_beyond, scale_of
from preflight.artwork.platemaking.shading_colour_spaces import as_bytes, in_channels, is_calculated, space_for_plates
from preflight.errors import CannotBeRendered, FunctionFault, MeshFault, OverLimit, Undecodable

_MOST_MESH_BYTES: Final = 200_000_000
_MOST_KEPT_BYTES: Final = 100_000_000
_JUMP: Final = 0.1
"""Tints that differ by this from one of the colours of an axial shading to the next do not rise, but jump."""
_CLOSE_COLOURS: Final = 8193
_FAR: Final = 100_000
_FEWEST_SAMPLES, _MOST_SAMPLES = 128, 1024
"""Of each input of a function-based shading: PDFium follows each input by itself from one corner of a square of
samples, and is wrong where two act together; between close samples that does not show."""
_FUNCTION_BASED, _AXIAL, _RADIAL, _FIRST_MESH, _LAST_MESH = 1, 2, 3, 4, 7


def shading_for_plates(derived_pdf: DerivedPdf, shading: ShadingFill, rendering: Rendering) -> Object:
    """A shading (ISO 32000-2, 8.7.4.5) of the source file whose colours go to the channels of a rendering.

    Raises:
        NotDrawn: over a bound, or in no form that can be read.
    """
    given, kind = shading.dictionary, whole(lookup(shading.dictionary, "ShadingType"))
    try:
        if not shading.space.components:
            raise FunctionFault("colours that cannot be read")
        function = lookup(given, "Function")
        colours = _Colours(
            derived_pdf, shading.space, rendering, None if function is None else read_functions(function)
        )
        if kind in (_AXIAL, _RADIAL):
            made = _along(derived_pdf, given, colours, kind)
        elif kind == _FUNCTION_BASED and not _is_drawn_by_pdfium(function, colours):
            made = _over_a_square(derived_pdf, given, colours)
        elif kind is not None and _FIRST_MESH <= kind <= _LAST_MESH:
            made = _mesh(derived_pdf, given, colours)
        else:
            made = _with_its_function(derived_pdf, shading, rendering)
    except (FunctionFault, MeshFault):
        made = _with_its_function(derived_pdf, shading, rendering)
    background = numbers(lookup(given, "Background"), shading.space.components)
    if background is not None and made.get("/ColorSpace", None) == Name.DeviceRGB:
        rgb = in_channels(
            rendering, shading.space, as_bytes(shading.space.tints(np.array([background]))), derived_pdf.solids
        )
        made.Background = Array([float(v) / 255 for v in rgb[0]])
    return made if made.is_indirect else derived_pdf.out.make_indirect(made)


class _Colours:
    """What a shading's numbers (a parameter, or a colour) become on the plates and in a rendering."""

    def __init__(
        self, derived_pdf: DerivedPdf, space: ColourSpace, rendering: Rendering, function: Evaluate | None
    ) -> None:
        self.derived_pdf, self.space, self.rendering, self.function = derived_pdf, space, rendering, function

    def tints(self, values: NDArray[np.float64]) -> NDArray[np.float32]:
        """(k, numbers) to (k, plates)."""
        if self.function is None:
            return self.space.tints(values)
        colours = self.function(values)
        missing = self.space.components - colours.shape[1]
        if missing > 0:
            colours = np.hstack([colours, np.zeros((len(colours), missing))])
        return self.space.tints(colours[:, : self.space.components])

    def channels(self, tints: NDArray[np.float32]) -> NDArray[np.uint8]:
        """(k, plates) to (k, 3) red, green and blue."""
        if self.rendering.silhouette:
            return np.zeros((len(tints), 3), np.uint8)
        return in_channels(self.rendering, self.space, as_bytes(tints), self.derived_pdf.solids)

    def kept(self, given: Object, what: str, make: Callable[[], Any]) -> Any:
        """What serves all renderings is worked out once."""
        key = (what, identity(given), id(self.space))
        if key in self.derived_pdf.shaded:
            return self.derived_pdf.shaded[key]
        made = make()
        self.derived_pdf.shaded_bytes += made.nbytes
        if self.derived_pdf.shaded_bytes <= _MOST_KEPT_BYTES:
            self.derived_pdf.shaded[key] = made
        return made


def _frame(given: Object, kind: int) -> Dictionary:
    made = Dictionary(ShadingType=kind, ColorSpace=Name.DeviceRGB)
    for key, values in _larger(given, "BBox").items():
        made[key] = values
    return made


def _larger(given: Object, key: str) -> dict[str, Array]:
    """An entry that holds lengths, at the size that it is drawn at; none where the shading has none."""
    values = numbers(lookup(given, key))
    return {} if values is None else {f"/{key}": Array([value * scale_of(given) for value in values])}


def before_sh(given: Object) -> bytes:
    """Operators that a shading is painted after: a clip to its box (PDFium takes upright pixels), and its scale."""
    scale, box = scale_of(given), numbers(lookup(given, "BBox"), 4)
    scaled = b"" if scale == 1 else b" %.9f 0 0 %.9f 0 0 cm" % (1 / scale, 1 / scale)
    if box is None:
        return scaled
    (x0, x1), (y0, y1) = sorted(box[::2]), sorted(box[1::2])
    return b" %.6f %.6f %.6f %.6f re W n" % (x0, y0, x1 - x0, y1 - y0) + scaled


def _stream(derived_pdf: DerivedPdf, data: bytes, keys: Dictionary, further: Mapping[str, Any]) -> Stream:
    made = derived_pdf.out.make_stream(data)
    for key, value in [*entries(keys), *further.items()]:
        made[key] = value
    return made


def _along(derived_pdf: DerivedPdf, given: Object, colours: _Colours, kind: int) -> Object:
    """An axial or radial shading with the colours that PDFium takes, looked up by us."""
    axis, domain = axis_of(given), _domain(given, 2)
    if domain is None:
        raise FunctionFault("a shading whose domain cannot be read")
    if axis is None:
        return _stream(derived_pdf, b"", _frame(given, _FIRST_MESH), EMPTY_MESH)

    def ramp() -> NDArray[np.float32]:
        inputs = domain[0] + axis.shares.reshape(-1, 1) * (domain[1] - domain[0])
        return np.asarray(colours.tints(inputs).reshape(*axis.shares.shape, -1).mean(axis=1))

    tints = colours.kept(given, "ramp", ramp)
    if kind == _AXIAL and np.abs(np.diff(tints, axis=0)).max(initial=0) > _JUMP:
        return _across(derived_pdf, given, colours, domain)
    made, rgb = _frame(given, kind), colours.channels(tints)
    made.Function = _table(derived_pdf, np.vstack([rgb, rgb[-1:]]), [len(rgb) + 1], [0, 1])
    made.Coords, made.Extend = Array(axis.coords), Array(list(axis.extend))
    return made


def _across(derived_pdf: DerivedPdf, given: Object, colours: _Colours, domain: list[float]) -> Object:
    """An axial shading whose colour jumps, as a function-based one, with more than 256 colours."""

    def ramp() -> NDArray[np.float32]:
        inputs = np.linspace(domain[0], domain[1], _CLOSE_COLOURS)
        return colours.tints(inputs[:, None])

    made, coords = _frame(given, _FUNCTION_BASED), numbers(lookup(given, "Coords"), 4)
    assert coords is not None
    (x0, y0, x1, y1), (start, end) = coords, extends_beyond(given)
    rgb = colours.channels(colours.kept(given, "close ramp", ramp))
    made.Function = _table(derived_pdf, np.vstack([rgb, rgb]), [len(rgb), 2], [0, 1, 0, 1])
    made.Domain = Array([-_FAR if start else 0, _FAR if end else 1, -_FAR, _FAR])
    made.Matrix = Array([x1 - x0, y1 - y0, y0 - y1, x1 - x0, x0, y0])
    return made


def _domain(given: Object, count: int) -> list[float] | None:
    return [0.0, 1.0] * (count // 2) if lookup(given, "Domain") is None else numbers(lookup(given, "Domain"), count)


def _table(derived_pdf: DerivedPdf, rgb: NDArray[np.uint8], sizes: list[int], domain: list[float]) -> Stream:
    function = derived_pdf.out.make_stream(rgb.tobytes())
    function.FunctionType, function.BitsPerSample, function.Size = 0, 8, Array(sizes)
    function.Domain, function.Range = Array(domain), Array([0, 1] * 3)
    return function


def _is_drawn_by_pdfium(function: Object | None, colours: _Colours) -> bool:
    """Calculators are worked out at each pixel, where the conversion can be written as one too."""
    parts = items(function) or [function]
    calculated = all(whole(lookup(part, "FunctionType")) == 4 for part in parts)
    return calculated and is_calculated(colours.space, colours.rendering)


def _samples(functions: Any, axis: int) -> int:
    """How many samples of an input hold those of the file and stand close."""
    sizes = [numbers(lookup(function, "Size"), 2) for function in items(functions) or [functions]]
    steps = max([int(size[axis]) - 1 for size in sizes if size is not None], default=0)
    if not 0 < steps < _MOST_SAMPLES:
        return (_MOST_SAMPLES if steps else 2 * _FEWEST_SAMPLES) + 1
    return steps * -(-_FEWEST_SAMPLES // steps) + 1


def _over_a_square(derived_pdf: DerivedPdf, given: Object, colours: _Colours) -> Object:
    """A function-based shading (8.7.4.5.2) by samples that lie close."""
    domain = _domain(given, 4)
    if domain is None:
        raise FunctionFault("a function-based shading whose domain cannot be read")

    sides = [_samples(lookup(given, "Function"), axis) for axis in (0, 1)]

    def square() -> NDArray[np.float32]:
        across, up = np.meshgrid(*(np.linspace(domain[2 * at], domain[2 * at + 1], sides[at]) for at in (0, 1)))
        return colours.tints(np.column_stack([across.ravel(), up.ravel()]))

    made = _frame(given, _FUNCTION_BASED)
    made.Function = _table(derived_pdf, colours.channels(colours.kept(given, "square", square)), sides, domain)
    made.Domain = Array(domain)
    if lookup(given, "Matrix") is not None:
        made.Matrix = derived_pdf.copy(given.Matrix)
    return made


def _mesh(derived_pdf: DerivedPdf, given: Object, colours: _Colours) -> Object:
    """A mesh (8.7.4.5.5 to 8.7.4.5.8) as triangles."""
    through_function = colours.function is not None

    def triangles() -> Triangles:
        space = colours.space
        if space.base is None or space.table is None or through_function:
            mesh = read_mesh(given, 1 if through_function else space.components)
            return in_plates(mesh, colours.tints, through_function=through_function)
        # Colours by their numbers are converted to the base space before anything else: 8.7.4.4.
        table, last = space.table, len(space.table) - 1
        mesh = read_mesh(given, 1, lambda index: table[np.clip(np.rint(index[:, 0]), 0, last).astype(np.intp)])
        return in_plates(mesh, space.base.tints, through_function=False)

    found = colours.kept(given, "mesh", triangles)
    rgb = colours.channels(found.values.reshape(-1, found.values.shape[-1]).astype(np.float32))
    data, keys = written(found.corners, rgb.reshape(-1, 3, 3))
    return _stream(derived_pdf, data, _frame(given, _FIRST_MESH), keys)


def _with_its_function(derived_pdf: DerivedPdf, shading: ShadingFill, rendering: Rendering) -> Object:
    """A shading as it stands, its colours converted by PDFium."""
    given = shading.dictionary
    made: Object = Dictionary()
    if isinstance(given, Stream):
        try:
            made = derived_pdf.out.make_stream(read_stream(given, _MOST_MESH_BYTES))
        except (OverLimit, Undecodable) as fault:
            raise CannotBeRendered(f"a shading that cannot be read: {fault}") from fault
    for key, inner in present(given):
        if key not in ("/ColorSpace", "/Length", "/Filter", "/DecodeParms"):
            made[key] = derived_pdf.copy(inner)
    for key in ("BBox", "Coords"):
        for name, values in _larger(given, key).items():
            made[name] = values
    made[Name.ColorSpace] = space_for_plates(derived_pdf.out, shading.space, rendering, derived_pdf.solids)
    return made
