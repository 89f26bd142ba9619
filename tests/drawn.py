"""Draws one-page PDFs for tests from a few calls in mm, so that the expected answer stands in the test.

page = Drawing(120, 80)
page.spot("Mill Brown", (0.3, 0.6, 0.8, 0.2))
page.fill("Mill Brown", 1, rect=(10, 10, 50, 40))
path = page.save(tmp_path / "art.pdf")
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name

MM = 72 / 25.4
Point = tuple[float, float]


def points_of_rect(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


class Drawing:
    """One page, mm from the lower-left corner; content is appended in painting order."""

    def __init__(self, width_mm: float, height_mm: float, *, trim: tuple[float, float, float, float] | None = None):
        self.pdf = pikepdf.new()
        self.page = self.pdf.add_blank_page(page_size=(width_mm * MM, height_mm * MM))
        self.ops: list[str] = []
        # Indirect, so that forms which share it see what is added later.
        self.resources = self.pdf.make_indirect(
            Dictionary(
                ColorSpace=Dictionary(),
                ExtGState=Dictionary(),
                XObject=Dictionary(),
                Font=Dictionary(),
                Pattern=Dictionary(),
                Shading=Dictionary(),
                Properties=Dictionary(),
            )
        )
        self.spaces: dict[str, str] = {}
        if trim:
            self.box("TrimBox", trim)

    def box(self, key: str, mm: tuple[float, float, float, float]) -> None:
        self.page.obj[Name("/" + key)] = Array([v * MM for v in mm])

    def spot(self, name: str, cmyk: Sequence[float] = (0, 0.5, 0.5, 0)) -> str:
        """A Separation colour space; returns its resource name. `name` may hold any character."""
        if name not in self.spaces:
            function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=list(cmyk))
            encoded = "".join(
                chr(b) if 33 <= b < 127 and chr(b) not in "#/()<>[]{}%" else f"#{b:02x}" for b in name.encode()
            )
            space = pikepdf.Object.parse(f"[/Separation /{encoded} /DeviceCMYK null]".encode())
            space[3] = self.pdf.make_indirect(function)
            key = f"CS{len(self.spaces)}"
            self.resources.ColorSpace[Name("/" + key)] = self.pdf.make_indirect(space)
            self.spaces[name] = key
        return self.spaces[name]

    def raw(self, content: str) -> Drawing:
        """Appends operators as they stand (points, not mm)."""
        self.ops.append(content)
        return self

    def gs(self, **keys: object) -> Drawing:
        """Sets an ExtGState: gs(OP=True, op=True, OPM=1)."""
        key = f"GS{len(self.resources.ExtGState.keys())}"
        self.resources.ExtGState[Name("/" + key)] = Dictionary(**keys)  # type: ignore[arg-type]
        return self.raw(f"/{key} gs")

    def colour(self, ink: str | Sequence[float], tint: float = 1.0, *, stroke: bool = False) -> Drawing:
        """Sets a colour: a spot name with its tint, 4 numbers CMYK, 3 RGB, 1 grey."""
        if isinstance(ink, str):
            key = self.spot(ink)
            return self.raw(f"/{key} CS {tint} SCN" if stroke else f"/{key} cs {tint} scn")
        operator = {1: "g", 3: "rg", 4: "k"}[len(ink)]
        return self.raw(" ".join(f"{v:g}" for v in ink) + " " + (operator.upper() if stroke else operator))

    def path(self, points: Sequence[Point], *, close: bool = True) -> Drawing:
        head, *rest = [f"{x * MM:.4f} {y * MM:.4f}" for x, y in points]
        return self.raw(f"{head} m " + " ".join(f"{p} l" for p in rest) + (" h" if close else ""))

    def fill(
        self,
        ink: str | Sequence[float],
        tint: float = 1.0,
        *,
        rect: tuple[float, float, float, float] | None = None,
        points: Sequence[Point] | None = None,
    ) -> Drawing:
        self.colour(ink, tint)
        return self.path(points if points is not None else points_of_rect(*rect or (0, 0, 0, 0))).raw("f")

    def stroke(
        self,
        ink: str | Sequence[float],
        points: Sequence[Point],
        *,
        width_mm: float = 0.25,
        tint: float = 1.0,
        close: bool = True,
        dash_mm: Sequence[float] = (),
    ) -> Drawing:
        self.colour(ink, tint, stroke=True)
        self.raw(f"{width_mm * MM:.4f} w [{' '.join(f'{d * MM:.3f}' for d in dash_mm)}] 0 d")
        return self.path(points, close=close).raw("S")

    def text(
        self, words: str, at: Point, size_pt: float, ink: str | Sequence[float] = (0, 0, 0, 1), tint: float = 1.0
    ) -> Drawing:
        """Helvetica, not embedded unless a test gives /F0 another font."""
        if "/F0" not in self.resources.Font:
            self.resources.Font.F0 = self.pdf.make_indirect(
                Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica, Encoding=Name.WinAnsiEncoding)
            )
        self.colour(ink, tint)
        safe = words.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
        return self.raw(f"BT /F0 {size_pt:g} Tf 1 0 0 1 {at[0] * MM:.4f} {at[1] * MM:.4f} Tm ({safe}) Tj ET")

    def image(
        self,
        samples: bytes,
        width: int,
        height: int,
        rect: tuple[float, float, float, float],
        *,
        space: object = Name.DeviceCMYK,
        bits: int = 8,
        **keys: object,
    ) -> Drawing:
        stream = self.pdf.make_stream(
            samples,
            Dictionary(
                Type=Name.XObject,
                Subtype=Name.Image,
                Width=width,
                Height=height,
                BitsPerComponent=bits,
                ColorSpace=space,
                **keys,  # type: ignore[arg-type]
            ),
        )
        key = f"Im{len(self.resources.XObject.keys())}"
        self.resources.XObject[Name("/" + key)] = stream
        x0, y0, x1, y1 = (v * MM for v in rect)
        return self.raw(f"q {x1 - x0:.4f} 0 0 {y1 - y0:.4f} {x0:.4f} {y0:.4f} cm /{key} Do Q")

    def layer(self, name: str, *, group: str = "", step: str = "", on: bool = True) -> Drawing:
        """Opens an optional-content layer (ISO 19593-1 metadata where group is given); close it with end_layer."""
        ocg = Dictionary(Type=Name.OCG, Name=name)
        if group:
            ocg.GTS_Metadata = Dictionary(GTS_ProcStepsGroup=Name("/" + group))
            if step:
                ocg.GTS_Metadata.GTS_ProcStepsType = Name("/" + step)
        ocg = self.pdf.make_indirect(ocg)
        root = self.pdf.Root
        if "/OCProperties" not in root:
            root.OCProperties = Dictionary(OCGs=[], D=Dictionary(ON=[], OFF=[], Order=[]))
        root.OCProperties.OCGs.append(ocg)
        (root.OCProperties.D.ON if on else root.OCProperties.D.OFF).append(ocg)
        key = f"OC{len(self.resources.Properties.keys())}"
        self.resources.Properties[Name("/" + key)] = ocg
        return self.raw(f"/OC /{key} BDC")

    def end_layer(self) -> Drawing:
        return self.raw("EMC")

    def form(
        self,
        inner: str,
        *,
        bbox_mm: tuple[float, float, float, float],
        matrix: Sequence[float] = (1, 0, 0, 1, 0, 0),
        group: Dictionary | None = None,
    ) -> str:
        """A form XObject that shares the page's resources; returns its name for `raw('/Fm0 Do')`."""
        keys = Dictionary(
            Type=Name.XObject,
            Subtype=Name.Form,
            BBox=[v * MM for v in bbox_mm],
            Matrix=list(matrix),
            Resources=self.resources,
        )
        if group is not None:
            keys.Group = group
        key = f"Fm{len(self.resources.XObject.keys())}"
        self.resources.XObject[Name("/" + key)] = self.pdf.make_stream(inner.encode(), keys)
        return key

    def save(self, path: Path) -> Path:
        self.page.obj.Resources = self.resources
        self.page.obj.Contents = self.pdf.make_stream("\n".join(self.ops).encode())
        self.pdf.save(path)
        return path
