"""Documents of ``preflight-setup/1`` and ``preflight-presses/1`` made by hand: every sort of job that a sheet shows."""

from __future__ import annotations

import copy
from typing import Any

Document = dict[str, Any]

DIGEST = "5f0c" * 16
MADE = {
    "when": "2026-11-30T14:05:00+00:00",
    "tool": "preflight 0.9.0",
    "rules": ["rules/bleed.yaml", "rules/units.yaml"],
    "rules_version": "3b1f9c20",
}


def reason(demand: str, says: str) -> Document:
    return {"demand": demand, "says": says}


def unit(number: int, separation: str | None = None, kind: str | None = None, **more: Any) -> Document:
    because = [reason("process-chain", "the plant's order of the process inks")] if kind == "process" else []
    return {
        "unit": number, "separation": separation, "kind": kind, "side": "front", "overall": False,
        "ink_system": None, "because": because, **more,
    }  # fmt: skip


def lamp(level: str, after: int, kind: str = "uv") -> Document:
    told = "dries the solids before the next ink" if level != "off" else "nothing here wants it"
    return {"lamp": kind, "after_unit": after, "level": level, "because": [reason("cure-between", told)]}


def coater(number: int, coating: str | None, lays: str | None, after: int, because: str = "") -> Document:
    why = [reason("coater-takes", because)] if because else []
    return {
        "coater": number, "after_unit": after, "coating": coating, "lays": lays, "separation": None, "because": why,
    }  # fmt: skip


def delivery(*holds: str, level: str = "full") -> Document:
    return {"delivery": list(holds), "level": [level] * len(holds), "because": []}


def step(name: str, minutes: float | None, start: float | None, **more: Any) -> Document:
    return {
        "step": name,
        "unit": None,
        "minutes": minutes,
        "hands": 1,
        "at_once_with": [],
        "start_minutes": start,
    } | more


SHOWN = {
    "White": "#ffffff",
    "Copper": "#b0713f",
    "Cyan": "#0f9ad6",
    "Magenta": "#d6127e",
    "Yellow": "#f4e417",
    "Black": "#1c1c1c",
}
AIMS = {
    "Black": {"density": 1.7, "lab": [16, 0, 0], "tolerance": 5},
    "Cyan": {"density": 1.4, "lab": [55, -37, -50], "tolerance": 5},
    "Magenta": {"density": 1.45, "lab": [48, 74, -3], "tolerance": 5},
    "Yellow": {"density": 1.35, "lab": [89, -5, 93], "tolerance": 5},
}


def inked(number: int, name: str, kind: str, cover: float | None, **more: Any) -> Document:
    told = {
        "cover": cover,
        "plate": f"K4711-{number}",
        "aims": AIMS.get(name),
        "shown_as": SHOWN.get(name, "#a0643c"),
    }
    return unit(number, name, kind, **(told | more))


def usual() -> Document:
    """Six units, five plates and a water-based coating; everything is told."""
    stations = [
        inked(1, "Black", "process", 0.083),
        inked(2, "Cyan", "process", 0.214),
        inked(3, "Magenta", "process", 0.187),
        inked(4, "Yellow", "process", 0.256),
        inked(5, "Mill Brown", "spot", 0.402, because=[reason("light-before-heavy", "the heaviest cover comes last")]),
        unit(6, idle="backed off"),
        coater(1, "water-based", "overall", 6, "the ticket has a water-based coating overall"),
        delivery("ir", "hot-air"),
    ]
    steps = [
        step("plate_change", 4, 0, hands=2, at_once_with=["wash_up", "blanket_wash"]),
        step("wash_up", 15, 0, unit=5, at_once_with=["plate_change"]),
        step("wash_up", 5, 0, unit=2, at_once_with=["plate_change"]),
        step("blanket_wash", 3, 0),
        step("ink_preset", 2, 15),
        step("make_ready", 12, 17, hands=2),
    ]
    return {
        "format": "preflight-setup/1",
        "verdict": "warn",
        "sentence": "Can print after queries are answered: 1 query.",
        "ticket": {"number": "4711", "revision": "B", "title": "Oat biscuits 200 g", "file": "ticket.yaml"},
        "press": {"name": "Six units and a coater, 1000 format", "file": "six-units.yaml", "operator_side": "left"},
        "made": MADE,
        "artwork": [{"file": "oat-biscuits.pdf", "sha256": DIGEST}],
        "run_it": True,
        "why_not": [],
        "sheet": {"mm": [1000, 700], "because": "stated on the ticket"},
        "board": {
            "grade": "GC2", "caliper_mm": 0.43, "weight_gsm": 270, "grain": "across", "surface": "white",
            "grain_on_blank": "across",
        },
        "settings": {"powder": "15 µm, low", "coat_weight_gsm": 5, "anilox": "13 cm³/m²"},
        "plan": {
            "possible": True, "proved_best": True, "passes": [{"stations": stations}],
            "wash_ups": [
                {"unit": 5, "from": "Mustard", "to": "Mill Brown", "minutes": 15, "because": "dark after light"},
                {"unit": 2, "from": "Leaf Green", "to": "Cyan", "minutes": 5, "because": "light to dark"},
            ],
            "conflict": [], "ways_out": [],
        },
        "changes": {"steps": steps, "minutes": 29},
        "layout": {"sheet_mm": [1000, 700], "ups": 4},
        "materials": {"ink_kg": {"Black": 1.1, "Cyan": 2.3, "Mill Brown": 5.8}, "coating_kg": 43, "board_kg": 2343.6},
        "run": {
            "sheets_net": 12000, "sheets_make_ready": 500, "sheets_running": 360, "sheets_gross": 12860,
            "hours": 1.3, "speed_sheets_h": 10000, "speed_because": "board of 0.43 mm at the press's usual speed",
            "feeder_piles": [{"sheets": 2674, "height_mm": 1150, "mass_kg": 530}] * 4
            + [{"sheets": 2164, "height_mm": 931, "mass_kg": 434}],
            "delivery_piles": [{"sheets": 1046, "height_mm": 450, "mass_kg": 223}] * 12,
            "next_operation_after_h": None,
            "pulls": [
                {"sheet": 20, "for": "register, lay, side", "why": "before the ink settles"},
                {"sheet": 500, "for": "colour against the aims", "why": "ink and water have settled"},
            ],
        },
        "watch": ["Unit 5: solids of 40 %; watch for picking.", "Heavy cover on one side of the sheet: keys 3 to 9."],
        "cautions": [
            "Inch only under hold-to-run; never reach into a nip. Machine manual and local rules come first.",
            "Piles of 530 kg: use lifting gear, stand clear.",
            "Pull sheets at the sampling device only.",
        ],
        "findings": [{"number": 1, "verdict": "warn", "rule": "wash-ups-many", "says": "Two units have to be washed."}],
        "not_checked": ["Hours until the next step: no entry in rules/drying.yaml for oxidising ink on coated board."],
        "assumed": ["The operator side is on the left: the profile does not say."],
    }  # fmt: skip


def with_stations(*passes: list[Document], **more: Any) -> Document:
    """The usual document with other stations, and other parts."""
    document = copy.deepcopy(usual())
    document["plan"]["passes"] = [{"stations": stations} for stations in passes]
    return document | more


def effect() -> Document:
    """Eight units: metallic, a double hit, an effect varnish under a UV coat; the operator stands on the right."""
    document = with_stations([
        inked(1, "Copper", "metallic", 0.31, because=[
            reason("metallic-by-overlap", "four inks print on it over 38 % of its area"),
            reason("metallic-first", "the plant's order"),
        ]),
        lamp("full", 1), inked(2, "Black", "process", 0.12), inked(3, "Cyan", "process", 0.2),
        inked(4, "Magenta", "process", 0.2), inked(5, "Yellow", "process", 0.2), lamp("low", 5),
        inked(6, "Cask Red", "spot", 0.52), inked(7, "Cask Red", "spot", 0.52, hit=2),
        lamp("off", 7),
        inked(8, "Effect Matt", "varnish", 0.44, effect=True, ink_system="oxidising", because=[
            reason("effect-before-coat", "nothing may print between it and the UV coat"),
        ]),
        coater(1, None, None, 8), coater(2, "uv", "overall", 8, "the ticket's coating"), delivery("uv", "uv", "uv"),
    ])  # fmt: skip
    document["press"] = {"name": "Eight UV units and two coaters, 1040 format", "operator_side": "right"}
    document["cautions"] = [
        "UV light: lamp covers shut, no direct or reflected view, skin covered.",
        "Mercury lamps make ozone: extraction on before the lamps.",
        "Uncured UV ink harms skin: gloves, wash off at once.",
        "Wash with solvent only after the lamps have cooled.",
        *document["cautions"],
    ]
    document["settings"] = {"powder": None, "coat_weight_gsm": None, "anilox": None}
    document["run"]["next_operation_after_h"] = 0
    document["run"]["next_operation_because"] = "after adhesion and cure tests, per makers' instructions"
    return document


def metallised() -> Document:
    """White twice on metallised board, no aims, hours not known."""
    document = with_stations([
        inked(1, "White", "white", 0.7, because=[reason("white-under", "carries all inks on metallised board")]),
        lamp("full", 1), inked(2, "White", "white", 0.7, hit=2), lamp("full", 2),
        inked(3, "Cyan", "process", 0.1, aims=None), inked(4, "Black", "process", 0.06, aims=None),
        inked(5, "Night Blue", "spot", 0.41, aims=None, plate=None), unit(6), unit(7), unit(8),
        lamp("full", 8), coater(1, "uv", "cut blanket", 8), delivery("uv", "uv"),
    ])  # fmt: skip
    document["board"] |= {"surface": "metallised", "grade": "GC1"}
    return document


def two_passes() -> Document:
    """White and solids first, the rest when they are dry; with the joint that this breaks."""
    document = with_stations(
        [inked(k + 1, name, kind, 0.4) for k, (name, kind) in enumerate((
            ("White", "white"), ("White", "white"), ("Dune", "spot"), ("Rose", "spot"), ("Sage", "spot"),
            ("Clay", "spot"),
        ))] + [coater(1, None, None, 6), delivery("ir")],
        [inked(k + 1, name, kind, 0.2) for k, (name, kind) in enumerate((
            ("Black", "process"), ("Cyan", "process"), ("Magenta", "process"), ("Yellow", "process"),
            ("Matt Varnish", "varnish"),
        ))] + [unit(6), coater(1, "water-based", "overall", 6), delivery("ir", "hot-air")],
    )  # fmt: skip
    document["plan"] |= {
        "possible": False,
        "conflict": [
            reason("one-unit-each", "Eleven plates on six units.") | {"separation": "Matt Varnish"},
        ],
        "ways_out": [
            {
                "change": "merge", "separations": ["Sage", "Sage C"], "saves_units": 1, "saves_pass": False,
                "says": "Print Sage and Sage C as one ink",
            },
            {
                "change": "two-passes", "separations": [], "saves_units": 0, "saves_pass": False,
                "passes": [["White", "Dune", "Rose", "Sage", "Clay"], ["Black", "Cyan", "Magenta", "Yellow"]],
                "breaks": [{"separations": ["Cyan", "Rose"], "distance_mm": 0.0}], "says": "Print in two passes",
            },
        ],
    }  # fmt: skip
    return document


def impossible() -> Document:
    """No order and no way to print it."""
    document = with_stations(verdict="fail", run_it=False, sentence="Cannot print as it is: 1 fault, 1 query.")
    document["plan"] |= {
        "possible": False, "wash_ups": [],
        "conflict": [
            {"demand": "varnish-last", "separation": "Matt Varnish", "says": "The varnish has to be behind all inks."},
            {"demand": "units-fixed", "separation": "Matt Varnish", "says": "The ticket fixes it on unit 2."},
        ],
        "ways_out": [{
            "change": "to-coater", "separations": ["Matt Varnish"], "saves_units": 1, "saves_pass": False,
            "says": "Lay the varnish with the coater",
        }],
    }  # fmt: skip
    document["changes"] = None
    document["run"] = None
    return document


def do_not_run() -> Document:
    """A plan that stands for artwork that does not."""
    return usual() | {
        "verdict": "fail",
        "run_it": False,
        "sentence": "Cannot print as it is: 2 faults.",
        "why_not": ["Bleed is 0.4 mm on panel C; the limit is 2 mm.", "Cyan is on no unit of the ticket."],
    }


LONG = (
    "Sonnenblumengelb für die Vorderseite, zweite Lieferung",
    "Ροδοδάφνη ανοιχτό", "Тёмно-синий металлик особый", "Żółć gęślą jaźń rozjaśniona",
    "玫瑰红", "Cool Moss of the very long hillside behind the mill, variant A",
    "Cool Moss of the very long hillside behind the mill, variant B", "Ungewöhnlichzusammengesetztesfarbenwort",
    "Black", "Cyan", "Magenta", "\u202eטורקיז",
)  # fmt: skip


def twelve() -> Document:
    """Twelve units, lamps between all pairs, long names in several scripts, long cautions."""
    kinds = ("spot", "spot", "metallic", "spot", "spot", "spot", "spot", "white", "process", "process", "process")
    stations: list[Document] = []
    for k, name in enumerate(LONG):
        stations.append(inked(k + 1, name, (*kinds, "varnish")[k], 0.1 + 0.05 * k, ink_system="low-energy-uv"))
        stations += [lamp("full" if k % 4 == 1 else "off", k + 1, "low-energy-uv")] if k % 2 else []
    document = with_stations(
        [*stations, coater(1, "water-based", "cut blanket", 12), coater(2, "uv", "overall", 12),
         delivery("low-energy-uv", "low-energy-uv", "ir", "hot-air")]
    )  # fmt: skip
    document["ticket"] = {"number": "2026-004711/17-extended", "revision": "AA.12", "title": " ".join(LONG[:3])}
    document["press"]["name"] = "Twelve units, two coaters, eleven lamps, 1640 format with a long name of its own"
    document["watch"] = [f"Unit {k}: {LONG[k - 1]} covers more than its neighbours; look at keys." for k in range(1, 9)]
    document["cautions"] = [
        *effect()["cautions"],
        "Food goods: no print or coat on the inner face; low-migration inks.",
    ]
    document["artwork"] = [
        {"file": f"{name[:12]}.pdf", "sha256": DIGEST, "side": "front", "version": name[:12]} for name in LONG[:4]
    ]
    return document


def everything_missing() -> Document:
    """No ticket, no press, nothing planned: only what a document has to have."""
    return {
        "format": "preflight-setup/1",
        "verdict": "warn",
        "ticket": None,
        "press": None,
        "run_it": True,
        "plan": {"possible": True, "proved_best": True, "passes": [{"stations": [
            {"unit": 1, "separation": "Cyan", "kind": None, "side": "front", "because": []},
            {"unit": 2, "separation": None, "kind": None, "side": "front", "because": []},
            {"delivery": [], "level": [], "because": []},
        ]}], "wash_ups": [], "conflict": [], "ways_out": []},
        "changes": None,
        "run": None,
        "cautions": [],
        "not_checked": [],
        "assumed": [],
    }  # fmt: skip


def mostly_idle() -> Document:
    """One ink on eight units, and a dryer between two coaters: a row of which one half has nothing but idle units."""
    idle = [unit(k, idle="backed off") for k in range(2, 9)]
    return with_stations([
        inked(1, "Opaque White", "white", 0.6, aims=None), *idle[:2], lamp("off", 3), *idle[2:4], lamp("off", 5),
        *idle[4:], lamp("off", 8), coater(1, None, None, 8), lamp("off", 8, "hot-air"), coater(2, None, None, 8),
        delivery("uv", "uv", "uv"),
    ])  # fmt: skip


FOUND = (
    ("glue-flap-inked", "Ink (Cyan, Rose) runs 5.0 mm past the crease onto the glue flap; maximum 3 mm."),
    ("die-knocks-out", "Cutting is set to knock out: 6.1 m is missing (2178 lines, the 12 longest of them shown)."),
    ("ink-total-over", "Total ink coverage (TAC) 390 % over 2.0 cm² (Rose 100 %, Magenta 73 %, Cyan 29 %)."),
    ("white-ink-knocked-out", "14 % of Opaque White is knocked out by the artwork above it (3403 mm²)."),
    ("white-ink-knocked-out", "14 % of Opaque White Second Hit is knocked out by the artwork above it (3403 mm²)."),
    ("unit-kept-for-others", "Opaque White Second Hit (white) is on unit 8, which is kept for varnish."),
    ("white-out-of-place", "The board is metallised, and Opaque White is on unit 7, after Rose, Cyan and Magenta."),
    ("white-out-of-place", "Opaque White Second Hit is on unit 8 and covers Rose and Cyan, printed before it."),
    ("font-not-embedded", "Quillmere-Plain is not embedded, and text inside the cut uses it (1 place)."),
    ("registration-in-art", "Registration colour prints inside the cut (1 place, 29 mm²)."),
)  # fmt: skip


def faulty() -> Document:
    """Ten faults, two of them alike; what is said of units means another list than the one that is shown."""
    return usual() | {
        "verdict": "fail", "run_it": False, "sentence": "Not ready for plates: 10 faults.",
        "why_not": [says for _, says in FOUND],
        "about_units": "What is said of units means the ticket's own list; the units shown are the tool's plan.",
        "findings": [{"number": k, "verdict": "fail", "rule": rule, "says": says}
                     for k, (rule, says) in enumerate(FOUND, 1)],
    }  # fmt: skip


def too_few_units() -> Document:
    """A fault, eight plates without a unit, and many queries, five of them alike."""
    inks = ("Cyan", "Magenta", "Yellow", "Black", "Rose", "Mint", "Gold", "Matt Varnish")
    document = impossible() | {
        "sentence": "Not ready for plates: 1 fault, 13 queries.",
        "queries": [
            *[f"{ink} is used as a tint ({10 + k} %, {100 + 30 * k} mm² or more), which is query number {k}."
              for k, ink in enumerate(inks)],
            *[f"In two passes {ink} and Gold are parted, and are 0.0 mm apart." for ink in inks[:5]],
        ],
        "run": {"sheets_net": 4000, "sheets_make_ready": None, "sheets_running": 140, "sheets_gross": None,
                "speed_sheets_h": 9600, "feeder_piles": [], "delivery_piles": []},
    }  # fmt: skip
    conflict = [reason("one-unit-each", f"{ink} needs a unit of its own.") | {"separation": ink} for ink in inks]
    document["plan"] |= {"conflict": conflict}
    return document | {"why_not": ["Rose is on unit 7; the press has 6.", *(entry["says"] for entry in conflict)]}


def ready_but_open() -> Document:
    """Nothing wrong was found, and much was not checked."""
    return usual() | {
        "verdict": "pass", "sentence": "Ready for plates.", "findings": [], "queries": [],
        "settings": {"powder": None, "coat_weight_gsm": None, "anilox": None},
        "check_first": ["Bar code: scan it. The ticket gives no number to read it against; the number read is:"],
        "not_checked": [
            "Wash-ups: nothing is known of the job before (--after).",
            "inks-unfit-for-goods: the ticket does not say goods: contact. Needed: give goods: contact in the ticket.",
            "grain-against-creases: the ticket does not say how the grain runs on the blank.",
        ],
    }  # fmt: skip


def with_queries() -> Document:
    """Two queries to settle, on a press of which all is known of how the sheet lies."""
    document = usual() | {
        "sentence": "Ready for plates once settled: 2 queries.",
        "queries": ["Copper is a metallic and meets UV (uv ink).", "There is no lamp between Copper and Effect Matt."],
    }
    document["press"] |= {"side_lay": "either", "gripper_mm": 12}
    return document


SETUPS = {
    "usual": usual, "effect": effect, "metallised": metallised, "two-passes": two_passes, "impossible": impossible,
    "do-not-run": do_not_run, "twelve": twelve, "mostly-idle": mostly_idle, "everything-missing": everything_missing,
    "faulty": faulty, "too-few-units": too_few_units, "ready-but-open": ready_but_open, "with-queries": with_queries,
}  # fmt: skip


def presses() -> Document:
    """Three presses, the best first."""
    return {
        "format": "preflight-presses/1",
        "ticket": {"number": "4711", "revision": "B", "title": "Oat biscuits 200 g", "file": "ticket.yaml"},
        "made": MADE,
        "artwork": [{"file": "oat-biscuits.pdf", "sha256": DIGEST}],
        "presses": [
            {
                "press": "Six units and a coater, 1000 format", "file": "six.yaml", "fits": True, "reasons": [],
                "passes": 1, "wash_ups": 2, "sheets": 12860, "used_share": 0.71, "hours": 1.8,
            },
            {
                "press": "Four units, 740 format", "file": "four.yaml", "fits": False, "passes": 2, "wash_ups": 3,
                "sheets": 25700, "used_share": 0.64, "hours": 6.25,
                "reasons": [{"rule": "plan-no-order", "says": "Five plates on four units."}],
            },
            {
                "press": "Eight UV units, 1040 format", "file": "eight.yaml", "fits": False, "passes": None,
                "wash_ups": None, "sheets": None, "used_share": None, "hours": None,
                "reasons": [
                    {"rule": "coating-on-no-coater", "says": "No coater of the press takes water-based coating."},
                    {"rule": "ink-system-not-cured", "says": "The press dries uv; the job has oxidising inks."},
                ],
            },
        ],
    }  # fmt: skip
