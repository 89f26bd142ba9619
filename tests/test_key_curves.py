"""Curves of openings: learnt from OK sheets, written, read back, used; damaged tables are refused line by line."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy.optimize import nnls

from preflight.cli.main import run
from preflight.errors import InvalidInput
from preflight.inputs.key_curves_table import KeyCurve, curves_text, load_key_curves
from preflight.inputs.ok_sheets import KeyReading, read_ok_sheets
from preflight.setup.ink_keys.covers import KeyCovers, PlateCover
from preflight.setup.ink_keys.learn_curves import learn_curves, sheets_of, with_older
from preflight.setup.ink_keys.monotone_fit import fit_rising, non_negative
from preflight.setup.ink_keys.openings import curve_for, openings
from preflight.setup.ink_keys.strips import Strips
from preflight.setup.press_plan import OnUnit

HEAD = "unit,ink,board,key,cover,opening"


def true_curve(cover):
    """The plant's curve in these tests: 3 % closed, a root-like rise."""
    return 3 + 70 * np.asarray(cover) ** 0.75


def sheets(count: int = 4, noise: float = 0.0, seed: int = 1, keys: int = 31, **told: object) -> list[KeyReading]:
    made = np.random.default_rng(seed)
    found = list[KeyReading]()
    for sheet in range(count):
        covers = made.uniform(0.0, 0.9, keys)
        for key, cover in enumerate(covers, 1):
            opening = float(np.clip(true_curve(cover) + made.normal(0, noise), 0, 100))
            values = {"unit": 3, "ink": "process", "board": "GC2", "sheet": f"J{sheet}", **told}
            found.append(KeyReading(len(found) + 2, key=key, cover=float(cover), opening=opening, **values))  # type: ignore[arg-type]
    return found


def written(readings, path):
    lines = [HEAD + ",sheet"] + [
        f"{r.unit},{r.ink},{r.board},{r.key},{r.cover:.5f},{r.opening:.3f},{r.sheet}" for r in readings
    ]
    path.write_text("\n".join(lines) + "\n")
    return path


def faults_of(text, tmp_path):
    path = tmp_path / "ok.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(InvalidInput) as refused:
        read_ok_sheets(path)
    return [(fault.line, fault.key, fault.suggestion) for fault in refused.value.faults]


# The fit -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(30))
def test_non_negative_least_squares_agrees_with_scipy(seed):
    made = np.random.default_rng(seed)
    matrix, wanted = made.normal(size=(40, 9)), made.normal(size=40)
    found, referee = non_negative(matrix, wanted), nnls(matrix, wanted)[0]
    assert (found >= 0).all()
    assert found == pytest.approx(referee, abs=1e-8)


def test_readings_on_a_straight_line_give_that_line():
    x = np.linspace(0.0, 0.8, 60)
    fit = fit_rising(x, 5 + 60 * x, 100)
    assert fit.spread < 1e-9
    for cover, opening in fit.points:
        assert opening == pytest.approx(5 + 60 * cover)


def test_falling_readings_give_a_level_line():
    x = np.linspace(0.1, 0.9, 50)
    fit = fit_rising(x, 50 - 20 * x, 100)
    assert [opening for _, opening in fit.points] == pytest.approx([40.0] * len(fit.points))


@pytest.mark.parametrize("noise", [0.5, 2.0])
@pytest.mark.parametrize("seed", range(8))
def test_a_known_curve_is_found_again_within_its_noise_and_so_is_the_noise(noise, seed):
    (found,) = learn_curves(sheets(8, noise, seed)).curves
    curve = found.curve
    assert (curve.sheets, curve.readings) == (8, 248)
    assert curve.spread == pytest.approx(noise, rel=0.2)
    covers = np.linspace(0.05, 0.85, 30)
    got = np.interp(covers, *np.array(curve.points).T)
    # 248 readings on nine knots: the line is about four times as sure as a reading; the chords of the arc add 0.3
    assert np.max(np.abs(got - true_curve(covers))) < noise + 0.3
    assert np.sqrt(np.mean((got - true_curve(covers)) ** 2)) < noise / 2 + 0.3
    assert all(b >= a for (_, a), (_, b) in zip(curve.points[:-1], curve.points[1:], strict=True))


def test_the_farthest_reading_is_named_with_its_line():
    readings = sheets(4, 0.3)
    slip = readings[40]
    readings[40] = KeyReading(**{**vars(slip), "opening": slip.opening + 15})
    (found,) = learn_curves(readings).curves
    assert found.farthest_line == 42
    assert found.farthest == pytest.approx(15, abs=2)


def test_fewer_than_three_sheets_make_no_curve():
    more = [KeyReading(**{**vars(r), "unit": 5}) for r in sheets(2)]
    learnt = learn_curves([*sheets(3), *more])
    assert [each.curve.unit for each in learnt.curves] == [3]
    assert [(each.what, each.because) for each in learnt.refused] == [
        ("unit 5, process, board GC2", "2 sheets; a curve needs at least 3")
    ]


def test_covers_that_hardly_differ_make_no_curve():
    flat = [KeyReading(**{**vars(r), "cover": 0.3 + 0.0001 * r.key}) for r in sheets(3)]
    assert "differ" in learn_curves(flat).refused[0].because


@pytest.mark.parametrize("in_order_of", ["sheet", "key"])
def test_without_a_sheet_column_a_key_that_comes_again_is_the_next_sheets(in_order_of):
    plain = [KeyReading(**{**vars(r), "sheet": ""}) for r in sheets(3)]
    if in_order_of == "key":
        plain.sort(key=lambda reading: reading.key)
    assert sheets_of(plain) == 3


# The table of OK sheets --------------------------------------------------------------------------------------------


def test_a_table_with_semicolons_and_a_mark_at_its_start(tmp_path):
    path = tmp_path / "ok.csv"
    path.write_bytes(
        b"\xef\xbb\xbfKey;Ink;Unit;Board;Opening;Cover\r\n4;Cyan;2;GC2;31 %;12.5 %\r\n\r\n5;Sea Blue;2;GC2;30;0.11\r\n"
    )
    first, second = read_ok_sheets(path)
    assert (first.unit, first.ink, first.key, first.opening, first.line) == (2, "process", 4, 31.0, 2)
    assert first.cover == pytest.approx(0.125)
    assert (second.ink, second.cover, second.line) == ("spot", 0.11, 4)


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("x,process,GC2,1,0.1,10", (2, "unit", "")),
        ("0,process,GC2,1,0.1,10", (2, "unit", "")),
        ("3,proces,GC2,1,0.1,10", (2, "ink", "process")),
        ("3,Cutting,GC2,1,0.1,10", (2, "ink", "")),
        ("3,process,,1,0.1,10", (2, "board", "")),
        ("3,process,GC2,0,0.1,10", (2, "key", "")),
        ("3,process,GC2,1,31,10", (2, "cover", "31 %")),
        ("3,process,GC2,1,310,10", (2, "cover", "")),
        ("3,process,GC2,1,-0.1,10", (2, "cover", "")),
        ("3,process,GC2,1,0.1,101", (2, "opening", "")),
        ("3,process,GC2,1,0.1,", (2, "opening", "")),
        ("3,process,GC2,1,0.1", (2, "opening", "")),
        ("3,process,GC2,1,0.1,nan", (2, "opening", "")),
        ("3,process,GC2,1,0.1,10,7", (2, "", "")),
    ],
)
def test_wrong_values_are_named_with_line_and_column(row, expected, tmp_path):
    assert faults_of(f"{HEAD}\n{row}\n", tmp_path) == [expected]


def test_a_decimal_comma_is_seen(tmp_path):
    assert faults_of(f"{HEAD.replace(',', ';')}\n3;process;GC2;1;0,1;10\n", tmp_path) == [(2, "cover", "0.1")]


def test_all_faults_are_told_at_once(tmp_path):
    text = f"{HEAD}\n3,process,GC2,1,2,10\n3,process,GC2,2,0.1,10\nx,process,GC2,3,0.1,200\n"
    assert [fault[:2] for fault in faults_of(text, tmp_path)] == [(2, "cover"), (4, "unit"), (4, "opening")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", [(1, "", "")]),
        (f"{HEAD}\n", [(1, "", "")]),
        ("unit,ink,board,key,cover\n", [(1, "", "")]),
        ("unit,ink,board,key,cover,openning\n", [(1, "", "opening"), (1, "", "")]),
        (f"{HEAD},unit\n", [(1, "unit", "")]),
        (b"PK\x03\x04 a workbook", [(0, "", "")]),
        (f"{HEAD}\n3,\xfc".encode("latin-1"), [(2, "", "")]),
        (f"{HEAD},sheet\n3,process,GC2,1,0.1,10,A\n3,process,GC2,1,0.2,12,A\n", [(3, "key", "")]),
    ],
)
def test_damaged_tables(text, expected, tmp_path):
    assert faults_of(text, tmp_path) == expected


def test_no_such_table(tmp_path):
    with pytest.raises(InvalidInput, match="no such file"):
        read_ok_sheets(tmp_path / "none.csv")


# The trade table ---------------------------------------------------------------------------------------------------


def curve(**told):
    values = {"unit": 3, "ink": "process", "board": "GC2", "points": [[0.0, 2], [0.5, 40]], **told}
    return KeyCurve.model_validate(values)


def test_the_shipped_table_is_empty():
    assert load_key_curves() == ()


def test_what_is_written_is_read_back(tmp_path):
    path = tmp_path / "key_curves.yaml"
    made = (
        curve(press='Press: no. 1, "new"', sheets=4, readings=124, spread=1.83),
        curve(board="any", points=[[0.0123, 2.25], [0.4, 30.5], [0.9, 30.5]]),
    )
    path.write_text(curves_text(made, ["learnt", ""]))
    assert load_key_curves(path) == made
    path.write_text(curves_text(()))
    assert load_key_curves(path) == ()


@pytest.mark.parametrize(
    "points", [[[0.1, 2]], [[0.1, 2], [0.1, 3]], [[0.1, 5], [0.2, 3]], [[0, 1], [1.2, 3]], [[0, 1], [0.5, 130]], "x"]
)
def test_points_have_to_rise(points, tmp_path):
    path = tmp_path / "key_curves.yaml"
    path.write_text(json.dumps([{"unit": 1, "ink": "spot", "board": "any", "points": points}]))
    with pytest.raises(InvalidInput):
        load_key_curves(path)


def test_one_curve_each(tmp_path):
    path = tmp_path / "key_curves.yaml"
    path.write_text(curves_text([curve(), curve(board="gc2")]))
    with pytest.raises(InvalidInput, match="second curve"):
        load_key_curves(path)


# Openings ----------------------------------------------------------------------------------------------------------


def covers_of(*plates):
    strips = Strips(np.arange(5.0), 4.0, 700.0, "left")
    return KeyCovers(strips, tuple(PlateCover(name, "front", kind, cover, cover) for name, kind, cover in plates))


UNITS = [OnUnit(3, "Cyan", "process"), OnUnit(4, "Moss", "spot"), OnUnit(5, "Moss", "spot")]


def test_no_curve_no_opening():
    found = openings(covers_of(("Cyan", "process", (0.1, 0.2, 0.0, 0.0))), UNITS, (), "P", "GC2")
    assert found.by_name == {"Cyan": None}
    assert not found.any_curve
    assert "(unit 3, process): no curve yet for board GC2" in found.not_checked[0]


def test_openings_are_straight_between_the_points_and_end_where_the_curve_ends():
    covers = covers_of(("Cyan", "process", (0.0, 0.25, 0.502, 0.6)), ("Moss", "spot", (0.0, 0.1, 0.1, 0.0)))
    curves = [curve(), curve(unit=5, ink="spot", points=[[0.05, 10], [0.3, 35]])]
    found = openings(covers, UNITS, curves, "P", "GC2")
    assert found.by_name == {"Cyan": (2.0, 21.0, 40.0, None), "Moss": None, "Moss (unit 5)": (None, 15.0, 15.0, None)}
    assert found.any_curve
    assert len(found.not_checked) == 1


def test_the_curve_that_names_board_and_press_counts_first():
    general, board, press = curve(board="any"), curve(), curve(press="P")
    every = [general, board, press]
    assert curve_for(every, "p", 3, "process", "gc2") is press
    assert curve_for(every, "Q", 3, "process", "GC2") is board
    assert curve_for(every, "Q", 3, "process", "GC1") is general
    assert curve_for(every, "Q", 3, "process", None) is general
    assert curve_for(every, "P", 3, "spot", "GC2") is None


# The command -------------------------------------------------------------------------------------------------------


def test_learn_writes_a_table_that_the_tool_reads(tmp_path, capsys):
    table = written([*sheets(4, 1.0), *sheets(2, 1.0, unit=5)], tmp_path / "ok.csv")
    out = tmp_path / "rules" / "key_curves.yaml"
    out.parent.mkdir()
    assert run(["setup", "--learn", str(table), "--out", str(out)]) == 0
    output = capsys.readouterr().out
    (learnt,) = load_key_curves(out)
    assert (learnt.unit, learnt.ink, learnt.sheets, learnt.readings) == (3, "process", 4, 124)
    assert learnt.spread == pytest.approx(1.0, rel=0.25)
    for said in (
        "unit 3, process, board gc2",
        "4 sheets",
        "124 readings",
        "spread",
        "2 sheets; a curve needs at least 3",
    ):
        assert said in output.lower()


def test_curves_that_the_sheets_say_nothing_of_are_kept(tmp_path):
    out = tmp_path / "key_curves.yaml"
    out.write_text(curves_text([curve(unit=7), curve(says="by hand")]))
    table = written(sheets(3), tmp_path / "ok.csv")
    assert run(["setup", "--learn", str(table), "--out", str(out)]) == 0
    assert sorted((each.unit, each.says) for each in load_key_curves(out)) == [(3, None), (7, None)]
    assert with_older(learn_curves(sheets(2)), [curve()]) == (curve(),)


def test_learn_and_a_wrong_table(tmp_path, capsys):
    table = tmp_path / "ok.csv"
    table.write_text(f"{HEAD}\n3,process,GC2,1,2,10\n")
    assert run(["setup", "--learn", str(table)]) == 4
    assert "ok.csv:2: cover:" in capsys.readouterr().err
    assert not (tmp_path / "key_curves.yaml").exists()


def test_nothing_learnt_writes_nothing(tmp_path, capsys):
    table = written(sheets(2), tmp_path / "ok.csv")
    assert run(["setup", "--learn", str(table)]) == 1
    assert "2 sheets; a curve needs at least 3" in capsys.readouterr().out
    assert not (tmp_path / "key_curves.yaml").exists()


@pytest.mark.parametrize("more", [[], ["--learn", "ok.csv", "ticket.yaml"]])
def test_a_ticket_or_a_table_and_not_both(more, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    written(sheets(3), tmp_path / "ok.csv")
    (tmp_path / "ticket.yaml").write_text("ticket: 1\n")
    assert run(["setup", *more]) == 2
