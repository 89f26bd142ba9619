"""Ink on one spot, averaged over 1 mm, on at least 1 cm2."""

import re

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.measures.profile_ink_limit import profile_limit_percent
from tests.drawn import Drawing
from tests.house import Case, blank_page, judged, prove, with_die
from tests.profiles import cmyk_profile

ONE_UP = {"artwork_is": "one-up"}
BUILDS = {
    300: (0.7, 0.65, 0.65, 1.0),
    330: (0.8, 0.75, 0.75, 1.0),
    345: (0.85, 0.8, 0.8, 1.0),
    352: (0.9, 0.81, 0.81, 1.0),
}


def patch(total: int, rect: tuple[float, float, float, float] = (40, 80, 60, 100)) -> Drawing:
    return blank_page().fill(BUILDS[total], rect=rect)


def checked(total: int, pitch_mm: float) -> Drawing:
    """Squares of a heavy build with as much bare board between: half as much ink on average."""
    page = blank_page()
    for i in range(40):
        for j in range(40):
            if (i + j) % 2:
                x, y = 40 + i * pitch_mm, 80 + j * pitch_mm
                page.fill(BUILDS[total], rect=(x, y, x + pitch_mm, y + pitch_mm))
    return page


def overprinted(page: Drawing, ink: str, tint: float) -> Drawing:
    page.gs(OP=True, op=True)
    page.fill(ink, tint, rect=(35, 75, 65, 105))
    return page.gs(OP=False, op=False)


def two_halves() -> Drawing:
    """Two places of 0.8 cm2 that hang together by a strip under the limit."""
    page = patch(345, (30, 80, 39, 89))
    page.fill(BUILDS[345], rect=(60, 80, 69, 89))
    return page.fill(BUILDS[300], rect=(39, 83, 60, 86))


def with_profile(page: Drawing, profile: bytes) -> Drawing:
    """The page in a file that names a printing condition and holds its profile."""
    stream = page.pdf.make_stream(profile)
    stream.N = 4
    intent = Dictionary(
        Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier="Plant 7", DestOutputProfile=stream
    )
    page.pdf.Root.OutputIntents = Array([page.pdf.make_indirect(intent)])
    return page


def case(name, expect, draw, **more):
    return Case("ink-total-over", name, expect, lambda: with_die(draw()), **{"ticket": ONE_UP, **more})


CASES = [
    case("352 % on 4 cm2", "fail", lambda: patch(352), near=(40, 80, 60, 100), measured=352),
    case("330 % on 4 cm2", "warn", lambda: patch(330), near=(40, 80, 60, 100), measured=330),
    case("300 % on 4 cm2", "pass", lambda: patch(300)),
    case("a speck of 2 mm2 at 345 %", "pass", lambda: patch(345, (40, 80, 41.4, 81.4))),
    case("0.8 cm2 at 345 %", "pass", lambda: patch(345, (40, 80, 49, 89))),
    case("1.4 cm2 at 345 %", "fail", lambda: patch(345, (40, 80, 52, 92))),
    case("twice 0.8 cm2, joined by less ink", "pass", two_halves),
    case("a fine pattern averages out", "pass", lambda: checked(352, 0.25)),
    case("varnish is not counted", "pass", lambda: overprinted(patch(300), "Gloss Varnish", 1.0)),
    case("a spot is counted", "warn", lambda: overprinted(patch(300), "Mill Brown", 0.25), measured=325),
    case("beside the carton", "pass", lambda: patch(352, (120, 0, 160, 9))),
    case("white is counted", "warn", lambda: overprinted(patch(300), "Opaque White", 0.25), measured=325),
    case("white from two units counts twice", "fail",
         lambda: overprinted(patch(300), "Opaque White", 0.25), measured=350,
         ticket={**ONE_UP, "units": ["Opaque White", "Opaque White", "Black", "Cyan", "Magenta", "Yellow"]}),
    case("a metallic is counted", "fail", lambda: overprinted(patch(300), "Copper", 1.0), measured=400),
    case("330 % and a profile of 320 %", "fail", lambda: with_profile(patch(330), cmyk_profile(320)),
         case="output profile", measured=330),
    case("300 % and a profile of 280 %", "fail", lambda: with_profile(patch(300), cmyk_profile(280)),
         case="output profile", measured=300),
    case("300 % and a profile of 300 %", "pass", lambda: with_profile(patch(300), cmyk_profile(300))),
    case("330 % and a profile of 360 %", "warn", lambda: with_profile(patch(330), cmyk_profile(360)), measured=330),
    case("a spot over it is not the profile's matter", "warn",
         lambda: with_profile(overprinted(patch(300), "Mill Brown", 0.25), cmyk_profile(310)), case="", measured=325),
    case("a damaged profile says nothing", "warn", lambda: with_profile(patch(330), b"no profile at all")),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_ink_total(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize(
    ("profile", "limit"),
    [
        (cmyk_profile(300), 300),
        (cmyk_profile(330), 330),
        (cmyk_profile(397), 397),
        (cmyk_profile(398.4), None),
        (cmyk_profile(400), None),
        (cmyk_profile(0), None),
        (cmyk_profile(300, kind=b"mntr"), None),
        (cmyk_profile(300, space=b"RGB "), None),
        (cmyk_profile(300)[:400], None),
        (b"", None),
    ],
    ids=[
        "300",
        "330",
        "just a limit",
        "just none",
        "no limit",
        "no ink",
        "no printer",
        "no CMYK",
        "cut short",
        "empty",
    ],
)
def test_limit_of_a_profile(profile, limit):
    found = profile_limit_percent(profile)
    assert found == limit


def ring(page: Drawing | None = None) -> Drawing:
    """A heavy frame 12 mm wide round plain yellow: most of its box is not heavy."""
    page = (page or blank_page()).fill(BUILDS[352], rect=(30, 60, 84, 140))
    return page.fill((0, 0, 0.3, 0), rect=(42, 72, 72, 128))


def stepped() -> Drawing:
    """A heavy core in a less heavy place that is over the limit too."""
    return patch(345, (30, 70, 70, 110)).fill((0.95, 0.95, 0.9, 1.0), rect=(40, 80, 60, 100))


def told(draw, tmp_path):
    (finding,) = judged(case("told", "fail", draw), tmp_path).findings
    (listed,) = re.findall(r"\(([^()]* %)\)", finding.says)  # "(TAC)" is in brackets too
    inks = {name: int(tint) for name, tint in re.findall(r"(\w+) (\d+) %", listed)}
    areas = [float(area) for area in re.findall(r"([\d.]+) cm²", finding.says)]
    return finding, inks, areas


@pytest.mark.parametrize(
    ("draw", "inks", "areas"),
    [
        (ring, {"Cyan": 90, "Magenta": 81, "Yellow": 81, "Black": 100}, (25.0, 27.0)),
        (stepped, {"Cyan": 95, "Magenta": 95, "Yellow": 90, "Black": 100}, (15.4, 16.2)),
        (lambda: turned(stepped()), {"Cyan": 95, "Magenta": 95, "Yellow": 90, "Black": 100}, (15.4, 16.2)),
        (lambda: overprinted(patch(300), "Copper", 1.0),
         {"Copper": 100, "Cyan": 70, "Magenta": 65, "Yellow": 65, "Black": 100}, (3.6, 4.2)),
    ],
    ids=["a frame", "a core", "a core on a page that is turned", "a metallic"],
)  # fmt: skip
def test_the_inks_add_up_and_the_area_is_that_over_the_limit(draw, inks, areas, tmp_path):
    finding, found, (spot, over) = told(draw, tmp_path)
    assert sum(found.values()) == round(finding.measured[0])
    assert set(found) == set(inks)
    assert all(abs(found[name] - inks[name]) <= 1 for name in inks), found
    assert areas[0] <= over <= areas[1]
    assert spot <= over


def turned(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 90
    return page
