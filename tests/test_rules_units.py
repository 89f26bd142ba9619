"""The unit plan: plates and units, kept units, order, coater, drying."""

import pytest

from preflight.errors import InvalidInput
from preflight.inputs.ink_names import needs_adhesive
from preflight.measures.one_ink import groups_to_ask_about, names_to_merge, one_ink_groups
from tests.drawn import Drawing
from tests.house import PROCESS, Case, blank_page, judged, printed, prove, units, with_die

ONE_UP = {"artwork_is": "one-up"}
CMYK = ("Cyan", "Magenta", "Yellow", "Black")
ANY = {"unit": {"inks": "any"}}
COATER = {"coater": {"takes": ["uv"], "lays": ["overall", "plate"]}}
ORDER = ["Copper", "Black", "Cyan", "Magenta", "Yellow", "Gloss Varnish"]


def ticket(*order, **more):
    return {**ONE_UP, "units": list(order), **more}


def over_each_other(*inks: str, shared_mm: float) -> Drawing:
    """Two inks side by side that share a strip, both kept on their plates."""
    page = blank_page()
    page.gs(OP=True, op=True, OPM=1)
    for number, ink in enumerate(inks):
        x = 28 + number * (20 - shared_mm)
        page.fill(PROCESS.get(ink, ink), rect=(x, 60, x + 20, 80))
    page.gs(OP=False, op=False)
    return page


def metallic_job(shared_mm: float) -> Drawing:
    """Copper and cyan share a strip; the other process inks stand apart."""
    page = over_each_other("Copper", "Cyan", shared_mm=shared_mm)
    page.fill((0, 1, 0, 0), rect=(28, 90, 40, 100))
    page.fill((0, 0, 1, 0), rect=(45, 90, 55, 100))
    return with_die(page.fill((0, 0, 0, 1), rect=(60, 90, 70, 100)))


def white_job(shared_mm: float) -> Drawing:
    return with_die(over_each_other("Opaque White", "Cyan", shared_mm=shared_mm))


def white_lettering(top: str = "Opaque White") -> Drawing:
    """A solid of navy that keeps its plate below white lettering, or above it."""
    page = blank_page().gs(OP=True, op=True, OPM=1)
    for ink in ("Navy", "Opaque White") if top == "Opaque White" else ("Opaque White", "Navy"):
        page.fill(ink, rect=(30, 60, 70, 90) if ink == "Navy" else (40, 70, 60, 75))
    page.gs(OP=False, op=False)
    return with_die(page.fill("Navy", rect=(30, 95, 50, 100)))


WHITE_BOARD = {"board": {"surface": "white"}}


def legend_only(ink: str) -> Drawing:
    """Five inks on the carton, and one in a legend beside it."""
    page = printed(*CMYK, "Mill Brown")
    return page.fill(ink, rect=(120, 4, 130, 8))


SHEET = {"artwork_is": "sheet", "gripper_edge": "bottom"}


def marks_only(*inks: str) -> Drawing:
    """A sheet of 450 x 320 mm without a die, a patch of each ink and a registration mark on it."""
    page = Drawing(450, 320)
    for number, ink in enumerate(inks):
        page.fill(PROCESS.get(ink, ink), rect=(20 + 30 * number, 100, 40 + 30 * number, 120))
    page.spot("Moss Grey")
    return page.fill("All", rect=(2, 150, 8, 151))


def case(rule, name, expect, draw, **more):
    more.setdefault("ticket", ONE_UP)
    return Case(rule, name, expect, draw, **more)


PLATES = [
    case("plates-over-units", "seven inks on six units", "fail",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green", "Sky Tint"), case="does not fit", measured=7),
    case("plates-over-units", "six inks on six units", "pass", lambda: printed(*CMYK, "Mill Brown", "Moss Green")),
    case("plates-over-units", "a seventh name in the legend only", "pass",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green").fill("Sky Tint", rect=(120, 4, 130, 8))),
    case("plates-over-units", "a double hit is two plates", "fail", lambda: printed(*CMYK, "Mill Brown", "Moss Green"),
         ticket=ticket(*CMYK, "Mill Brown", "Moss Green", "Moss Green"), measured=7),
    case("plates-over-units", "an overall varnish is a plate", "fail",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green"),
         ticket=ticket(*CMYK, "Mill Brown", "Moss Green", {"overall": "Gloss Varnish"}),
         press=units(*[ANY] * 6), measured=7),
    case("plates-over-units", "fits when the varnish goes to a free coater", "warn",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green", "Gloss Varnish"), case="varnish to the coater", measured=7),
    case("plates-over-units", "the coater is taken by the coating", "fail",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green", "Gloss Varnish"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "overall"}}),
    case("plates-over-units", "two coaters, one of them free", "warn",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green", "Gloss Varnish"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "overall"}}, press=units(*[ANY] * 6, COATER, COATER),
         case="varnish to the coater"),
    case("plates-over-units", "the coating's own separation needs no unit", "pass",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green", "Gloss Varnish"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "Gloss Varnish"}}),
    case("plates-over-units", "fits when two names are merged", "warn",
         lambda: printed(*CMYK, "Mill Brown", "MILL BROWN C", "Moss Green"), case="names merged"),
    case("plates-over-units", "merged by the ticket", "pass",
         lambda: printed(*CMYK, "Mill Brown", "MILL BROWN C", "Moss Green"),
         ticket={**ONE_UP, "separations": {"MILL BROWN C": {"same_as": "Mill Brown"}}}),
    case("plates-over-units", "fits only after both", "warn",
         lambda: printed(*CMYK, "Mill Brown", "MILL BROWN C", "Moss Green", "Gloss Varnish"),
         case="varnish to the coater and names merged", measured=8),
    case("plates-over-units", "fits when process black by another name is merged", "warn",
         lambda: printed(*CMYK, "Schwarz", "Mill Brown", "Moss Green"), case="names merged", measured=7),
    case("plates-over-units", "process black by another name, merged by the ticket", "pass",
         lambda: printed(*CMYK, "Schwarz", "Mill Brown", "Moss Green"),
         ticket={**ONE_UP, "separations": {"Schwarz": {"same_as": "Black"}}}),
    case("plates-over-units", "a sheet without a die: all that prints is counted", "warn",
         lambda: marks_only("Sky Tint", *CMYK, "Mill Brown", "Moss Green"), ticket=SHEET, measured=7),
    case("plates-over-units", "a sheet without a die: even all that prints fits", "pass",
         lambda: marks_only(*CMYK, "Mill Brown", "Moss Green"), ticket=SHEET),
    case("plates-over-units", "no press", "not checked", lambda: printed("Cyan"), press=None),
]  # fmt: skip

LISTED = [
    case("unit-list-mismatch", "an ink without a unit", "fail", lambda: printed(*CMYK, "Mill Brown"),
         ticket=ticket(*CMYK), case="no unit"),
    case("unit-list-mismatch", "all have one", "pass", lambda: printed(*CMYK, "Mill Brown"),
         ticket=ticket(*CMYK, None, "Mill Brown")),
    case("unit-list-mismatch", "spelt with other capitals", "pass", lambda: printed(*CMYK, "Mill Brown"),
         ticket=ticket(*CMYK, "MILL brown")),
    case("unit-list-mismatch", "a unit that the press does not have", "fail", lambda: printed(*CMYK),
         ticket=ticket(*CMYK, None, None, "Cyan"), case="over the press", measured=7),
    case("unit-list-mismatch", "idle units beyond the press", "pass", lambda: printed(*CMYK),
         ticket=ticket(*CMYK, None, None, None)),
    case("unit-list-mismatch", "not in the file", "warn", lambda: printed(*CMYK), ticket=ticket(*CMYK, "Mill Brown"),
         case="not in the file"),
    case("unit-list-mismatch", "in the legend only", "warn", lambda: legend_only("Moss Green"),
         ticket=ticket(*CMYK, "Mill Brown", "Moss Green"), case="prints nothing"),
    case("unit-list-mismatch", "the die, which is in the file and has no plate", "warn",
         lambda: with_die(printed(*CMYK)), ticket=ticket(*CMYK, "Cutting"), case="prints nothing"),
    case("unit-list-mismatch", "overall is never in the file", "pass", lambda: printed(*CMYK),
         ticket=ticket(*CMYK, {"overall": "Gloss Varnish"})),
    case("unit-list-mismatch", "overall, and in the file", "fail", lambda: printed(*CMYK, "Gloss Varnish"),
         ticket=ticket(*CMYK, {"overall": "Gloss Varnish"}), case="overall only"),
    case("unit-list-mismatch", "process inks by their letters", "pass", lambda: printed(*CMYK, "Mill Brown"),
         ticket=ticket("K", "c", "M", "Y", "Mill Brown")),
    case("unit-list-mismatch", "a separation by the name of a letter", "fail", lambda: printed("Black", "K"),
         ticket=ticket("K"), case="no unit"),
    case("unit-list-mismatch", "the same as a name that nobody has", "pass", lambda: printed("Black", "Mill Brown"),
         ticket=ticket("Black", "Mill Brown", separations={"Mill Brown": {"same_as": "Mill Braun"}})),
    case("unit-list-mismatch", "the coating's separation needs none", "pass", lambda: printed(*CMYK, "Gloss Varnish"),
         ticket=ticket(*CMYK, coating={"kind": "uv", "area": "Gloss Varnish"})),
    case("unit-list-mismatch", "merged names share a unit", "pass",
         lambda: printed("Black", "Mill Brown", "MILL BROWN C"),
         ticket=ticket("Black", "Mill Brown", separations={"MILL BROWN C": {"same_as": "Mill Brown"}})),
    case("unit-list-mismatch", "merged with process black, which the file does not have", "pass",
         lambda: printed("Cyan", "Schwarz"), ticket=ticket("K", "C", separations={"Schwarz": {"same_as": "Black"}})),
    case("unit-list-mismatch", "no unit list", "not checked", lambda: printed(*CMYK)),
    case("unit-kept-for-others", "metallic on a unit that never takes it", "fail", lambda: printed("Copper", "Black"),
         ticket=ticket("Copper", "Black"), press=units({"unit": {"inks": "any", "never": ["metallic"]}}, ANY)),
    case("unit-kept-for-others", "the next unit takes it", "pass", lambda: printed("Copper", "Black"),
         ticket=ticket("Black", "Copper"), press=units({"unit": {"inks": "any", "never": ["metallic"]}}, ANY)),
    case("unit-kept-for-others", "merged with process black, on a unit for process inks", "pass",
         lambda: printed("Schwarz"), ticket=ticket("Black", separations={"Schwarz": {"same_as": "Black"}}),
         press=units({"unit": {"inks": ["process"]}})),
    case("unit-kept-for-others", "an ink on the varnish unit", "fail", lambda: printed("Black"),
         ticket=ticket(None, "Black"), press=units(ANY, {"unit": {"inks": ["varnish"]}})),
    case("unit-kept-for-others", "varnish on the varnish unit", "pass", lambda: printed("Black", "Gloss Varnish"),
         ticket=ticket("Black", "Gloss Varnish"), press=units(ANY, {"unit": {"inks": ["varnish"]}})),
]  # fmt: skip

ORDERS = [
    case("metallic-out-of-place", "between process inks and over cyan", "fail", lambda: metallic_job(8),
         ticket=ticket("Black", "Cyan", "Copper", "Magenta", "Yellow"), near=(40, 60, 48, 80)),
    case("metallic-out-of-place", "between process inks, 0.4 mm of trap", "warn", lambda: metallic_job(0.4),
         ticket=ticket("Black", "Cyan", "Copper", "Magenta", "Yellow"), case="apart"),
    case("metallic-out-of-place", "between process inks, 0.7 mm over each other", "fail", lambda: metallic_job(0.7),
         ticket=ticket("Black", "Cyan", "Copper", "Magenta", "Yellow")),
    # common practice: metallic, black, cyan, magenta, yellow, overprint varnish is a valid order on six units
    case("metallic-out-of-place", "first of all", "pass", lambda: metallic_job(8), ticket=ticket(*ORDER)),
    case("metallic-out-of-place", "behind the process inks", "pass", lambda: metallic_job(8),
         ticket=ticket("Black", "Cyan", "Magenta", "Yellow", "Copper")),
    case("white-out-of-place", "white over cyan", "fail", lambda: white_job(8), ticket=ticket("Cyan", "Opaque White"),
         case="over ink", near=(40, 60, 48, 80)),
    case("white-out-of-place", "white beside cyan", "pass", lambda: white_job(0.4),
         ticket=ticket("Cyan", "Opaque White", board={"surface": "white"})),
    case("white-out-of-place", "white first", "pass", lambda: white_job(8), ticket=ticket("Opaque White", "Cyan")),
    case("white-out-of-place", "not first on metallised board", "fail", lambda: white_job(0),
         ticket=ticket("Cyan", "Opaque White", board={"surface": "metallised"}), case="board not white"),
    case("white-out-of-place", "first on metallised board, twice", "pass", lambda: white_job(8),
         ticket=ticket("Opaque White", "Opaque White", "Cyan", board={"surface": "metallised"})),
    case("white-out-of-place", "over cyan on metallised board", "fail", lambda: white_job(8),
         ticket=ticket("Cyan", "Opaque White", board={"surface": "metallised"}), case="board not white",
         near=(40, 60, 48, 80)),
    case("white-out-of-place", "second of two, and nobody knows the board", "not checked", lambda: white_job(0),
         ticket=ticket("Cyan", "Opaque White")),
    # common practice: opaque white on a solid is weak, and legitimate
    case("white-out-of-place", "white lettering on a solid, white board", "warn", white_lettering,
         ticket=ticket("Navy", "Opaque White", **WHITE_BOARD), case="on a solid", near=(40, 70, 60, 75)),
    case("white-out-of-place", "the ticket fixes it so", "warn", lambda: white_lettering("Navy"),
         ticket=ticket("Navy", "Opaque White", units_fixed=True, **WHITE_BOARD), case="on a solid"),
    case("white-out-of-place", "the solid is drawn on top of the white", "fail", lambda: white_lettering("Navy"),
         ticket=ticket("Navy", "Opaque White", **WHITE_BOARD), case="over ink"),
    case("white-out-of-place", "white lettering on a solid, metallised board", "fail", white_lettering,
         ticket=ticket("Navy", "Opaque White", board={"surface": "metallised"}), case="board not white"),
    case("white-out-of-place", "white lettering knocked out of a solid", "pass", lambda: white_job(0),
         ticket=ticket("Cyan", "Opaque White", **WHITE_BOARD)),
    case("varnish-laid-twice", "on a unit and in the coater", "warn", lambda: printed("Black", "Gloss Varnish"),
         ticket=ticket("Black", "gloss varnish", coating={"kind": "uv", "area": "Gloss Varnish"}), measured=1),
    case("varnish-laid-twice", "in the coater", "pass", lambda: printed("Black", "Gloss Varnish"),
         ticket=ticket("Black", coating={"kind": "uv", "area": "Gloss Varnish"})),
    case("varnish-laid-twice", "a varnish under an overall coating", "pass", lambda: printed("Black", "Gloss Varnish"),
         ticket=ticket("Black", "Gloss Varnish", coating={"kind": "uv", "area": "overall"})),
    case("varnish-not-last", "before the last ink", "fail", lambda: printed("Black", "Mill Brown", "Gloss Varnish"),
         ticket=ticket("Black", "Gloss Varnish", "Mill Brown"), measured=1),
    case("varnish-not-last", "last", "pass", lambda: printed("Black", "Mill Brown", "Gloss Varnish"),
         ticket=ticket("Black", "Mill Brown", "Gloss Varnish")),
    case("varnish-not-last", "an overall varnish before an ink", "fail", lambda: printed("Black", "Mill Brown"),
         ticket=ticket("Black", {"overall": "Gloss Varnish"}, "Mill Brown")),
    case("varnish-not-last", "a primer first", "pass", lambda: printed("Black", "Mill Brown"),
         ticket=ticket({"overall": "Primer"}, "Black", "Mill Brown", separations={"Primer": "primer"})),
    case("varnish-not-last", "metallic first, an overall coating after the varnish", "pass",
         lambda: printed("Copper", *CMYK, "Gloss Varnish"),
         ticket=ticket(*ORDER, coating={"kind": "uv", "area": "overall"})),
]  # fmt: skip

MACHINE = [
    case("coater-cannot-lay", "a kind that it does not take", "fail", lambda: printed("Black"),
         ticket={**ONE_UP, "coating": {"kind": "oil-based", "area": "overall"}}, measured=0),
    case("coater-cannot-lay", "a kind that it takes", "pass", lambda: printed("Black"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "overall"}}),
    case("coater-cannot-lay", "no coater", "fail", lambda: printed("Black"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "overall"}}, press=units(*[ANY] * 6), case="no coater"),
    case("coater-cannot-lay", "a pattern, and it lays overall only", "fail", lambda: printed("Black", "Gloss Varnish"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "Gloss Varnish"}},
         press=units(*[ANY] * 6, {"coater": {"takes": ["uv"], "lays": ["overall"]}})),
    case("plates-over-units", "the free coater takes it and cannot lay it", "fail",
         lambda: printed(*CMYK, "Mill Brown", "Moss Green", "Gloss Varnish"),
         press=units(*[ANY] * 6, {"coater": {"takes": ["uv"], "lays": ["overall"]}}), measured=7),
    case("coater-cannot-lay", "it takes another kind and lays overall", "fail", lambda: printed("Black"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "overall"}},
         press=units(*[ANY] * 6, {"coater": {"takes": ["water-based"], "lays": ["overall"]}})),
    case("coater-cannot-lay", "a pattern from a cut blanket", "pass", lambda: printed("Black", "Gloss Varnish"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "Gloss Varnish"}},
         press=units(*[ANY] * 6, {"coater": {"takes": ["uv"], "lays": ["cut blanket"]}})),
    case("coater-cannot-lay", "nothing is coated", "pass", lambda: printed("Black"),
         ticket={**ONE_UP, "coating": "none"},
         press=units(*[ANY] * 6)),
    case("coater-cannot-lay", "the ticket does not say", "not checked", lambda: printed("Black")),
    case("ink-system-not-dried", "oxidising inks on a uv press", "fail", lambda: printed("Black"),
         ticket={**ONE_UP, "ink_system": "oxidising"}),
    case("ink-system-not-dried", "led-uv inks under mercury lamps", "pass", lambda: printed("Black"),
         ticket={**ONE_UP, "ink_system": "led-uv"}),
    case("ink-system-not-dried", "uv inks under led lamps", "fail", lambda: printed("Black"),
         ticket={**ONE_UP, "ink_system": "uv"}, press=units(cures=["led-uv"])),
    case("ink-system-not-dried", "uv inks on a uv press", "pass", lambda: printed("Black"),
         ticket={**ONE_UP, "ink_system": "uv"}),
    case("ink-system-not-dried", "the press does not say", "not checked", lambda: printed("Black"),
         ticket={**ONE_UP, "ink_system": "uv"}, press=units(cures=None)),
    case("ink-system-not-dried", "the ticket does not say", "not checked", lambda: printed("Black")),
]  # fmt: skip

CASES = [*PLATES, *LISTED, *ORDERS, *MACHINE]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_units(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize(
    ("name", "adhesive"), [("Cold Foil", True), ("Kaltfolie Silber", True), ("Hot Foil", False), ("Coldfoil 2", True)]
)
def test_foils_that_need_an_adhesive_plate(name, adhesive):
    assert needs_adhesive(name) == adhesive


@pytest.mark.parametrize(
    "text",
    [
        "one_ink: {suffixes: [c]}\nadhesive: []\n",
        "one_ink: {suffixes: [c], library_words: [], libraries: {a: b}, library_suffixes: {}}\nadhesive: []\n",
        "one_ink: {suffixes: [c], library_words: [], libraries: {a: [b]}, library_suffixes: {x: [k]}}\nadhesive: []\n",
        "- suffixes\n",
    ],
    ids=["a key is missing", "no list", "a library that is not there", "no keys"],
)
def test_a_wrong_table_of_inks_is_refused(text, tmp_path, monkeypatch):
    (tmp_path / "inks.yaml").write_text(text)
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))
    with pytest.raises(InvalidInput):
        one_ink_groups(["Cyan", "Black"])


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Forest 9K2 C", "FOREST 9K2C", True),
        ("Mill Brown", "MILL BROWN C", True),
        ("Mill Brown", "mill-brown", True),
        ("Mill Brown", "MillBrown", True),
        ("Leaf 77041 C", "Leaf 77041 U", True),
        ("Leafbook 77041 C", "77041 CV", True),
        ("Spot Mill Brown", "Mill Brown coated", True),
        ("Process Cyan", "Cyan", True),
        ("PANTONE 77041 CVC", "PMS 77041", True),
        ("HKS 13 K", "HKS 13 N", True),
        ("HKS 5 K", "HKS 5 N", True),
        ("Reflex Blue", "PANTONE Reflex Blue C", True),
        ("Cyan", "PANTONE Process Cyan C", True),
        ("PANTONE Red 032 C", "PANTONE Red 032 C 50%", True),
        ("Blue", "Reflex Blue", False),
        ("Yellow", "PANTONE Yellow C", False),
        ("HKS 77041 K", "PANTONE 77041 C", False),
        ("HKS 5 K", "5", False),
        ("PANTONE 77041 K", "PANTONE 77041", False),
        ("PANTONE 485 C", "PANTONE 485 2X C", False),
        ("Leaf 77041", "Leaf 77042", False),
        ("Leaf 77041", "Leaf 7704", False),
        ("White 1", "White 2", False),
        ("White", "White 2", False),
        ("Leaf 77041", "Moss 77041", False),
        ("Brown", "Mill Brown", False),
        ("Varnish Matt", "Varnish Gloss", False),
        ("Shade 1 1", "Shade 11", False),
    ],
)
def test_names_are_read_as_a_person_reads_them(one, other, same):
    assert one_ink_groups(["Black", one, other]) == ([(one, other)] if same else [])
    assert groups_to_ask_about(["Black", one, other]) == ([(one, other)] if same else [])


@pytest.mark.parametrize(
    ("one", "other", "asked"),
    [
        ("Altgold 8", "Altgold 8 metallic", True),
        ("Altgold 8", "ALTGOLD 8 neu C", True),
        ("Gruen", "Grün", True),
        ("Grün", "Grun", True),
        ("Bleu foncé", "BLEU FONCE", True),
        ("Rot", "Rot (2)", True),
        ("Rot neu", "Rot alt", True),
        ("Mill Brown new", "Mill Brown final", True),
        ("Mill Brown", "Mill_Brown_v2", True),
        ("Warm Red", "Warm Red copy 2", True),
        ("PANTONE 77041 C", "PANTONE 77041 C (2)", True),
        ("Rouge", "Rouge nouveau", True),
        ("Rojo", "Rojo nuevo", True),
        ("Rosso", "Rosso nuovo", True),
        ("Azul", "Azul novo", True),
        ("Rood", "Rood nieuw", True),
        ("Zielony", "Zielony nowy", True),
        ("Blue 286", "Blue 287", False),
        ("Silver", "Silver Grey", False),
        ("Blue", "Blue metallic", False),
        ("Gold", "Altgold", False),
        ("Rot 2", "Rot", False),
        ("Rot 2", "Rot 3", False),
        ("Nova", "Bossa Nova", False),
        ("Gruen", "Grun", False),
        ("New", "Final", False),
    ],
)
def test_names_that_differ_in_an_issue_or_in_spelling_are_asked_about_and_never_merged(one, other, asked):
    assert groups_to_ask_about(["Black", one, other]) == ([(one, other)] if asked else [])
    assert one_ink_groups(["Black", one, other]) == []
    assert names_to_merge(["Black", one, other]) == []


@pytest.mark.parametrize("units", [("Cyan", "Opaque White"), ("Cyan", "Opaque White", "Opaque White")], ids=["1", "2"])
@pytest.mark.parametrize("surface", ["metallised", "grey", "white"])
def test_white_behind_the_inks_is_one_fault(units, surface, tmp_path):
    board = {"surface": surface}
    judgement = judged(
        case("white-out-of-place", "one", "fail", lambda: white_job(8), ticket=ticket(*units, board=board)), tmp_path
    )
    (finding,) = judgement.findings
    assert finding.places
    assert finding.units == tuple(range(2, len(units) + 1))
