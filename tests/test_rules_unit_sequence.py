"""The order of the units: ink systems, lamps, chain, wash-ups, second hits and two passes."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.setup.plan_request import OnPress
from preflight.setup.press_plan import BrokenJoint, OnCoater, OnUnit, Pass, PressPlan, WayOut
from tests.drawn import Drawing
from tests.house import PROCESS, SIX_UNITS, Case, blank_page, judged, printed, prove, units, with_die

ONE_UP = {"artwork_is": "one-up"}
CMYK = ("Cyan", "Magenta", "Yellow", "Black")
ANY = {"unit": {"inks": "any"}}
LAMP = {"lamp": "uv"}
AFTER_TWO = units(ANY, ANY, LAMP, ANY, ANY, ANY, ANY, {"delivery": ["uv"]})
"""Six units, a lamp behind the second."""


def case(rule, name, expect, draw, **more):
    more.setdefault("ticket", ONE_UP)
    return Case(rule, name, expect, draw, **more)


def order(*names, **more):
    return {**ONE_UP, "units": list(names), **more}


def one_pass(*names):
    """What the planner would answer: these inks on unit 1, 2 …"""
    return PressPlan(True, True, (Pass(tuple(OnUnit(n, name, "spot") for n, name in enumerate(names, 1))),))


def mixed(name, expect, *, names=("Cyan", "Rose"), rose="oxidising", ink_system="uv", **more):
    notes = {
        "Rose": {"ink_system": rose},
        "Effect Matt": {"kind": "varnish", "effect": True, "ink_system": "oxidising"},
    }
    told = {"separations": notes, **({"ink_system": ink_system} if ink_system else {})}
    return case("ink-systems-mixed", name, expect, lambda: printed("Cyan", "Rose", "Effect Matt"),
                ticket=order(*names, **told), **more)  # fmt: skip


SYSTEMS = [
    mixed("an oxidising spot beside UV process inks", "fail", measured=2),
    mixed("a LED-UV spot beside UV", "pass", rose="led-uv"),
    mixed("a hybrid spot beside UV", "pass", rose="hybrid"),
    mixed("an oxidising effect varnish on UV inks", "pass", names=("Cyan", "Effect Matt"), rose="uv"),
    mixed("the spot is not in this pass", "pass", names=("Cyan",)),
    case("ink-systems-mixed", "the ticket says of no ink", "not checked", lambda: printed("Cyan"),
         ticket=order("Cyan")),
    case("ink-systems-mixed", "by the tool's plan, where the ticket has no list", "fail",
         lambda: printed("Cyan", "Rose"), plan=one_pass("Cyan", "Rose"),
         ticket={**ONE_UP, "ink_system": "uv", "separations": {"Rose": {"ink_system": "oxidising"}}}),
    case("ink-systems-mixed", "no list and no plan in one pass", "not checked", lambda: printed("Cyan"),
         ticket={**ONE_UP, "ink_system": "uv"}, plan=PressPlan(False, True)),
]  # fmt: skip


def pictured(*extra: str) -> Drawing:
    """A picture in magenta and yellow, squares of other inks beside it."""
    samples = np.zeros((40, 40, 4), np.uint8)
    samples[..., 1] = np.linspace(0, 255, 40)[None, :]
    samples[..., 2] = np.linspace(0, 255, 40)[:, None]
    return printed("Cyan", *extra).image(samples.tobytes(), 40, 40, (30, 115, 40, 125))


def same(name, ink):
    return {**ONE_UP, "separations": {name: {"same_as": ink}}}


SHARED = [
    case("spot-shares-picture-plate", "a spot on the magenta of a picture", "warn", lambda: pictured("Rose"),
         ticket=same("Rose", "Magenta")),
    case("spot-shares-picture-plate", "a process ink of a picture on a spot", "warn", lambda: pictured("Rose"),
         ticket=same("Magenta", "Rose")),
    case("spot-shares-picture-plate", "a spot on cyan, which no picture prints in", "pass", lambda: pictured("Rose"),
         ticket=same("Rose", "Cyan")),
    case("spot-shares-picture-plate", "magenta by another name", "pass", lambda: pictured("Process Magenta"),
         ticket=same("Process Magenta", "Magenta")),
    case("spot-shares-picture-plate", "two spots on one plate", "pass", lambda: pictured("Rose", "ROSE C"),
         ticket=same("ROSE C", "Rose")),
    case("spot-shares-picture-plate", "no ticket", "not checked", lambda: pictured("Rose"), ticket={}),
]  # fmt: skip


def chain(name, expect, *names, **more):
    return case("process-chain-broken", name, expect, lambda: printed(*CMYK, "Rose"), ticket=order(*names), **more)


CHAIN = [
    chain("yellow first", "warn", "Yellow", "Cyan", "Magenta", "Black"),
    chain("black in the middle", "warn", "Cyan", "Black", "Magenta", "Yellow", case="black between"),
    chain("black first", "pass", "Black", "Cyan", "Magenta", "Yellow"),
    chain("black last, a spot between", "pass", "Cyan", "Magenta", "Rose", "Yellow", "Black"),
    chain("cyan and black only", "pass", "Black", "Cyan"),
    chain("a double hit of black", "pass", "Black", "Cyan", "Magenta", "Yellow", "Black"),
    case("process-chain-broken", "an order of the tool's own", "pass", lambda: printed(*CMYK)),
]  # fmt: skip


def solid(name, size=90.0, lower=55.0):
    """A ground that covers most of the blank's panels, and cyan on a part of it; both are kept on their plates."""
    page = blank_page().gs(OP=True, op=True, OPM=1)
    page.fill(name, rect=(10, 10, 205, lower + size))
    page.fill(PROCESS["Cyan"], rect=(30, 60, 50, 80)).fill("Moss", rect=(60, 60, 70, 80))
    return with_die(page.gs(OP=False, op=False))


UV = {"ink_system": "uv"}


def lamp(name, expect, draw, *names, press=AFTER_TWO, **more):
    told = {**UV, **more.pop("told", {})}
    return case("lamp-missing", name, expect, draw, ticket=order(*names, **told), press=press, **more)


def white():
    return printed("Opaque White", "Cyan")


EFFECT = {"separations": {"Effect Matt": {"kind": "varnish", "effect": True}}}
LAMPS = [
    lamp("white, then cyan with no lamp", "warn", white, "Opaque White", "Cyan", case="white", measured=0),
    lamp("white, a lamp, then cyan", "pass", white, None, "Opaque White", "Cyan"),
    lamp("two whites, a lamp, then cyan", "pass", white, "Opaque White", "Opaque White", "Cyan"),
    lamp("white last", "pass", white, "Cyan", "Opaque White"),
    lamp("oxidising white", "pass", white, "Opaque White", "Cyan", told={"ink_system": "oxidising"}),
    lamp("no lamps between any units", "warn", white, "Opaque White", "Cyan", press=SIX_UNITS,
         case="no lamps between units"),
    lamp("a heavy solid, then cyan", "warn", lambda: solid("Rose"), "Rose", "Cyan", "Moss"),
    lamp("a heavy solid, a lamp, then cyan", "pass", lambda: solid("Rose"), None, "Rose", "Cyan", "Moss"),
    lamp("a light ink, then cyan", "pass", lambda: printed("Rose", "Cyan"), "Rose", "Cyan"),
    lamp("cyan, then an effect varnish", "warn", lambda: printed("Cyan", "Effect Matt"), "Cyan", "Effect Matt",
         told=EFFECT, case="before effect varnish"),
    lamp("cyan, a lamp, then an effect varnish", "pass", lambda: printed("Cyan", "Effect Matt"), None, "Cyan",
         "Effect Matt", told=EFFECT),
    lamp("cyan, then a plain varnish", "pass", lambda: printed("Cyan", "Effect Matt"), "Cyan", "Effect Matt"),
    case("lamp-missing", "nobody says how the inks dry", "not checked", white, ticket=order("Opaque White", "Cyan")),
]  # fmt: skip


def heavy(name, expect, draw, *names, press=SIX_UNITS, **more):
    return case("heavy-before-light", name, expect, draw, ticket=order(*names), press=press, **more)


HEAVY = [
    heavy("a heavy spot before cyan and moss on it", "warn", lambda: solid("Rose"), "Rose", "Cyan", "Moss", measured=2),
    heavy("the heavy spot last", "pass", lambda: solid("Rose"), "Cyan", "Moss", "Rose"),
    heavy("a lamp between", "pass", lambda: solid("Rose"), None, "Rose", "Cyan", "Moss", press=AFTER_TWO),
    heavy("light inks", "pass", lambda: printed("Rose", "Cyan"), "Rose", "Cyan"),
    heavy("process inks keep their chain", "pass", lambda: solid((0, 1, 0, 0)), "Magenta", "Cyan"),
    case("heavy-before-light", "an order of the tool's own", "pass", lambda: solid("Rose")),
]  # fmt: skip


def washed(name, expect, before, *names, ink_system=None, **more):
    told = {"ink_system": ink_system} if ink_system else {}
    return case("wash-up-awkward", name, expect, lambda: printed("Yellow", "Black"), before=before,
                ticket=order(*names, **told), **more)  # fmt: skip


DARK = OnPress(("Navy", None), {"Navy": "spot"}, {"Navy": 0.9})
WASHES = [
    washed("yellow after navy", "warn", DARK, "Yellow", "Black", case="light after dark", measured=1),
    washed("black after navy", "pass", DARK, "Black", "Yellow"),
    washed("the unit stays idle", "pass", DARK, None, "Yellow", "Black"),
    washed("yellow after yellow", "pass", OnPress(("YELLOW",), {}, {"YELLOW": 0.9}), "Yellow", "Black"),
    washed("after a metallic", "warn", OnPress(("Copper",), {"Copper": "metallic"}), "Black", case="after metallic"),
    washed("after white", "warn", OnPress(("Opaque White",), {"Opaque White": "white"}), "Black", case="after white"),
    washed("UV after oxidising", "warn", OnPress(("Navy",), ink_system="oxidising"), "Black", ink_system="uv",
           case="other ink system"),
    washed("UV after LED-UV", "pass", OnPress(("Navy",), ink_system="led-uv"), "Black", ink_system="uv"),
    washed("nobody knows what is on the press", "not checked", None, "Yellow", "Black"),
]  # fmt: skip


def hits(shift=0.0, *, tint=1.0, name="Opaque White 2", size=20.0) -> Drawing:
    """White, and beside it what its name calls a second hit."""
    page = blank_page().gs(OP=True, op=True, OPM=1)
    page.fill("Opaque White", rect=(30, 60, 50, 80))
    page.fill(name, tint, rect=(30 + shift, 60, 30 + shift + size, 80))
    return with_die(page.gs(OP=False, op=False))


HITS = [
    case("second-hit-differs", "moved by 0.3 mm", "warn", lambda: hits(0.3), measured=0.3),
    case("second-hit-differs", "a larger shape", "warn", lambda: hits(size=24), case="other shape"),
    case("second-hit-differs", "the same", "pass", hits),
    case("second-hit-differs", "the same at a tint", "pass", lambda: hits(tint=0.5)),
    case("second-hit-differs", "another ink, 5 mm on", "pass", lambda: hits(5, name="Opaque White Lettering")),
    case("second-hit-differs", "numbers that are shades", "pass", lambda: hits(5, name="Opaque White 21")),
]  # fmt: skip

SEVEN = (*CMYK, "Rose", "Moss", "Sky")


def parted(distance_mm, **more):
    broken = (BrokenJoint(("Cyan", "Rose"), distance_mm),) if distance_mm is not None else ()
    way = WayOut("two-passes", ("Rose",), "", passes=(("Rose",), ("Cyan",)), breaks=broken)
    return PressPlan(False, True, ways_out=(way,), **more)


def coated(first, last):
    passes = (Pass((OnUnit(1, "Cyan", "process"), OnCoater(1, 1, first))), Pass((OnCoater(1, 1, last),)))
    return PressPlan(False, True, passes)


PASSES = [
    case("joint-across-passes", "inks that touch are parted", "warn", lambda: printed(*SEVEN), plan=parted(0.0),
         case="touching"),
    case("joint-across-passes", "0.3 mm", "warn", lambda: printed(*SEVEN), plan=parted(0.3), measured=0.3, case=""),
    case("joint-across-passes", "0.5 mm", "pass", lambda: printed(*SEVEN), plan=parted(0.5)),
    case("joint-across-passes", "nothing is near anything", "pass", lambda: printed(*SEVEN), plan=parted(None)),
    case("joint-across-passes", "one pass will do", "pass", lambda: printed(*CMYK), plan=parted(0.0)),
    case("joint-across-passes", "no press", "not checked", lambda: printed(*SEVEN), press=None),
    case("coated-before-last-pass", "coated in the first pass", "fail", lambda: printed(*SEVEN),
         plan=coated("uv", None)),
    case("coated-before-last-pass", "coated in the last pass", "pass", lambda: printed(*SEVEN),
         plan=coated(None, "uv")),
    case("coated-before-last-pass", "one pass will do", "pass", lambda: printed(*CMYK), plan=coated("uv", None)),
    case("coated-before-last-pass", "no press", "not checked", lambda: printed(*SEVEN), press=None),
]  # fmt: skip

CASES = [*SYSTEMS, *SHARED, *CHAIN, *LAMPS, *HEAVY, *WASHES, *HITS, *PASSES]


@pytest.mark.parametrize("each", CASES, ids=str)
def test_case(each, tmp_path):
    prove(each, tmp_path)


@pytest.mark.parametrize("listed", [True, False], ids=["the ticket's list", "the tool's plan"])
@pytest.mark.parametrize(
    ("rule", "names"),
    [
        ("lamp-missing", ("Opaque White", "Cyan")),
        ("process-chain-broken", ("Yellow", "Cyan", "Opaque White")),
        ("wash-up-awkward", ("Yellow", "Cyan", "Opaque White")),
        ("ink-systems-mixed", ("Yellow", "Cyan", "Opaque White")),
    ],
)
def test_a_rule_on_the_order_says_whose_order_it_judges(rule, names, listed, tmp_path):
    told = {"ink_system": "uv", "separations": {"Cyan": {"ink_system": "oxidising"}} if "mixed" in rule else {}}
    units_of_plan = tuple(OnUnit(n, name, KINDS.get(name, "process")) for n, name in enumerate(names, 1))
    plan = PressPlan(True, True, (Pass(units_of_plan),))
    each = case(rule, "whose order", "warn", lambda: printed("Yellow", "Cyan", "Opaque White"), before=DARK,
                press=AFTER_TWO, ticket=order(*names, **told) if listed else {**ONE_UP, **told}, plan=plan)  # fmt: skip
    (finding, *_) = judged(each, tmp_path).findings
    assert ("on the ticket" if listed else "in the plan") in finding.says
    assert ("in the plan" if listed else "on the ticket") not in finding.says


KINDS = {"Opaque White": "white"}


@pytest.mark.parametrize("distance_mm", [0.0, 0.04, 0.3])
def test_inks_that_touch_are_not_said_to_be_nothing_apart(distance_mm, tmp_path):
    each = case("joint-across-passes", "words", "warn", lambda: printed(*SEVEN), plan=parted(distance_mm))
    (finding,) = judged(each, tmp_path).findings
    assert ("touch" in finding.says) == (distance_mm < 0.05)
    assert "0.0 mm" not in finding.says
