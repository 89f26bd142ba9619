"""Totals of ink averaged over squares, the level that a place keeps to, and what is told of it; plates made here."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.colours import Colours, Family
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.job import InkOnJob
from preflight.measures import ink_total as module
from preflight.measures.heavy_places import HeavyPlace, _adding_up, _at_level
from preflight.measures.ink_total import _averaged, _own_limit, _sustained, ink_total
from preflight.measures.raster import masks
from tests.profiles import cmyk_profile

DPI = 25.4
"""A pixel is 1 mm."""
X0, Y0 = 100.0, 50.0


def plates(**inks: np.ndarray) -> Plates:
    ink = np.stack([np.asarray(tints, np.uint8) for tints in inks.values()])
    height, width = ink.shape[1:]
    return Plates(tuple(inks), ink, DPI, (X0, Y0, X0 + width, Y0 + height))


def full(tint: float, shape: tuple[int, int] = (12, 16)) -> np.ndarray:
    return np.full(shape, tint)


ALL = np.ones((12, 16), bool)


# Averages ---------------------------------------------------------------------------------------------------------


def test_totals_count_each_ink_as_often_as_it_is_printed():
    total, cell_mm = _averaged(plates(Cyan=full(255), Moss=full(51)), {"Cyan": 1, "Moss": 2}, ALL, 4.0)
    assert cell_mm == 2.0
    assert total.shape == (6, 8)
    assert total == pytest.approx(np.full((6, 8), 140.0), abs=1e-3)


def test_a_square_is_averaged_over_its_cell_and_the_next_ones():
    """One solid pixel in the cell of row 2, column 5: a sixteenth of each of the four squares that hold it."""
    ink = np.zeros((12, 16))
    ink[5, 10] = 255
    total, _ = _averaged(plates(Cyan=ink), {"Cyan": 1}, ALL, 4.0)
    hit = np.zeros((6, 8))
    hit[1:3, 4:6] = 100 / 16
    assert total == pytest.approx(hit, abs=1e-3)


def test_the_last_cells_are_averaged_with_themselves():
    ink = np.zeros((12, 16))
    ink[10:12] = 255
    total, _ = _averaged(plates(Cyan=ink), {"Cyan": 1}, ALL, 4.0)
    assert total[:, 3] == pytest.approx([0, 0, 0, 0, 50, 100], abs=1e-3)
    assert total[5] == pytest.approx(np.full(8, 100.0), abs=1e-3)


@pytest.mark.parametrize(
    ("over_mm", "shape", "cell_mm"),
    [(4.0, (6, 8), 2.0), (6.0, (4, 5), 3.0), (5.0, (6, 8), 2.0), (1.0, (12, 16), 1.0), (0.2, (12, 16), 1.0)],
)
def test_cells_are_half_the_square_in_whole_pixels(over_mm, shape, cell_mm):
    total, side = _averaged(plates(Cyan=full(255)), {"Cyan": 1}, ALL, over_mm)
    assert (total.shape, side) == (shape, cell_mm)
    assert total == pytest.approx(np.full(shape, 100.0), abs=1e-3)


def test_squares_whose_middle_is_outside_the_cut_do_not_count():
    """The middle of the square of cell (r, c) is where its lower right pixel, row 2 r + 1, column 2 c + 1, ends."""
    inside = np.zeros((12, 16), bool)
    inside[5, 7] = True
    total, _ = _averaged(plates(Cyan=full(255)), {"Cyan": 1}, inside, 4.0)
    assert np.argwhere(total > 0).tolist() == [[2, 3]]


def test_it_makes_no_difference_how_many_rows_are_at_hand(monkeypatch):
    dice = np.random.default_rng(3)
    inks = plates(Cyan=dice.integers(0, 256, (60, 50)), Moss=dice.integers(0, 256, (60, 50)))
    inside = np.ones((60, 50), bool)
    whole, _ = _averaged(inks, {"Cyan": 1, "Moss": 1}, inside, 6.0)
    monkeypatch.setattr(module, "BLOCK_PX", 1000)
    parted, _ = _averaged(inks, {"Cyan": 1, "Moss": 1}, inside, 6.0)
    assert (whole == parted).all()


# The level that a place keeps to -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "least", "level", "pixels"),
    [
        ({350: 4, 320: 12}, 4, 350, 4), ({350: 3, 320: 13}, 4, 320, 16), ({350: 4, 349.5: 2}, 4, 350, 6),
        ({350: 4, 348: 2}, 4, 350, 4), ({350: 4, 320: 12}, 16, 320, 16), ({350: 1, 320: 15}, 1, 350, 1),
    ],
)  # fmt: skip
def test_a_place_has_the_level_that_enough_of_its_cells_keep_to(cells, least, level, pixels):
    """Cells that hang together, beside a broad place of less; within 1 % of the level they belong to it as well."""
    row = np.concatenate([np.full(count, value) for value, count in cells.items()])
    total = np.zeros((4, 30), np.float32)
    total[1, 5 : 5 + len(row)] = row
    total[3, 2:28] = 305
    found, region = _sustained(total, least, 290.0)
    assert (found, region.pixels) == (level, pixels)
    assert (region.rows, region.columns) == ((1, 2), (5, 5 + pixels))


def test_cells_that_do_not_hang_together_do_not_add_up():
    total = np.zeros((3, 20), np.float32)
    total[1, 2:12] = 310
    total[1, 2:4] = total[1, 10:12] = 350
    found, region = _sustained(total, 4, 300.0)
    assert (found, region.pixels) == (310, 10)


# What is told -----------------------------------------------------------------------------------------------------


def place(inks: Plates, hits: dict[str, int], totals: np.ndarray, rows, columns, cell_mm=2.0, inside=None, families=()):
    colours = Colours()
    for family in families:
        colours.add(family, np.arange(len(colours), len(colours) + len(family.tints)))
    job: Any = SimpleNamespace(
        plates=inks, page=SimpleNamespace(objects=SimpleNamespace(colours=colours)),
        inside_mask=np.ones(inks.ink.shape[1:], bool) if inside is None else inside,
    )  # fmt: skip
    region = masks.Region(rows, columns, int((totals > 0).sum()), (rows[0], columns[0]))
    return HeavyPlace(job, hits, region, np.asarray(totals, np.float32), cell_mm)


def test_the_box_of_cells_reaches_over_the_next_ones():
    """Cells of 2 mm on a page from (100, 50) to (116, 62); the place begins in row 1 and column 3."""
    own = place(plates(Cyan=full(255)), {"Cyan": 1}, np.ones((2, 3)), (1, 3), (3, 6))
    assert own.box((0, 1), (0, 1)) == (106, 56, 110, 60)
    assert own.box((1, 2), (1, 3)) == (108, 54, 114, 58)


def test_inks_of_a_place_that_carries_a_little_more_add_up_to_what_is_told():
    tints = {"White": 100.0, "White 2": 100.0, "Magenta": 73.2, "Yellow": 51.1, "Black": 38.4, "Cyan": 29.05}
    told = _adding_up(tints, 390.4)
    assert sum(told.values()) == 390
    assert (told["White"], told["White 2"], told["Cyan"]) == (100, 100, 28)


def test_inks_at_a_place_add_up_to_its_total():
    ink = full(0)
    ink[2:6, 6:10] = 204
    own = place(plates(Cyan=ink, Moss=full(51), Rust=full(1)), {"Cyan": 1, "Moss": 2, "Rust": 1},
                np.array([[120.0, 90.0]]), (1, 2), (3, 5))  # fmt: skip
    assert own.inks_at(120.0, 120.0) == {"Cyan": 80, "Moss": 40}


@pytest.mark.parametrize(
    ("tints", "total", "told"),
    [
        ({"Cyan": 30.4, "Moss": 60.4, "Rust": 9.4}, 100.2, {"Moss": 60, "Cyan": 31, "Rust": 9}),
        ({"Cyan": 30.4, "Moss": 60.5, "Rust": 9.6}, 100.5, {"Moss": 60, "Cyan": 30, "Rust": 10}),
        ({"Cyan": 30.0, "Moss": 60.9}, 91.9, {"Moss": 61, "Cyan": 31}),
        ({"Cyan": 30.9, "Moss": 0.4}, 31.3, {"Cyan": 31}),
        ({"Cyan": 30.2, "Moss": 0.5}, 30.7, {"Cyan": 30, "Moss": 1}),
        ({"Cyan": 30.2, "Moss": 0.6}, 30.4, {"Cyan": 30}),
        ({"Cyan": 29.9995}, 30, {"Cyan": 30}),
        ({"Cyan": 40.0, "Moss": 60.0}, 99.0, {"Moss": 60, "Cyan": 40}),
    ],
)  # fmt: skip
def test_the_largest_remainders_are_rounded_up(tints, total, told):
    if told == {"Moss": 60, "Cyan": 31, "Rust": 9}:
        assert sum(_adding_up(tints, total).values()) == 100
        assert list(_adding_up(tints, total)) == ["Moss", "Cyan", "Rust"]
    else:
        assert list(_adding_up(tints, total).items()) == list(told.items())


def test_a_level_is_looked_for_within_a_place_first():
    totals = np.full((7, 9), 300, np.float32)
    totals[2:5, 3:6] = 340
    totals[0, 0] = 341
    assert _at_level(totals, 340.0) == (3, 4)  # the middle of what keeps to it, whatever lies nearer at the rim
    totals = np.full((5, 9), 300, np.float32)
    totals[1, 6] = 340
    assert _at_level(totals, 340.0) == (1, 6)
    totals[1:4, 1:4] = [[346, 346, 346], [346, 345, 346], [346, 346, 346]]
    assert _at_level(totals, 340.0) == (1, 6)  # what is deep within is off by more than 1 %
    totals[2, 2] = 340.9
    assert _at_level(totals, 340.0) == (2, 2)


def test_how_much_lies_above_each_level():
    """Twelve cells of 2 mm: 6 of 300 %, 6 of 320 %; on the plates four inks at 80 % below and at 75 % above."""
    totals = np.repeat([[300.0], [320.0]], 6, axis=1)
    ink = full(191.25)
    ink[4:8] = 204
    inks = dict.fromkeys(("A", "B", "C", "D"), ink)
    found = place(plates(**inks), dict.fromkeys(inks, 1), totals, (1, 3), (1, 7)).areas(290.0, 0.0)
    assert found.unit == "cm2"
    assert found.levels[:3] == (290.0, 290.5, 291.0)
    assert found.levels[-1] >= 320
    above = dict(zip(found.levels, found.amounts, strict=True))
    # The squares of the cells are 6 x 14 pixels of 1 mm: two rows at 300 %, four rows at 320 %.
    assert above[290.0] == pytest.approx(0.8)
    assert above[300.5] == pytest.approx(0.6, abs=0.05)
    assert above[320.5] == 0


def test_only_pixels_inside_the_cut_in_squares_of_the_place_count():
    """A place of two cells aslant: their squares of 2 x 2 cells hold 7 cells of 4 pixels each."""
    inside = np.ones((12, 16), bool)
    inside[:, 5] = False
    totals = np.array([[300.0, 0.0], [0.0, 300.0]])
    own = place(plates(Cyan=full(255), Moss=full(51)), {"Cyan": 2, "Moss": 1}, totals, (1, 3), (1, 3), inside=inside)
    pixels = own._pixels()
    assert pixels == pytest.approx(np.full(len(pixels), 220.0))
    # Cells in rows 1 to 3 and columns 1 to 3 but for two corners; column 5 of the pixels runs through all three rows.
    assert len(pixels) == 7 * 4 - 3 * 2


def spot(*tints: float, name: str = "Cyan", varies: bool = False) -> Family:
    return Family("Separation", (name,), np.array(tints, float)[:, None], varies=varies)


@pytest.mark.parametrize(
    ("families", "lost"),
    [
        ([spot(0.9)], 90 - 230 / 2.55), ([spot(0.9, varies=True)], 0), ([spot(0.9, name="Moss")], 0), ([], 0),
        ([spot(0.3)], 0), ([spot(0.9, 0.901)], 0), ([spot(0.9), spot(0.9)], 90 - 230 / 2.55),
    ],
    ids=["90 % come out as 230 steps", "a picture", "another ink", "no colours", "a tint that is not there",
         "two tints on one step", "one tint twice"],
)  # fmt: skip
def test_what_whole_steps_lose(families, lost):
    own = place(plates(Cyan=full(230)), {"Cyan": 2}, np.ones((1, 1)), (1, 2), (1, 2), families=families)
    assert own.lost_in_steps((X0 + 2, Y0 + 2, X0 + 6, Y0 + 6)) == pytest.approx(2 * lost, abs=1e-6)
    assert own.lost_in_steps((0, 0, 1, 1)) == 0


def test_what_is_lost_is_averaged_over_the_box():
    ink = full(0)
    ink[:, 4:] = 230
    own = place(plates(Cyan=ink), {"Cyan": 1}, np.ones((1, 1)), (1, 2), (1, 2), families=[spot(0.9, 0.0)])
    assert own.lost_in_steps((X0 + 2, Y0 + 2, X0 + 6, Y0 + 6)) == pytest.approx((90 - 230 / 2.55) / 2)


# The measure ------------------------------------------------------------------------------------------------------


def job(inks: Plates, kinds: dict[str, str] | None = None, units: dict[str, tuple[int, ...]] | None = None,
        profile: bytes | None = None, blanks: tuple[object, ...] = (1,)) -> Any:  # fmt: skip
    kinds, units = kinds or {}, units or {}
    return SimpleNamespace(
        plates=inks,
        inks=tuple(
            InkOnJob(Separation(name, kinds.get(name, "process"), ""), True, 0.5, 1.0, units.get(name, ()))
            for name in inks.names
        ),
        inside_mask=np.ones(inks.ink.shape[1:], bool),
        page=SimpleNamespace(objects=SimpleNamespace(colours=Colours()), number=4),
        artwork=SimpleNamespace(output_profile=lambda: profile, output_intent="Some press"),
        die=SimpleNamespace(blanks=blanks, found="assumed"),
    )


def measured(inks: Plates, *, over_mm=2.0, area_mm2=4.0, start_percent=200.0, not_counted=("varnish",), **more: Any):
    return ink_total(job(inks, **more), over_mm=over_mm, area_mm2=area_mm2, start_percent=start_percent,
                     not_counted=not_counted)  # fmt: skip


def heavy(*boxes: tuple[slice, slice], tint: int = 255) -> np.ndarray:
    ink = np.zeros((20, 30))
    for box in boxes:
        ink[box] = tint
    return ink


PATCH = np.s_[4:10, 7:15]


def test_a_heavy_place_is_read():
    inks = plates(Cyan=heavy(PATCH), Magenta=heavy(PATCH), Black=heavy(PATCH, tint=204))
    [found] = measured(inks).readings
    assert found.value == pytest.approx(280, abs=0.5)
    assert (found.unit, found.case, found.known, found.limit_cap) == ("%", "", "read", None)
    assert found.facts["inks"] == "Cyan 100 %, Magenta 100 %, Black 80 %"
    assert found.facts["peak"] == "280 %"
    assert "allowed" not in found.facts
    x0, y0, x1, y1 = found.places[0].box_mm
    assert (x0, y0, x1, y1) == pytest.approx((X0 + 7, Y0 + 10, X0 + 15, Y0 + 16), abs=1)
    assert found.places[0].page == 4


def test_without_a_die_what_is_read_is_a_guess():
    inks = plates(Cyan=heavy(PATCH), Magenta=heavy(PATCH), Black=heavy(PATCH))
    [found] = measured(inks, blanks=()).readings
    assert found.known == "assumed"


@pytest.mark.parametrize(
    ("more", "total"),
    [
        ({}, 255), ({"units": {"Cyan": (2,)}}, 255), ({"units": {"Cyan": (2, 5)}}, 355),
        ({"kinds": {"Cyan": "cut"}}, None), ({"kinds": {"Cyan": "varnish"}}, None), ({"kinds": {"Cyan": "spot"}}, 255),
        ({"start_percent": 254}, 255), ({"start_percent": 256}, None),
    ],
    ids=["once", "on a unit", "on two units", "no ink", "not counted", "a spot", "above the start", "below it"],
)  # fmt: skip
def test_what_counts(more, total):
    inks = plates(Cyan=heavy(PATCH), Magenta=heavy(PATCH), Black=heavy(PATCH, tint=140))
    found = measured(inks, **more).readings
    assert [round(float(reading.value)) for reading in found] == ([] if total is None else [total])


def test_places_have_a_least_size_and_the_largest_comes_first():
    small, large = np.s_[12:15, 20:23], np.s_[4:10, 7:15]
    inks = plates(**{name: heavy(small, large) for name in ("Cyan", "Magenta", "Black")})
    both = measured(inks).readings
    assert len(both) == 2
    assert both[0].places[0].box_mm[0] < both[1].places[0].box_mm[0]
    assert len(measured(inks, area_mm2=5.0).readings) == 1
    assert len(measured(inks, area_mm2=200.0).readings) == 0


def test_no_more_than_twenty_places_are_looked_at():
    for count, gaps in ((20, 0), (21, 1)):
        ink = np.zeros((60, 60))
        for n in range(count):
            y, x = 8 * (n // 6) + 4, 9 * (n % 6) + 3
            ink[y : y + 4, x : x + 4] = 255
        found = measured(plates(Cyan=ink, Magenta=ink, Black=ink))
        assert (len(found.readings), len(found.gaps)) == (20, gaps)


def test_the_files_own_profile_is_the_limit_of_process_inks():
    inks = {name: heavy(PATCH) for name in ("Cyan", "Magenta", "Black")}
    profile = cmyk_profile(240)
    [found] = measured(plates(**inks), profile=profile).readings
    assert found.case == "output profile"
    assert found.limit_cap == pytest.approx(240, abs=2)
    assert found.facts["condition"] == "Some press"
    [spot_too] = measured(plates(**inks, Moss=heavy(PATCH)), kinds={"Moss": "spot"}, profile=profile).readings
    assert (spot_too.case, spot_too.limit_cap) == ("", None)
    [lower] = measured(plates(**inks), profile=profile, start_percent=290.0).readings
    assert lower.case == "output profile"  # the profile allows less than the rule looks at
    assert measured(plates(**inks), start_percent=301.0).readings == []


@pytest.mark.parametrize(("most", "profile", "limit"), [(220.0, 300, None), (221.0, 300, 300), (400.0, 0, None)])
def test_a_profile_is_asked_only_where_something_comes_near_it(most, profile, limit):
    asked = job(plates(Cyan=heavy(PATCH)), profile=cmyk_profile(profile) if profile else None)
    found = _own_limit(asked, most)
    assert found is None if limit is None else found == pytest.approx(limit, abs=2)
