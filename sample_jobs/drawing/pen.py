"""A pen that draws one PDF page in mm, as a customer's drawing program would write it.

Everything is deterministic: no dates, no random names, a document ID made from the content.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name

from sample_jobs.drawing.letters import PT, Face, face
from sample_jobs.drawing.outline import Outline, Point
from sample_jobs.drawing.pictures import Picture

Ink = str | Sequence[float]
"""A spot by its name, or 4 numbers CMYK, 3 RGB, 1 grey; each 0..1."""

CREATOR = "Sample artwork, drawn in millimetres"
"""What the file says it was made with."""
ABSENT_FONT = "Quillmere-Plain"
"""An invented face, of which there is no program to be embedded."""

_QUARTER = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}

BLACK = (0.0, 0.0, 0.0, 1.0)
WHITE = (0.0, 0.0, 0.0, 0.0)


class Pen:
    """One page; ``origin_mm`` is where (0, 0) of what is drawn lies on it."""

    def __init__(self, width_mm: float, height_mm: float, *, origin_mm: Point = (0, 0), title: str = ""):
        self.pdf = pikepdf.new()
        self.page = self.pdf.add_blank_page(page_size=(round(width_mm / PT, 4), round(height_mm / PT, 4)))
        self.pdf.docinfo["/Title"] = title
        self.pdf.docinfo["/Creator"] = CREATOR
        self.origin = origin_mm
        self.ops: list[str] = []
        parts = ("ColorSpace", "ExtGState", "XObject", "Font", "Properties")
        self.resources = self.pdf.make_indirect(Dictionary({f"/{part}": Dictionary() for part in parts}))
        self.spots: dict[str, str] = {}
        self.layers: dict[str, str] = {}
        self.letters: dict[str, list[int]] = {}

    # --- the page -------------------------------------------------------------------------------------------------

    def box(self, key: str, x0: float, y0: float, x1: float, y1: float) -> None:
        """Sets a page box: TrimBox, BleedBox …"""
        dx, dy = self.origin
        self.page.obj[Name("/" + key)] = Array(
            [round(v, 4) for v in ((x0 + dx) / PT, (y0 + dy) / PT, (x1 + dx) / PT, (y1 + dy) / PT)]
        )

    def save(self, path: Path) -> Path:
        """Writes the file; the same drawing gives the same bytes."""
        for style, codes in self.letters.items():
            self.resources.Font[Name("/" + _font_key(style))] = self._font(face(style), codes)
        self.page.obj.Resources = self.resources
        self.page.obj.Contents = self.pdf.make_stream("\n".join(self.ops).encode("ascii"))
        path.parent.mkdir(parents=True, exist_ok=True)
        self.pdf.save(path, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
        return path

    # --- inks and states ------------------------------------------------------------------------------------------

    def spot(self, name: str, cmyk: Sequence[float]) -> None:
        """Makes a spot ink known, with what shows it on a screen."""
        function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=list(cmyk))
        space = Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, self.pdf.make_indirect(function)])
        key = f"Ink{len(self.spots) + 1}"
        self.resources.ColorSpace[Name("/" + key)] = self.pdf.make_indirect(space)
        self.spots[name] = key

    def ink(self, ink: Ink, tint: float = 1.0, *, stroke: bool = False) -> None:
        """Sets the colour to fill or to stroke with."""
        if isinstance(ink, str):
            key = self.spots[ink]
            self.ops.append(f"/{key} CS {tint:g} SCN" if stroke else f"/{key} cs {tint:g} scn")
            return
        operator = {1: "g", 3: "rg", 4: "k"}[len(ink)]
        self.ops.append(" ".join(f"{v:g}" for v in ink) + " " + (operator.upper() if stroke else operator))

    @contextmanager
    def state(self) -> Iterator[None]:
        """Graphics state put back afterwards."""
        self.ops.append("q")
        yield
        self.ops.append("Q")

    @contextmanager
    def overprinting(self) -> Iterator[None]:
        """Fills and strokes overprint, with OPM 1."""
        self.resources.ExtGState.Over = Dictionary(OP=True, op=True, OPM=1)
        with self.state():
            self.ops.append("/Over gs")
            yield

    @contextmanager
    def clipped(self, outline: Outline) -> Iterator[None]:
        """Shows only what lies inside the outline."""
        with self.state():
            self._path(outline)
            self.ops.append("W n")
            yield

    @contextmanager
    def placed(self, dx: float, dy: float, turned: int = 0) -> Iterator[None]:
        """What is drawn is turned about (0, 0) by 0, 90, 180 or 270 degrees anticlockwise, then moved."""
        cos, sin = _QUARTER[turned]
        x0, y0 = self.origin[0] / PT, self.origin[1] / PT
        x, y = self._at(dx, dy)
        with self.state():
            right, up = x - cos * x0 + sin * y0, y - sin * x0 - cos * y0
            self.ops.append(f"{cos} {sin} {-sin} {cos} {right:.3f} {up:.3f} cm")
            yield

    @contextmanager
    def layer(self, name: str, *, shown: bool = True) -> Iterator[None]:
        """On a layer (optional content group) of this name; layers keep the order in which they were first used."""
        if name not in self.layers:
            group = self.pdf.make_indirect(Dictionary(Type=Name.OCG, Name=name))
            root = self.pdf.Root
            if "/OCProperties" not in root:
                root.OCProperties = Dictionary(OCGs=[], D=Dictionary(ON=[], OFF=[], Order=[]))
            for where in (root.OCProperties.OCGs, root.OCProperties.D.Order):
                where.append(group)
            (root.OCProperties.D.ON if shown else root.OCProperties.D.OFF).append(group)
            self.layers[name] = f"Layer{len(self.layers) + 1}"
            self.resources.Properties[Name("/" + self.layers[name])] = group
        self.ops.append(f"/OC /{self.layers[name]} BDC")
        yield
        self.ops.append("EMC")

    # --- what is painted ------------------------------------------------------------------------------------------

    def fill(self, outline: Outline, ink: Ink, tint: float = 1.0, *, even_odd: bool = True) -> None:
        """Fills by the even-odd rule, or by the winding rule, which letters and overlapping pieces want."""
        self.ink(ink, tint)
        self._path(outline)
        self.ops.append("f*" if even_odd else "f")

    def stroke(self, outline: Outline, ink: Ink, *, width_pt: float = 0.5, tint: float = 1.0) -> None:
        """A solid line."""
        self.ink(ink, tint, stroke=True)
        self.ops.append(f"{width_pt:g} w")
        self._path(outline)
        self.ops.append("S")

    def words(
        self,
        words: str,
        at: Point,
        size_pt: float,
        *,
        style: str = "regular",
        ink: Ink = BLACK,
        tint: float = 1.0,
        align: str = "left",
        turned: int = 0,
    ) -> None:
        """Live text in an embedded face. ``turned`` is 0, 90, 180 or 270 degrees anticlockwise."""
        codes = self.letters.setdefault(style, [32])
        codes += [ord(c) for c in dict.fromkeys(words) if ord(c) not in codes]
        data = "".join(f"{codes.index(ord(c)):02x}" for c in words)
        back = {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * face(style).length_mm(words, size_pt)
        self.ink(ink, tint)
        self._show(f"<{data}>", _font_key(style), at, size_pt, back, turned)

    def words_without_font(self, words: str, at: Point, size_pt: float, *, ink: Ink = BLACK) -> None:
        """Text in ``ABSENT_FONT``, whose program is not put into the file: it is as wide as the regular face."""
        if "/Absent" not in self.resources.Font:
            self.resources.Font.Absent = self._font_without_program(face("regular"))
        self.ink(ink)
        self._show(f"({words})", "Absent", at, size_pt, 0.0, 0)

    def image(self, picture: Picture, box: tuple[float, float, float, float]) -> None:
        """An image into the box (x0, y0, x1, y1)."""
        stream = self.pdf.make_stream(picture.data, self._image_keys(picture))
        if picture.soft_mask is not None:
            stream.SMask = self.pdf.make_stream(picture.soft_mask.data, self._image_keys(picture.soft_mask))
        key = f"Image{len(self.resources.XObject.keys()) + 1}"
        self.resources.XObject[Name("/" + key)] = stream
        x0, y0 = self._at(box[0], box[1])
        width, height = (box[2] - box[0]) / PT, (box[3] - box[1]) / PT
        self.ops.append(f"q {width:.4f} 0 0 {height:.4f} {x0:.4f} {y0:.4f} cm /{key} Do Q")

    def form(self, box: tuple[float, float, float, float]) -> str:
        """Takes what was drawn so far into a form, to be painted as often as wanted; returns its name."""
        key = f"Form{len(self.resources.XObject.keys()) + 1}"
        form = self.pdf.make_stream("\n".join(self.ops).encode("ascii"))
        form.Type, form.Subtype, form.Resources = Name.XObject, Name.Form, self.resources
        form.BBox = Array([round(v, 4) for v in (*self._at(*box[:2]), *self._at(*box[2:]))])
        self.resources.XObject[Name("/" + key)] = form
        self.ops = []
        return key

    def show(self, form: str) -> None:
        """Paints what ``form`` returned."""
        self.ops.append(f"/{form} Do")

    # --- how it is written ----------------------------------------------------------------------------------------

    def _at(self, x: float, y: float) -> Point:
        return (x + self.origin[0]) / PT, (y + self.origin[1]) / PT

    def _path(self, outline: Outline) -> None:
        for kind, points in outline.steps:
            numbers = "".join("{:.3f} {:.3f} ".format(*self._at(*point)) for point in points)
            self.ops.append(numbers + kind)

    def _show(self, string: str, font: str, at: Point, size_pt: float, back: float, turned: int) -> None:
        cos, sin = _QUARTER[turned]
        x, y = self._at(at[0] - back * cos, at[1] - back * sin)
        self.ops.append(f"BT /{font} {size_pt:g} Tf {cos} {sin} {-sin} {cos} {x:.3f} {y:.3f} Tm {string} Tj ET")

    def _image_keys(self, picture: Picture) -> Dictionary:
        keys = Dictionary(
            Type=Name.XObject,
            Subtype=Name.Image,
            Width=picture.width,
            Height=picture.height,
            BitsPerComponent=picture.bits,
            ColorSpace=Name("/" + picture.space),
            Filter=Name("/" + picture.coded),
        )
        if picture.upside_down_tints:
            keys.Decode = Array([1, 0] * 4)
        return keys

    def _font(self, used: Face, codes: list[int]) -> pikepdf.Object:
        """A TrueType subset whose codes are places in ``codes`` (ISO 32000-1, 9.6.3), with a ToUnicode map."""
        program = used.ttf.makeSubset(codes)
        widths = [round(used.width(chr(code))) for code in codes]
        tag = "".join(chr(65 + (sum(codes) // 26**i) % 26) for i in range(6))
        name = Name(f"/{tag}+{used.name}")
        descriptor = _descriptor(name, used, flags=4)
        descriptor.FontFile2 = self.pdf.make_stream(program, Dictionary(Length1=len(program)))
        font = Dictionary(
            Type=Name.Font,
            Subtype=Name.TrueType,
            BaseFont=name,
            FirstChar=0,
            LastChar=len(codes) - 1,
            Widths=widths,
            FontDescriptor=self.pdf.make_indirect(descriptor),
            ToUnicode=self.pdf.make_stream(_unicode_map(codes)),
        )
        return self.pdf.make_indirect(font)

    def _font_without_program(self, measured: Face) -> pikepdf.Object:
        """A Type 1 font of Latin letters with a descriptor and widths, and nothing to draw them with."""
        name = Name("/" + ABSENT_FONT)
        font = Dictionary(
            Type=Name.Font,
            Subtype=Name.Type1,
            BaseFont=name,
            FirstChar=32,
            LastChar=126,
            Widths=[round(measured.width(chr(code))) for code in range(32, 127)],
            Encoding=Name.WinAnsiEncoding,
            FontDescriptor=self.pdf.make_indirect(_descriptor(name, measured, flags=32)),
        )
        return self.pdf.make_indirect(font)


def _descriptor(name: Name, used: Face, *, flags: int) -> Dictionary:
    """What a file says of a font beside its glyphs; flags 4 are for own codes, 32 for Latin letters."""
    return Dictionary(
        Type=Name.FontDescriptor,
        FontName=name,
        Flags=flags,
        FontBBox=list(used.ttf.bbox),
        ItalicAngle=round(used.ttf.italicAngle),
        Ascent=round(used.ttf.ascent),
        Descent=round(used.ttf.descent),
        CapHeight=round(used.ttf.capHeight),
        StemV=round(used.ttf.stemV),
    )


def _font_key(style: str) -> str:
    return "Vera" + style.title().replace(" ", "")


def _unicode_map(codes: list[int]) -> bytes:
    lines = [
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
        "/CMapName /Codes def /CMapType 2 def 1 begincodespacerange <00> <FF> endcodespacerange",
    ]
    for start in range(0, len(codes), 100):
        part = codes[start : start + 100]
        lines.append(f"{len(part)} beginbfchar")
        lines += [f"<{start + i:02X}> <{code:04X}>" for i, code in enumerate(part)]
        lines.append("endbfchar")
    return "\n".join([*lines, "endcmap CMapName currentdict /CMap defineresource pop end end"]).encode()
