"""Jobs made by hand for the tests of the report: a reverse-tuck carton with plates drawn in numpy, no PDF."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw
from shapely import LineString, MultiLineString, Polygon, box, unary_union

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.page import Page, PageBoxes
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.carton.die import Area, Blank, Die
from preflight.errors import NotMeasured
from preflight.findings import Finding, Judgement, NotAsked, NotChecked, Place, SwitchedOff, Verdict, Waived
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import InkOnJob, Job
from preflight.job_facts import final_facts
from preflight.report.document import RunFacts
from preflight.report.pictures import PagePictures, draw_pictures

WIDTH, HEIGHT = 420.0, 346.0
LEFT, BOTTOM = 13.0, 13.0
RUN = RunFacts(
    datetime(2026, 3, 2, 14, 5, tzinfo=UTC), ("shipped rules", "plant.yaml"), "seven-units.yaml", "4471-B.yaml"
)

PRESS: dict[str, Any] = {
    "press": "Seven units and one coater, 1000 format",
    "sheet": {"smallest": "500 x 350 mm", "largest": "1000 x 700 mm", "printable": "990 x 684 mm"},
    "edges": {"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"},
    "board": {"caliper": "0.25 mm to 0.9 mm"},
    "line": [
        {"unit": {"inks": "any"}},
        {"lamp": "uv"},
        {"unit": {"inks": "any", "never": ["metallic"]}},
        {"unit": {"inks": ["process", "spot"]}},
        {"lamp": "uv"},
        {"unit": {}},
        {"unit": {}},
        {"unit": {}},
        {"unit": {}},
        {"coater": {"takes": ["uv", "water-based"], "lays": ["overall", "cut blanket"]}},
        {"delivery": ["uv", "uv", "ir"]},
    ],
    "cures": ["uv"],
}
TICKET: dict[str, Any] = {
    "ticket": "4471-B",
    "revision": "C",
    "title": "Wrenfold oat biscuits, 200 g",
    "artwork": "wrenfold-oat.pdf",
    "artwork_is": "one-up",
    "ink_system": "uv",
    "board": {"grade": "GC2", "caliper": "0.45 mm", "weight": "295 g/m2", "grain": "across", "surface": "white"},
    "sheet": {"size": "980 x 690 mm"},
    "units": ["Black", "Cyan", "Copper Glow", "Magenta", "Yellow", "Mill Brown", None],
    "coating": {"kind": "uv", "area": "overall", "clear": ["glue flap", "code"]},
    "quantity": "40000",
}


def carton_panels() -> list[Polygon]:
    """Glue flap, four panels in a row, then dust flaps, lids and tucks: 394 x 320 mm."""
    columns = [0, 14, 154, 204, 344, 394]
    y0, y1 = BOTTOM + 65, BOTTOM + 255
    row = [box(LEFT + a, y0, LEFT + b, y1) for a, b in zip(columns[1:-1], columns[2:], strict=True)]
    flap = Polygon([(LEFT + 14, y0), (LEFT + 14, y1), (LEFT, y1 - 8), (LEFT, y0 + 8)])
    dust = [box(LEFT + a + 1, y, LEFT + a + 49, y + 50) for a in (154, 344) for y in (y0 - 50, y1)]
    lids = [box(LEFT + 14, y1, LEFT + 154, y1 + 50), box(LEFT + 204, y0 - 50, LEFT + 344, y0)]
    tucks = [
        Polygon([(LEFT + 16, y1 + 50), (LEFT + 152, y1 + 50), (LEFT + 146, y1 + 65), (LEFT + 22, y1 + 65)]),
        Polygon([(LEFT + 206, y0 - 50), (LEFT + 342, y0 - 50), (LEFT + 336, y0 - 65), (LEFT + 212, y0 - 65)]),
    ]
    return [flap, *row, *dust, *lids, *tucks]


def carton_die() -> Die:
    panels = carton_panels()
    outline = unary_union([panel.buffer(0.01, join_style="mitre") for panel in panels]).buffer(
        -0.01, join_style="mitre"
    )
    edges = unary_union([LineString(panel.exterior.coords) for panel in panels])
    creases = edges.difference(outline.exterior.buffer(0.05))
    lines = MultiLineString([line for line in getattr(creases, "geoms", [creases]) if line.length > 1])
    areas = (
        Area("glue flap", panels[0], "assumed", "a narrow tapered end cell on one crease"),
        Area("code", box(LEFT + 160, BOTTOM + 268, LEFT + 198, BOTTOM + 292), "stated", "stated on the ticket"),
    )
    blank = Blank(1, outline, lines, tuple(panels), (), areas)
    scale = MultiLineString([[(LEFT, 5), (LEFT + 394, 5)], [(LEFT, 3), (LEFT, 7)], [(LEFT + 394, 3), (LEFT + 394, 7)]])
    return Die(
        "read",
        "cut and crease lines drawn in Cutting and Creasing, named in rules/names.yaml",
        (blank,),
        ("3 dimension lines ignored when reading the die", "4 gaps closed, the largest 0.6 mm"),
        left_out=scale,
        cut_lines=outline.exterior,
        crease_lines=lines,
        drawn_in={"cut": ("Cutting",), "crease": ("Creasing",)},
    )


class Sketch:
    """Plates of a page, painted in mm."""

    def __init__(self, names: tuple[str, ...], width_mm: float, height_mm: float, dpi: float = 100) -> None:
        self.scale = dpi / 25.4
        self.size = (round(width_mm * self.scale), round(height_mm * self.scale))
        self.height_mm = height_mm
        self.plates = {name: Image.new("L", self.size) for name in names}

    def shape(self, shape: Any, **tints: float) -> None:
        for part in getattr(shape, "geoms", [shape]):
            points = [(x * self.scale, (self.height_mm - y) * self.scale) for x, y, *_ in part.exterior.coords]
            for name, tint in tints.items():
                ImageDraw.Draw(self.plates[name.replace("_", " ")]).polygon(points, fill=round(tint * 255))

    def words(self, text: str, at: tuple[float, float], size_mm: float, **tints: float) -> None:
        xy = (at[0] * self.scale, (self.height_mm - at[1] - size_mm) * self.scale)
        for name, tint in tints.items():
            draw = ImageDraw.Draw(self.plates[name.replace("_", " ")])
            draw.text(xy, text, fill=round(tint * 255), font_size=size_mm * self.scale)

    def photo(self, box_mm: tuple[float, float, float, float]) -> None:
        x0, y0, x1, y1 = (round(v * self.scale) for v in box_mm)
        rows, columns = np.mgrid[0 : y1 - y0, 0 : x1 - x0] / float(x1 - x0)
        dice = np.random.default_rng(7)
        for name, seed in (("Cyan", 2.0), ("Magenta", 3.1), ("Yellow", 4.4), ("Black", 5.3)):
            wave = np.sin(seed * 5 * columns + 3 * np.cos(7 * rows + seed)) * np.cos(seed * 3 * rows)
            tone = np.clip((wave + 1) * (60 if name == "Black" else 110) + dice.normal(0, 5, wave.shape), 0, 255)
            height = self.plates[name].size[1]
            self.plates[name].paste(Image.fromarray(tone.astype(np.uint8)), (x0, height - y1))

    def done(self, dpi: float = 100) -> Plates:
        ink = np.stack([np.asarray(plate) for plate in self.plates.values()])
        return Plates(tuple(self.plates), ink, dpi, (0.0, 0.0, self.size[0] / self.scale, self.size[1] / self.scale))


def carton_plates() -> Plates:
    sketch = Sketch(("Cyan", "Magenta", "Yellow", "Black", "Mill Brown", "Copper Glow"), WIDTH, HEIGHT)
    panels = carton_panels()
    ground = unary_union(panels[1:]).buffer(3, join_style="mitre")
    short = box(LEFT + 10, BOTTOM + 320, LEFT + 160, BOTTOM + 326)  # nothing past the cut of the top tuck
    sketch.shape(ground.difference(short).difference(box(0, BOTTOM + 68, LEFT + 14, BOTTOM + 252)), Mill_Brown=1)
    for left in (LEFT + 24, LEFT + 214):
        sketch.shape(box(left, BOTTOM + 200, left + 120, BOTTOM + 240), Mill_Brown=0, Yellow=0.12)
        sketch.words("Wrenfold", (left + 8, BOTTOM + 212), 22, Copper_Glow=1)
        sketch.words("oat biscuits", (left + 10, BOTTOM + 203), 8, Black=1, Magenta=0.2)
        sketch.shape(box(left, BOTTOM + 85, left + 120, BOTTOM + 190), Mill_Brown=0)
        sketch.photo((left, BOTTOM + 85, left + 120, BOTTOM + 190))
    for left in (LEFT + 162, LEFT + 352):
        sketch.shape(box(left, BOTTOM + 90, left + 34, BOTTOM + 220), Mill_Brown=0)
        for line in range(24):
            sketch.words("oats wheat butter sugar salt", (left + 2, BOTTOM + 212 - 5 * line), 1.9, Black=1)
    for bar in range(30):
        sketch.shape(
            box(LEFT + 165 + bar, BOTTOM + 72, LEFT + 165.3 + bar + 0.4 * (bar % 3 == 0), BOTTOM + 86), Black=1
        )
    sketch.shape(box(LEFT + 160, BOTTOM + 268, LEFT + 198, BOTTOM + 292), Mill_Brown=0)
    return sketch.done()


class DrawnPage(Page):
    """A page whose plates were painted by the test; ``asked`` are the resolutions that somebody wanted."""

    painted: Plates | None
    asked: list[float]

    def plates(self, dpi: float = 100, without: frozenset[str] = frozenset()) -> Plates:
        self.asked.append(dpi)
        if self.painted is None:
            raise NotMeasured("the page is over a bound")
        return self.painted

    def window(self, *args: Any, **kwargs: Any) -> Plates:
        raise AssertionError("reports look at whole pages only")

    def altered(self, *args: Any, **kwargs: Any) -> Plates:
        raise AssertionError("reports look at pages as they are only")

    def close(self) -> None:
        pass


SEPARATIONS = [
    Separation("Cyan", "process", "a process ink"),
    Separation("Magenta", "process", "a process ink"),
    Separation("Yellow", "process", "a process ink"),
    Separation("Black", "process", "a process ink"),
    Separation("Mill Brown", "spot", "no kind is known by this name: a spot", looks_rgb=(150, 106, 60)),
    Separation("Copper Glow", "metallic", "named in rules/names.yaml (Copper)", looks_rgb=(176, 112, 74)),
    Separation("Wren Red", "spot", "no kind is known by this name: a spot"),
    Separation("Cutting", "cut", "named in rules/names.yaml (Cutting)"),
    Separation("Creasing", "crease", "named in rules/names.yaml (Creasing)"),
]


def drawn_page(
    number: int, width: float, height: float, separations: list[Separation], plates: Plates | None
) -> DrawnPage:
    objects: Any = None  # the reports never look at single objects
    page = DrawnPage(
        number=number,
        width_mm=width,
        height_mm=height,
        boxes=PageBoxes((0.0, 0.0, width, height)),
        rotate=0,
        user_unit=1.0,
        layers=[],
        separations=separations,
        objects=objects,
    )
    page.painted, page.asked = plates, []
    return page


def carton_job(number: int = 1) -> Job:
    plates = carton_plates()
    page = drawn_page(number, WIDTH, HEIGHT, SEPARATIONS, plates)
    artwork = Artwork(Path("in/wrenfold-oat.pdf"), "3f9a12c4" * 8, (), 1, [page], "1.6", "Wrenfold oat", "Sketchbook")
    return Job(
        artwork,
        page,
        carton_die(),
        Press.model_validate(PRESS),
        Ticket.model_validate(TICKET),
        artwork_is_known="stated",
        artwork_is_because="stated on the ticket",
        assumed=("the glue flap is the narrow end panel on the left, until the ticket says so",),
        measure_inks=covers_of,
    )


def covers_of(job: Job) -> list[InkOnJob]:
    """What each separation of the carton prints, by the mean of its plate inside the cut."""
    covers = [float(job.plates.tint(each.name)[job.inside_mask].mean()) / 255 for each in SEPARATIONS]
    return [
        InkOnJob(separation, cover > 0, cover, cover * job.inside_shape.area)
        for separation, cover in zip(SEPARATIONS, covers, strict=True)
    ]


def pictures_of(job: Job, of_pages: int = 1) -> PagePictures:
    """The pictures of a page by itself."""
    return draw_pictures(final_facts(job), job.page, of_pages=of_pages)


def finding(rule: str, verdict: Verdict = Verdict.FAIL, **changes: Any) -> Finding:
    """A finding with every word filled in."""
    words: dict[str, Any] = {
        "says": f"Something about {rule}.",
        "why": "It goes wrong on press.",
        "do": "Correct it.",
        "source": "common practice",
        "customer": "",
        "measured": (1.0, "mm"),
        "limit": (2.0, "mm"),
        "limit_words": "minimum 2 mm",
    }
    return Finding(rule, verdict, **{**words, **changes})


def carton_findings() -> tuple[Finding, ...]:
    grainy = [(LEFT + 24 + 30 * k, BOTTOM + 85 + 20 * k, LEFT + 44 + 30 * k, BOTTOM + 100 + 20 * k) for k in range(3)]
    corners = [(LEFT + 360 + 2.2 * (k % 12), BOTTOM + 100 + 9 * (k // 12)) for k in range(48)]
    tiny = [(x, y, x + 1, y + 1) for x, y in corners]
    return (
        finding(
            "image-coarse",
            Verdict.WARN,
            says="The picture has 182 ppi at print size; minimum 250 ppi.",
            why="Edges in the picture look soft or stepped on the carton.",
            do="Place the picture at its full resolution, or agree the softness with the customer.",
            customer="The photo on the front is coarse (182 ppi, we ask for 250). May we have a larger one?",
            measured=(182.0, "ppi"),
            limit=(250.0, "ppi"),
            limit_words="minimum 250 ppi",
            places=(Place((LEFT + 24, BOTTOM + 85, LEFT + 144, BOTTOM + 190), 1),),
        ),
        finding(
            "bleed-short",
            says="Ink has no bleed at the cut line; minimum 2 mm.",
            why="The die drifts by up to a millimetre, and bare board then shows as a white edge.",
            do="Extend the background past the cut line, or agree a white edge with the customer.",
            customer="The brown stops at the cut on the top tuck flap (0.0 mm; we need 3). A white edge will show. "
            "Please extend the brown 3 mm outwards.",
            measured=(0.0, "mm"),
            places=(
                Place((LEFT + 22, BOTTOM + 319, LEFT + 146, BOTTOM + 323), 1, "Mill Brown", "top edge of panel A"),
            ),
        ),
        finding(
            "metallic-out-of-place",
            says="Copper Glow (metallic) is on unit 3, between process inks (units 1, 2, 4) and overlaps them.",
            why="Metallic flakes lie like a mirror; ink over them does not key, ink under them shows through.",
            do="Put Copper Glow on unit 1 or behind the process inks.",
            measured=("unit 3 of 6", ""),
            limit=None,
            limit_words="before or after all process inks",
            units=(3,),
            places=(
                Place((LEFT + 32, BOTTOM + 212, LEFT + 130, BOTTOM + 236), 1, "Copper Glow"),
                Place((LEFT + 222, BOTTOM + 212, LEFT + 320, BOTTOM + 236), 1, "Copper Glow"),
            ),
        ),
        finding(
            "ink-total-over",
            says="Total ink coverage (TAC) 352 % over 3.1 cm²; maximum 340 %.",
            why="Ink stays wet in the pile and sets off on the back of the next sheet.",
            do="Limit the picture to 320 % when it is converted to CMYK.",
            customer="The shadow under the bowl carries more ink than the board can take (352 %; at most 340). "
            "Please convert the photo with a lower total, or let us do it.",
            measured=(352.0, "%"),
            limit=(340.0, "%"),
            limit_words="maximum 340 %",
            places=tuple(Place(b, 1) for b in grainy),
        ),
        finding(
            "text-too-small",
            Verdict.WARN,
            says="Text of 4.6 pt in four inks; minimum 8 pt.",
            why="A register error of a tenth of a millimetre leaves coloured edges and fills the letters.",
            do="Set the text in black only.",
            customer="The ingredients are 4.6 pt in four colours and hard to read. Please set them in black only.",
            measured=(4.6, "pt"),
            limit=(8.0, "pt"),
            limit_words="minimum 8 pt",
            places=tuple(Place(b, 1, "Black") for b in tiny),
            known="read",
        ),
        finding(
            "spot-without-ink",
            Verdict.WARN,
            says="Wren Red is named in the file and prints nothing inside the cut (legend only).",
            why="Somebody may plate it, or miss an ink that was meant.",
            do="Ask whether Wren Red was meant to print; if not, leave it out.",
            customer="The file names an ink 'Wren Red' that is used nowhere on the box. May we leave it out?",
            measured=("legend only", ""),
            limit=None,
            limit_words="some ink inside the cut",
            places=(Place((5.0, 2.0, 11.0, 8.0), 1, "Wren Red"),),
        ),
        finding(
            "varnish-on-glue-flap",
            Verdict.WARN,
            trial=True,
            known="assumed",
            says="Ink covers 6.0 mm of the glue flap.",
            why="Glue holds badly on ink and varnish; the flap opens.",
            do="Keep the flap bare from 2 mm behind the crease.",
            measured=(6.0, "mm"),
            limit=(0.5, "mm"),
            limit_words="maximum 0.5 mm",
            places=(Place((LEFT + 2, BOTTOM + 100, LEFT + 12, BOTTOM + 180), 1),),
        ),
    )


ONE_UPS_ONLY = "only for jobs whose artwork is one-up (job.artwork_is); here it is sheet"


def carton_judgement() -> Judgement:
    return Judgement(
        Verdict.FAIL,
        carton_findings(),
        (
            Waived(
                finding("image-coarse", Verdict.WARN, says="The crest is 1-bit at 600 ppi."),
                "old stock crest, agreed",
                "AB",
                "2030-01-31",
                "it names no place and would hide the next revision's fault",
            ),
        ),
        (
            NotChecked(
                "sheet-over-max",
                "the ticket does not give the sheet",
                "sheet: {size: …} in the ticket",
                Verdict.WARN,
                want_of="ticket",
            ),
            NotChecked(
                "sheet-under-min",
                "the ticket does not give the sheet",
                "sheet: {size: …} in the ticket",
                Verdict.WARN,
                want_of="ticket",
            ),
            NotChecked(
                "code-window-bare",
                "nobody says where the code is printed",
                "areas: [{is: code, box: …}] in the ticket",
                want_of="ticket",
            ),
            NotChecked("die-knocks-out", "the measure broke (ZeroDivisionError)", "", own_fault=True, want_of="tool"),
        ),
        (
            "caliper-out-of-range",
            "die-line-prints",
            "file-was-repaired",
            "font-not-embedded",
            "plates-over-units",
            "registration-colour-in-art",
            "spot-named-twice",
            "unit-kept-for-others",
            "varnish-not-last",
        ),
        ("trial rules are reported and do not change the verdict",),
        (
            NotAsked("trim-box-off-cut", "only for jobs whose artwork is one-up (job.artwork_is); here it is sheet"),
            NotAsked("die-line-missing", "only for jobs whose artwork is one-up (job.artwork_is); here it is sheet"),
            NotAsked("lamp-missing", "only for jobs that are coated (ticket.nothing_coated)"),
        ),
        (SwitchedOff("spot-at-zero", "this customer means it"),),
    )


def small_job(hostile: str = "") -> Job:
    """A card of 60 x 40 mm with one spot, whose name, title and file are the hostile words."""
    separation = Separation(hostile or "Leaf", "spot", hostile or "a spot")
    sketch = Sketch((separation.name,), 60, 40)
    ImageDraw.Draw(sketch.plates[separation.name]).rectangle((20, 20, 120, 90), fill=255)
    page = drawn_page(1, 60, 40, [separation], sketch.done())
    artwork = Artwork(Path(f"{hostile.replace('/', '-') or 'card'}.pdf"), "0" * 64, (), 1, [page], title=hostile)
    return Job(
        artwork,
        page,
        Die("none", "no cut line was found"),
        Press.model_validate(PRESS),
        None,
        measure_inks=lambda _job: [InkOnJob(separation, True, 0.2, 480)],
    )
