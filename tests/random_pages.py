"""Random pages as PDF: what ``random_drawings`` describes, written with operators and resources."""

from __future__ import annotations

from dataclasses import replace

import pikepdf
from pikepdf import Array, Dictionary, Name, Object

from tests.drawn import Drawing
from tests.plate_drawings import HEIGHT_MM, PAGE, WIDTH_MM, device_n, embed_font, group, mm, rect, spot_space
from tests.plate_drawings_pictures import blocks, mask_of, packed, shading
from tests.random_drawings import (
    Blend,
    Box,
    Element,
    Group,
    Page,
    Paint,
    Picture,
    Shaded,
    Shape,
    Space,
    State,
    Tiling,
    Tint,
)  # fmt: skip


def drawn(elements: Page) -> Drawing:
    """A page with all four process inks and a spot below, so that what knocks out and what does not is seen."""
    page = Drawing(WIDTH_MM, HEIGHT_MM)
    embed_font(page)
    page.fill((0.5, 0.3, 0.2, 0.1), rect=(0, 0, WIDTH_MM, HEIGHT_MM / 2))
    page.raw("q").gs(OP=True, op=True, OPM=0).fill("Gold", 0.4, rect=(0, 10, WIDTH_MM, 28)).raw("Q")
    for element in elements:
        page.raw(words(page, element))
    return page


def words(page: Drawing, element: Element) -> str:
    """The operators of an element, between ``q`` and ``Q``."""
    painters = {Shape: _shape, Picture: _picture, Shaded: _shaded, Group: _group}
    return f"q {_state(page, element.state)} {painters[type(element)](page, element)} Q"  # type: ignore[operator]


def _key(among: Object, stem: str) -> str:
    return f"{stem}{len(among.keys())}"


def _state(page: Drawing, state: State) -> str:
    upper, lower, mode = state.overprint
    keys = Dictionary(OP=upper, op=lower, OPM=mode, ca=state.alpha, CA=state.alpha, BM=Name("/" + state.mode))
    if state.mask:
        keys.SMask = _soft_mask(page, state.mask)
    key = _key(page.resources.ExtGState, "GS")
    page.resources.ExtGState[Name("/" + key)] = keys
    return f"/{key} gs"


def _soft_mask(page: Drawing, kind: str) -> Dictionary:
    """Half over the lower, whole over the upper part; none round them."""
    page.resources.ExtGState.Half, page.resources.ExtGState.Whole = Dictionary(ca=0.5), Dictionary(ca=1.0)
    half, whole = ("0.5 g", "1 g") if kind == "Luminosity" else ("/Half gs 0 g", "/Whole gs")
    inner = f"{half} {rect(3, 3, 48, 20)} f {whole} {rect(3, 20, 48, 35)} f"
    form = page.form(inner, bbox_mm=PAGE, group=group(I=True, CS=Name.DeviceGray))
    return Dictionary(S=Name("/" + kind), G=page.resources.XObject[Name("/" + form)])


def space_of(page: Drawing, space: Space, table: bytes = b"") -> Object:
    """The space as an object; ``table`` holds an Indexed one's colours."""
    if space.indexed:
        base = space_of(page, replace(space, indexed=False))
        high = len(table) // space.count - 1
        return page.pdf.make_indirect(Array([Name.Indexed, base, high, pikepdf.String(table)]))
    if space.family == "Separation":
        return spot_space(page, space.names[0])
    if space.family == "DeviceN":
        key = "DN" + "".join(name[0] for name in space.names)
        known = Name("/" + key) in page.resources.ColorSpace
        return page.resources.ColorSpace[Name("/" + key)] if known else device_n(page, key, space.names)
    return Name("/" + space.family)


def _numbers(values: tuple[float, ...]) -> str:
    return " ".join(f"{value:g}" for value in values)


def _named(page: Drawing, space: Object) -> str:
    key = _key(page.resources.ColorSpace, "Space")
    page.resources.ColorSpace[Name("/" + key)] = space
    return key


def _tint_words(page: Drawing, colour: Tint, *, stroke: bool) -> str:
    operators = ("CS", "SCN") if stroke else ("cs", "scn")
    if colour.space.indexed:
        table = bytes(round(tint * 255) for tint in colour.tints) + bytes(range(colour.space.count))
        return f"/{_named(page, space_of(page, colour.space, table))} {operators[0]} 0 {operators[1]}"
    if colour.space.family == "DeviceGray":
        return f"{_numbers(colour.tints)} {'G' if stroke else 'g'}"
    if colour.space.family == "DeviceCMYK":
        return f"{_numbers(colour.tints)} {'K' if stroke else 'k'}"
    return f"/{_named(page, space_of(page, colour.space))} {operators[0]} {_numbers(colour.tints)} {operators[1]}"


def _paint(page: Drawing, paint: Paint, box: Box, *, stroke: bool) -> str:
    if isinstance(paint, Tint):
        return _tint_words(page, paint, stroke=stroke)
    set_space, set_colour = ("CS", "SCN") if stroke else ("cs", "scn")
    key = _key(page.resources.Pattern, "P")
    if isinstance(paint, Blend):
        look = shading(page, paint.kind, space_of(page, paint.space), paint.space.count, box)
        page.resources.Pattern[Name("/" + key)] = page.pdf.make_indirect(
            Dictionary(Type=Name.Pattern, PatternType=2, Shading=look)
        )
        return f"/Pattern {set_space} /{key} {set_colour}"
    page.resources.Pattern[Name("/" + key)] = _cell(page, paint)
    if paint.coloured:
        return f"/Pattern {set_space} /{key} {set_colour}"
    space = _named(page, Array([Name.Pattern, space_of(page, paint.colour.space)]))
    return f"/{space} {set_space} {_numbers(paint.colour.tints)} /{key} {set_colour}"


def _cell(page: Drawing, tiling: Tiling) -> Object:
    # Only with what it needs: Ghostscript applies an opacity twice where it sees transparency among the resources.
    colour = _tint_words(page, tiling.colour, stroke=False) if tiling.coloured else ""
    matrix = [0.8, 0.6, -0.6, 0.8, 0, 0] if tiling.turned else [1, 0, 0, 1, 6, 6]
    return page.pdf.make_stream(
        f"{colour} 3 3 15 12 re f".encode(), Type=Name.Pattern, PatternType=1, PaintType=1 if tiling.coloured else 2,
        TilingType=1, BBox=[0, 0, 18, 18], XStep=24, YStep=24, Matrix=matrix,
        Resources=Dictionary(ColorSpace=page.resources.ColorSpace),
    )  # fmt: skip


def _shape(page: Drawing, shape: Shape) -> str:
    x0, y0, x1, y1 = shape.box
    colours = (
        _paint(page, shape.fill, shape.box, stroke=False) + " " + _paint(page, shape.stroke, shape.box, stroke=True)
    )
    if shape.how.startswith("Tr "):
        size = (y1 - y0) * 2.5
        word = f"BT /F0 {size:g} Tf {shape.how[3:]} Tr 1 0 0 1 {mm(x0, y0)} Tm (WM) Tj ET"
        # What clips shows in what is painted through it.
        after = f"0 0.7 0 0 k {rect(x0, y0, x1, (y0 + y1) / 2)} f" if int(shape.how[3:]) > 3 else ""
        return f"{colours} {mm(0.8)} w {word} {after}"
    path = rect(*shape.box)
    if shape.round:
        middle = (y0 + y1) / 2
        path = f"{mm(x0, middle)} m {mm(x0, y1, x1, y1, x1, middle)} c {mm(x1, y0, x0, y0, x0, middle)} c h"
    if shape.how == "f*":
        path += f" {rect(x0 + 2, y0 + 2, x1 - 2, y1 - 2)}"
    return f"{colours} {mm(2)} w {path} {shape.how}"


def _picture(page: Drawing, picture: Picture) -> str:
    x0, y0, x1, y1 = picture.box
    stencil = "stencil" in picture.kind
    bits = 1 if stencil else picture.bits
    count = 1 if stencil or picture.space.indexed else picture.space.count
    samples = blocks(12, 15, count, bits=bits, side=3, seed=bits + count)
    decode = [1, 0] * count if picture.inverted and (stencil or not picture.space.indexed) else None
    space = None if stencil else _picture_space(page, picture.space, bits)
    place = f"{mm(x1 - x0)} 0 0 {mm(y1 - y0)} {mm(x0, y0)} cm"
    colour = _tint_words(page, picture.colour, stroke=False) if stencil else ""
    if "inline" in picture.kind:
        keys = "/IM true" if stencil else f"/BPC {bits} /CS /{_named(page, space) if space is not None else ''}"
        keys += f" /D [{' '.join(map(str, decode))}]" if decode else ""
        return f"{colour} {place} BI /W 15 /H 12 {keys} /F /AHx ID {packed(samples, bits).hex()}> EI"
    keys = {"ImageMask": True} if stencil else {"ColorSpace": space, **_mask_keys(page, picture, count)}  # type: ignore[assignment]
    if decode:
        keys["Decode"] = Array(decode)  # type: ignore[index]
    key = _key(page.resources.XObject, "Im")
    page.resources.XObject[Name("/" + key)] = mask_of(page, samples, bits, **keys)  # type: ignore[arg-type]
    return f"{colour} {place} /{key} Do"


def _picture_space(page: Drawing, space: Space, bits: int) -> Object:
    table = bytes((37 * at * at + 11 * at) % 256 for at in range(2**bits * space.count)) if space.indexed else b""
    return space_of(page, space, table)


def _mask_keys(page: Drawing, picture: Picture, count: int) -> dict[str, object]:
    if picture.mask == "SMask":
        return {"SMask": mask_of(page, blocks(20, 16, 1, side=4, seed=8), 8, ColorSpace=Name.DeviceGray)}
    if picture.mask == "Mask":
        return {"Mask": mask_of(page, blocks(20, 16, 1, bits=1, side=4, seed=9), 1, ImageMask=True)}
    if picture.mask == "Key":
        return {"Mask": Array([0, 100 if picture.bits == 8 else 0] * count)}
    return {}


def _shaded(page: Drawing, shaded: Shaded) -> str:
    look = shading(page, shaded.blend.kind, space_of(page, shaded.blend.space), shaded.blend.space.count, shaded.box)
    key = _key(page.resources.Shading, "S")
    page.resources.Shading[Name("/" + key)] = look
    return f"{rect(*shaded.box)} W n /{key} sh"


def _group(page: Drawing, placed: Group) -> str:
    inner = "\n".join(words(page, element) for element in placed.inside)
    keys = group(I=placed.isolated, K=placed.knockout, CS=Name.DeviceCMYK) if placed.transparency else None
    form = page.form(inner, bbox_mm=placed.clip, matrix=placed.matrix, group=keys)
    return f"/{form} Do"
