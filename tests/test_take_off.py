"""The model of what takes ink off along a lane, and the swaps and turns that are tried, held against worked figures."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
import shapely

from preflight.setup.ink_keys.covers import key_covers
from preflight.setup.ink_keys.lanes import LaneBook, differences
from preflight.setup.ink_keys.sheet_tints import CELL_MM, sheet_tints
from preflight.setup.ink_keys.strips import Strips
from preflight.setup.ink_keys.take_off import GhostModel, depletion, ghosts, longest_solid
from tests.key_sheets import keys, plates, sheet

KEYS = keys(31, 33)
MODEL = GhostModel(recovers_mm=150, depth_mm=16, width_mm=30)


def same(name: str) -> str:
    return name


def tints_of(made):
    return sheet_tints(made, Strips.of(made, KEYS), same, ())


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_tints_of_the_sheet_are_the_drawn_ones(turn):
    page = plates(200, 150, [("Cyan", 0.8, (10, 20, 110, 121))])
    made = sheet([(page, (300, 100), turn)])
    found = tints_of(made).by_ink["Cyan"]
    assert found.shape == (350, 510)
    assert found.sum() * CELL_MM**2 == pytest.approx(0.8 * 100 * 101, rel=1e-3)
    boxes = {0: (310, 120), 90: (329, 110), 180: (390, 129), 270: (320, 190)}
    x, y = boxes[turn]
    width, height = (100, 101) if turn in (0, 180) else (101, 100)
    inside = found[math.ceil(y / 2) : (y + height) // 2, math.ceil(x / 2) : (x + width) // 2]
    assert inside.min() == pytest.approx(0.8, abs=2e-3)
    assert found[: y // 2].max() == 0


def test_depletion_follows_the_integral():
    """A solid of 90 mm behind 30 mm of bare board: 1 - exp(-90 / 150) where it ends, and a third of that 150 mm on."""
    lane = np.zeros((200, 1))
    lane[15:60] = 1.0
    found = depletion(lane, 150)[:, 0]
    assert found[:16].max() == 0
    assert found[60] == pytest.approx(1 - math.exp(-90 / 150))
    assert found[60 + 75] == pytest.approx((1 - math.exp(-90 / 150)) / math.e)


def test_a_gap_of_known_length_gives_a_known_ghost():
    """40 mm knocked out of a solid that began 100 mm in front of it; the solid goes on behind."""
    tints = np.zeros((200, 100))
    tints[10:130, 10:90] = 1.0
    tints[60:80, 45:55] = 0.0
    worst = max(ghosts(tints, MODEL), key=lambda ghost: ghost.depletion)
    assert worst.depletion == pytest.approx(1 - math.exp(-40 / 150))
    assert worst.y_mm == 160
    assert 90 <= worst.x_mm <= 110


def test_a_narrow_or_short_solid_shows_none():
    tints = np.zeros((200, 100))
    tints[10:130, 10:24] = 1.0
    tints[60:80, 15:18] = 0.0
    assert list(ghosts(tints, MODEL)) == []
    tints[10:130, 10:90] = 1.0
    tints[60:80, 45:55] = 0.0
    tints[86:] = 0.0
    assert max((ghost.depletion for ghost in ghosts(tints, MODEL) if ghost.y_mm >= 160), default=0) == 0


def test_a_solid_that_runs_to_the_tail():
    lane = np.array([0.1] * 20 + [0.9] * 300 + [0.0] * 30)
    solid = longest_solid(lane)
    assert solid is not None
    assert (solid.length_mm, solid.to_tail_mm) == (600, 60)
    assert longest_solid(lane * 0.5) is None


# Swaps and turns ---------------------------------------------------------------------------------------------------


def book(made):
    return LaneBook(made, Strips.of(made, KEYS), same)


def test_wants_are_means_over_the_blanks_part_of_the_strip():
    """Strip 4 is x 97.5 to 130.5: half of it is in the ground, which is half of the blank's length."""
    page = plates(200, 150, [("Cyan", 0.6, (0, 0, 114, 75))])
    lanes = book(sheet([(page, (0, 100), 0)])).lanes
    assert lanes.wants[0, 0, 2] == pytest.approx(0.3, abs=1e-3)
    assert lanes.wants[0, 0, 3] == pytest.approx(0.6 * 0.5 * 16.5 / 33, abs=1e-3)
    assert np.isnan(lanes.wants[0, 0, 8:]).all()


def test_what_is_promised_of_a_change_comes_true():
    """Each change that is found is made by hand, and the lanes of the new sheet are measured afresh."""
    made, tried = np.random.default_rng(5), list[str]()
    for _ in range(6):
        pages = [
            plates(
                150,
                100,
                [("Cyan", float(t), (75 * k, 0, 75 * k + 75, 100)) for k, t in enumerate(made.uniform(0, 1, 2))],
                dpi=25.4,
            )
            for _ in range(3)
        ]
        places = [
            ((20 + 160 * column, 20 + 110 * row), 180 * ((row + column) % 2)) for row in range(3) for column in range(2)
        ]
        laid = [(pages[n % 3], at, turn) for n, (at, turn) in enumerate(places)]
        names = [f"V{n % 3}" for n in range(6)]
        before = sheet(laid, versions=names)
        change = book(before).better("difference", 0.01)
        if change is None:
            continue
        assert differences(book(before).lanes, 0.01).max() == pytest.approx(change.before)
        tried.append(change.what)
        at = [number - 1 for number in change.blanks]
        if change.what == "swap":
            laid[at[0]], laid[at[1]] = (laid[at[1]][0], *laid[at[0]][1:]), (laid[at[0]][0], *laid[at[1]][1:])
        else:
            for n in at:
                laid[n] = (laid[n][0], laid[n][1], (laid[n][2] + 180) % 360)
        after = sheet(laid, versions=names)
        assert differences(book(after).lanes, 0.01).max() == pytest.approx(change.after, abs=1e-3)
    assert {"swap", "turn"} <= set(tried)


def test_the_heaviest_lane_is_made_lighter_by_a_turn():
    """Three blanks with their solid at the left: turned in the middle, the lane loses a third of it."""
    page = plates(264, 200, [("Cyan", 1.0, (0, 0, 66, 200))])
    made = sheet([(page, (97.5, 20 + 210 * row), 0) for row in range(3)])
    covers = key_covers(made, KEYS)
    change = book(made).better("most", 0.0, covers)
    assert change is not None
    assert change.what == "turn"
    assert len(change.blanks) == 1
    assert (change.before, change.after) == pytest.approx((600 / 700, 400 / 700), abs=2e-3)


def test_a_blank_that_would_meet_its_neighbour_is_not_turned():
    """L-shaped blanks that mesh: neither can be turned where it lies."""
    corner = shapely.Polygon([(0, 0), (200, 0), (200, 50), (60, 50), (60, 150), (0, 150)])
    page = plates(200, 150, [("Cyan", 1.0, (0, 0, 60, 150)), ("Cyan", 0.1, (60, 0, 200, 50))], dpi=25.4)
    meshed = sheet([(page, (100, 100), 0), (page, (165, 155), 180)], outline=corner)
    assert meshed.blanks[0].outline.intersection(meshed.blanks[1].outline).area == 0
    assert book(meshed).better("difference", 0.01) is None


def test_a_sheet_of_24_is_looked_at_fast():
    """Two of the inks are solids with a knock-out, so that ghosts are looked for on every blank."""
    drawn = [
        [(ink, 0.1 + 0.1 * version, (5, 5, 150, 90)) for ink in ("Cyan", "Magenta", "Yellow", "Black")]
        + [
            (ink, tint, box)
            for ink in ("Moss", "Rose")
            for tint, box in ((1.0, (5, 5, 150, 90)), (0, (60, 30, 90, 50)))
        ]
        for version in range(3)
    ]
    pages = [plates(160, 110, each, dpi=100) for each in drawn]
    places = [(10 + 165 * column, 5 + 115 * row) for column in range(6) for row in range(4)]
    made = sheet(
        [(pages[n % 3], at, 180 * (n % 2)) for n, at in enumerate(places)], versions=[f"V{n % 3}" for n in range(24)]
    )
    begun = time.process_time()
    lanes = book(made)
    lanes.better("difference", 0.01)
    lanes.better("most", 0.0, key_covers(made, KEYS))
    found = {ink: list(ghosts(tint, MODEL)) for ink, tint in tints_of(made).by_ink.items()}
    assert {ink for ink, each in found.items() if each} == {"Moss", "Rose"}
    assert time.process_time() - begun < 3.0
