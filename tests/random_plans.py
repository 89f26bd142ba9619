"""Random small jobs and presses for the unit planner."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations

from preflight.inputs.press import Press
from preflight.setup.plan_request import CoatingToLay, OnPress, PlanRequest, PlateToPlace

NAMES = {
    "process": ["Cyan", "Magenta", "Yellow", "Black"],
    "spot": ["Fern", "Brick", "Slate"],
    "metallic": ["Copper", "Pewter"],
    "white": ["White"],
    "varnish": ["Gloss", "Matt"],
    "primer": ["Primer"],
}
SYSTEMS = ["uv", "uv", "uv", "led-uv", "oxidising", "hybrid", None]


def random_request(seed: int) -> PlanRequest:
    """A job; of five four are tame: one ink system that the press dries and a coater for the coating."""
    draw = random.Random(seed)
    tame = seed % 5 > 0
    plates = _plates(draw, tame)
    count = len(plates)
    units = draw.randint(max(2, count - 1), 5)
    names = sorted({plate.name for plate in plates})
    overlap = {pair: draw.choice([2.0, 40.0, 300.0]) for pair in combinations(names, 2) if draw.random() < 0.5}
    press = Press.model_validate(
        {"press": "Test press", "sheet": {"largest": "1000 x 700 mm"}, **_line(draw, units, tame)}
    )
    request = PlanRequest(
        plates,
        press,
        coating=_coating(draw, tame),
        ink_system="uv" if tame else draw.choice(SYSTEMS),
        wished=_wished(draw, plates, units),
        fixed=draw.random() < 0.3,
        overlap_mm2=overlap,
        before=_before(draw, units),
    )
    if draw.random() < 0.6:
        return request
    on_solids = draw.random() < 0.5
    board = tuple(replace(plate, on_solids=plate.kind == "white" and on_solids) for plate in plates)
    return replace(request, plates=board, surface="white")


def _plates(draw: random.Random, tame: bool) -> tuple[PlateToPlace, ...]:
    wanted = draw.choice([2, 3, 3, 4, 4, 4, 5] if draw.random() < 0.25 else [2, 3, 3, 4])
    plates: list[PlateToPlace] = []
    pool = [(kind, name) for kind, names in NAMES.items() for name in names]
    pool += [("white", "White"), ("metallic", "Copper")] if tame else []
    if draw.random() < 0.15:
        pool.append(("spot", "Cold foil"))
    back = draw.random() < 0.15
    while len(plates) < wanted:
        kind, name = pool.pop(draw.randrange(len(pool)))
        if any(plate.name == name for plate in plates):
            continue
        first = PlateToPlace(
            name,
            kind,
            cover=draw.choice([0.05, 0.2, 0.5, 0.8]),
            area_mm2=draw.choice([0.0, 500.0, 1000.0]),
            ink_system=draw.choice([None] * 6 + ["led-uv"]) if tame else draw.choice([None] * 8 + ["oxidising", "uv"]),
            effect=kind == "varnish" and draw.random() < 0.3,
            overall=kind == "varnish" and draw.random() < 0.3,
            side="back" if back and draw.random() < 0.4 else "front",
            printed_over=kind == "metallic" and draw.random() < 0.3,
            in_pictures=kind == "process" and draw.random() < 0.5,
            darkness=draw.choice([None, 0.2, 0.7]),
        )
        plates.append(first)
        if len(plates) < wanted and kind != "primer" and draw.random() < 0.2:
            plates.append(PlateToPlace(**{**vars(first), "hit": 2}))
    return tuple(plates)


def _line(draw: random.Random, units: int, tame: bool) -> dict[str, object]:
    line: list[dict[str, object]] = []
    turn = draw.randint(1, units) if draw.random() < 0.5 else 0
    foil = draw.randint(1, units) if draw.random() < 0.5 else 0
    lamps = draw.sample(range(1, units + 1), draw.choice([0, 1, 1, 2] if units < 5 else [0, 1]))
    for unit in range(1, units + 1):
        keys: dict[str, object] = {}
        if draw.random() < 0.12:
            keys["inks"] = draw.choice([["process", "spot"], ["varnish"], ["white", "process", "spot", "metallic"]])
        if draw.random() < 0.15:
            keys["never"] = [draw.choice(["metallic", "white", "varnish"])]
        line.append({"unit": keys})
        line += [{"turn": {}}] if unit == turn else []
        line += [{"foil": {}}] if unit == foil else []
        line += [{"lamp": draw.choice(["uv", "uv", "led-uv"])}] if unit in lamps else []
        if draw.random() < 0.04:
            line.append({"coater": {}})
    for _ in range(draw.choice([0, 1, 1, 2])):
        takes = draw.choice([["uv", "water-based", "primer"], ["uv"], ["water-based"], ["primer"]])
        coater: dict[str, object] = {"takes": takes} if draw.random() < 0.8 else {}
        if draw.random() < 0.6:
            coater["lays"] = draw.choice([["overall"], ["overall", "cut blanket"], ["plate"]])
        line.append({"coater": coater})
    if tame:
        line.append({"coater": {"takes": ["uv", "water-based"], "lays": ["overall", "plate"]}})
    found: dict[str, object] = {"line": line}
    if tame:
        return {**found, "cures": ["uv"]}
    cures = draw.choice([None, ["uv"], ["uv", "led-uv"], ["oxidising"], ["uv", "oxidising", "hybrid"]])
    return found if cures is None else {**found, "cures": cures}


def _coating(draw: random.Random, tame: bool) -> CoatingToLay | None:
    if draw.random() < 0.4:
        return None
    if draw.random() < 0.2:
        return CoatingToLay("uv", "plate", "Spot coat")
    return CoatingToLay("uv" if tame else draw.choice(["uv", "uv", "water-based", None]))


def _wished(draw: random.Random, plates: tuple[PlateToPlace, ...], units: int) -> tuple[str | None, ...] | None:
    if draw.random() < 0.6:
        return None
    names: list[str | None] = [plate.name for plate in plates]
    names += [None] * max(0, units - len(names))
    if draw.random() < 0.5:
        draw.shuffle(names)
    return tuple(names)


def _before(draw: random.Random, units: int) -> OnPress | None:
    if draw.random() < 0.4:
        return None
    inks = ["Cyan", "Magenta", "Copper", "White", "Moss", None, None]
    kinds = {"Cyan": "process", "Magenta": "process", "Copper": "metallic", "White": "white", "Moss": "spot"}
    on = tuple(draw.choice(inks) for _ in range(units))
    return OnPress(on, kinds, {"Moss": 0.6}, ink_system=draw.choice([None, "uv", "led-uv", "oxidising"]))
