"""Quantities as people write them; every refusal says what was meant where a slip is likely."""

import math

import pytest

from preflight import quantities
from preflight.errors import NotUnderstood
from preflight.quantities import Range, Size

INCH = 25.4


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("10 mm", 10),
        ("10mm", 10),
        ("10", 10),
        (10, 10),
        (0.5, 0.5),
        (".5 mm", 0.5),
        ("0 mm", 0),
        ("3.5 cm", 35),
        ("450 um", 0.45),
        ("450 µm", 0.45),  # micro sign
        ("450 μm", 0.45),  # Greek letter mu
        ("450 micron", 0.45),
        ("2 in", 2 * INCH),
        ('2"', 2 * INCH),
        ("28 1/8 in", 28.125 * INCH),
        ("28-1/8 in", 28.125 * INCH),
        ("1/2 inch", 0.5 * INCH),
        ("10\u00a0mm", 10),
        ("  10   mm ", 10),
        ("10 MM", 10),
    ],
)
def test_lengths(text, mm):
    assert quantities.length_mm(text) == pytest.approx(mm)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("0.45 mm", 0.45), ("18 pt", 0.4572), ("18 thou", 0.4572), ("450 um", 0.45), ("0.018 in", 0.4572)],
)
def test_board_points_are_thousandths_of_an_inch(text, mm):
    assert quantities.caliper_mm(text) == pytest.approx(mm)


def test_type_points_are_72_to_the_inch():
    assert quantities.in_unit("72 pt", "mm") == pytest.approx(INCH)
    assert quantities.in_unit("1 in", "pt") == pytest.approx(72)
    assert quantities.in_unit("5 pt", "pt") == 5


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("1040 x 740 mm", Size(1040, 740)),
        ("1040x740", Size(1040, 740)),
        ("1040 × 740 mm", Size(1040, 740)),
        ("1040 X 740 mm", Size(1040, 740)),
        ("1040 mm x 740 mm", Size(1040, 740)),
        ("104 x 74 cm", Size(1040, 740)),
        ("40 x 28 1/8 in", Size(1016, 714.375)),
        ("28 1/8 in x 40 in", Size(714.375, 1016)),
    ],
)
def test_sizes_are_across_then_along(text, size):
    got = quantities.size_mm(text)
    assert (got.across_mm, got.along_mm) == pytest.approx((size.across_mm, size.along_mm))


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("0.5 to 0.5 mm", 0.5, 0.5),
        ("0.25 mm to 0.9 mm", 0.25, 0.9),
        ("0.25 to 0.9 mm", 0.25, 0.9),
        ("10 to 36 pt", 0.254, 0.9144),
    ],
)
def test_ranges(text, low, high):
    got = quantities.caliper_range_mm(text)
    assert (got.low, got.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        (quantities.weight_gsm, "295 g/m2", 295),
        (quantities.weight_gsm, "295 gsm", 295),
        (quantities.weight_gsm, "295 g/m²", 295),
        (quantities.sheets_per_hour, "15000 sheets/h", 15000),
        (quantities.percent, "2 %", 2),
        (quantities.percent, "2%", 2),
        (quantities.minutes, "1.5 h", 90),
        (quantities.count, "40000", 40000),
        (quantities.in_own_unit, "1 cm2", 100),
        (quantities.in_own_unit, "0.2 mm", 0.2),
        (quantities.in_own_unit, "2 %", 2),
        (quantities.in_own_unit, "7", 7),
        (quantities.in_own_unit, "150 ppi", 150),
        (quantities.in_own_unit, "5 pt", 5),
        (quantities.in_own_unit, "12 min", 12),
        (quantities.number, "3.5", 3.5),
        (quantities.minutes, "90 s", 1.5),
        (quantities.minutes, "12 minutes", 12),
    ],
)
def test_other_quantities(parse, text, value):
    assert parse(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("1 cm2", "mm2", 100),
        ("2 mm", "mm", 2),
        ("340 %", "%", 340),
        ("150 ppi", "ppi", 150),
        ("7", "plates", 7),
        ("7 plates", "plates", 7),
        ("1 plate", "plates", 1),
        ("3", "", 3),
    ],
)
def test_limits_come_in_the_unit_of_the_reading(text, unit, value):
    assert quantities.in_unit(text, unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("parse", "text", "suggestion"),
    [
        (quantities.length_mm, "0,45 mm", "0.45 mm"),
        (quantities.length_mm, "0,450 mm", "0.450 mm"),
        (quantities.length_mm, "1,040 mm", "1040 mm"),
        (quantities.length_mm, "10 milimeter", ""),
        (quantities.length_mm, "10 m", ""),
        (quantities.length_mm, "10 mm mm", "10 mm"),
        (quantities.length_mm, "-3 mm", ""),
        (quantities.length_mm, "1e3 mm", ""),
        (quantities.length_mm, "nan", ""),
        (quantities.length_mm, "", ""),
        (quantities.length_mm, None, ""),
        (quantities.length_mm, True, ""),
        (quantities.length_mm, ["1"], ""),
        (quantities.length_mm, "10 1/2 mm", ""),
        (quantities.length_mm, "1/0 in", ""),
        (quantities.length_mm, "18 pt", ""),
        (quantities.caliper_mm, "0,45 mm", "0.45 mm"),
        (quantities.caliper_mm, "0.45", "0.45 mm"),
        (quantities.caliper_mm, "18", "18 pt"),
        (quantities.caliper_mm, "450", "450 um"),
        (quantities.caliper_mm, "450 mm", "450 um"),
        (quantities.caliper_mm, "0 mm", ""),
        (quantities.caliper_mm, "0", ""),
        (quantities.caliper_mm, "2", "2 mm"),
        (quantities.caliper_mm, "60", "60 pt"),
        (quantities.caliper_mm, "61", "61 um"),
        (quantities.caliper_mm, "2000", "2000 um"),
        (quantities.caliper_mm, "2001", ""),
        (quantities.caliper_mm, "5 mm 3", ""),
        (quantities.size_mm, "1040,5 x 740 mm", "1040.5 x 740 mm"),
        (quantities.size_mm, "1040 mm", ""),
        (quantities.size_mm, "1040 x 740 x 3 mm", ""),
        (quantities.size_mm, "0 x 740 mm", ""),
        (quantities.caliper_range_mm, "0.25-0.9 mm", "0.25 to 0.9 mm"),
        (quantities.caliper_range_mm, "0.2 to 0.8", "0.2 mm to 0.8 mm"),
        (quantities.caliper_range_mm, "10 to 36", "10 pt to 36 pt"),
        (quantities.caliper_range_mm, "0.2 to board", ""),
        (quantities.caliper_range_mm, "0.9 mm to 0.25 mm", "0.25 mm to 0.9 mm"),
        (quantities.caliper_range_mm, "0,25 mm to 0,9 mm", "0.25 mm to 0.9 mm"),
        (quantities.weight_gsm, "60 lb", ""),
        (quantities.weight_gsm, "295", "295 g/m2"),
        (quantities.sheets_per_hour, "15,000 sheets/h", "15000 sheets/h"),
        (quantities.count, "40,000", "40000"),
        (quantities.count, "40 000", "40000"),
        (quantities.count, "4.5", ""),
        (quantities.count, "15.000", "15000"),
        (quantities.count, "1 000 000 000", ""),  # more digits than any count has
        (quantities.length_mm, "1 040.5 mm", "1040.5 mm"),
        (quantities.length_mm, "10 100", "10100"),
        (quantities.size_mm, "1 050 x 750 mm", "1050 x 750 mm"),
        (quantities.size_mm, "750 x 1'050 mm", "750 x 1050 mm"),
        (quantities.size_mm, "-1,5 x 750 mm", ""),
        (quantities.caliper_range_mm, "1 000 to 2 000 um", "1000 to 2000 um"),
        (quantities.caliper_range_mm, "0,25-0,9 mm", "0.25 to 0.9 mm"),
        (quantities.sheets_per_hour, "15 000", "15000 sheets/h"),
        (quantities.sheets_per_hour, "15 000 sheets/h", "15000 sheets/h"),
        (quantities.sheets_per_hour, "15.000.000", "15000000 sheets/h"),
        (quantities.sheets_per_hour, "1 00 sheets/h", ""),
    ],
)
def test_refusals_suggest_what_was_meant(parse, text, suggestion):
    with pytest.raises(NotUnderstood) as refusal:
        parse(text)
    assert refusal.value.suggestion == suggestion
    assert refusal.value.expected
    assert ("did you mean" in str(refusal.value)) is bool(suggestion)
    assert suggestion in str(refusal.value)


PARSERS = (
    quantities.length_mm, quantities.caliper_mm, quantities.size_mm,
    quantities.caliper_range_mm, quantities.weight_gsm, quantities.sheets_per_hour, quantities.percent,
    quantities.minutes, quantities.count, quantities.number, quantities.in_own_unit,
)  # fmt: skip
FIGURES = (
    "15",
    "1 050",
    "15.000.000",
    "1'050.5",
    "0,45",
    "1,050",
    "12,345,678",
    "-3",
    "-0,5",
    "1 00",
    "1/2",
    "1 000,5",
)


@pytest.mark.parametrize("parse", PARSERS, ids=lambda parse: parse.__name__)
@pytest.mark.parametrize("written", ["{}", "{} mm", "{} x {} mm", "{}-{} pt", "{} to {}", "{} sheet/h", "{} g", "{} %"])
def test_what_is_suggested_can_be_read(parse, written):
    for figure in FIGURES:
        try:
            parse(written.format(figure, figure))
        except NotUnderstood as refusal:
            if refusal.suggestion:
                parse(refusal.suggestion)


def test_a_thousandth_is_no_thousand():
    assert quantities.length_mm("28 125/1000 in") == pytest.approx(28.125 * INCH)
    assert quantities.length_mm("15.000 mm") == 15


@pytest.mark.parametrize(("text", "unit"), [("340", "%"), ("2", "mm"), ("2 %", "mm"), ("2 mm", "mm2"), ("2 mm", "ppi")])
def test_a_limit_carries_the_unit_of_its_reading(text, unit):
    with pytest.raises(NotUnderstood):
        quantities.in_unit(text, unit)


@pytest.mark.parametrize("size", [Size(1040, 740), Range(0.25, 0.9)])
def test_typed_values_pass(size):
    parse = quantities.size_mm if isinstance(size, Size) else quantities.caliper_range_mm
    assert parse(size) is size


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0, "mm", "0.0 mm"),
        (0.45, "mm", "0.45 mm"),
        (2.04, "mm", "2.0 mm"),
        (12.34, "mm", "12.3 mm"),
        (1040, "mm", "1040 mm"),
        (352.3, "%", "352 %"),
        (0.5, "%", "0.5 %"),
        (7, "plates", "7 plates"),
        (1, "plates", "1 plate"),
        (0.18, "pt", "0.18 pt"),
        (3, "", "3"),
        (math.inf, "mm", "inf mm"),
    ],
)
def test_numbers_as_reports_show_them(value, unit, text):
    assert quantities.shown(value, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (2.0, "mm", "2 mm"),
        (0.25, "mm", "0.25 mm"),
        (340.0, "%", "340 %"),
        (0.2, "mm2", "0.2 mm²"),
        (1, "cm2", "1 cm²"),
        (295, "g/m2", "295 g/m²"),
        (1234567, "", "1234567"),
        (1, "plates", "1 plate"),
    ],
)
def test_limits_as_somebody_chose_them(value, unit, text):
    assert quantities.shown_limit(value, unit) == text


@pytest.mark.parametrize("unit", ["mm", "mm2", "min", "g/m2", "pt"])
def test_units_that_are_asked_for_can_be_read(unit):
    with pytest.raises(NotUnderstood) as refusal:
        quantities.in_unit("3", unit)
    listed = refusal.value.expected.partition("(")[2].rstrip(")").split(", ")
    assert quantities.in_print(unit) in listed or len(unit) > 3
    assert listed == sorted(listed)
    assert [quantities.in_unit(f"1 {other}", unit) > 0 for other in listed] == [True] * len(listed)
    assert '"' not in listed


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        # under 10 one decimal where it is not whole, from 10 on none
        (9.5, "mm2", "9.5 mm²"), (10.4, "%", "10 %"), (-10.4, "%", "-10 %"), (3, "%", "3 %"),
        (-9.5, "ppi", "-9.5 ppi"), (295.4, "g/m2", "295 g/m²"), (7.5, "sheets/h", "7.5 sheets/h"),
        # lengths: two figures under 0.1, two decimals under 1, one above
        (0.0004, "mm", "0.0 mm"), (0.0005, "mm", "0.0005 mm"), (0.0567, "mm", "0.057 mm"), (-0.0567, "pt", "-0.057 pt"),
        (0.1, "mm", "0.1 mm"), (0.123, "mm", "0.12 mm"), (0.5, "mm", "0.5 mm"), (0.99, "pt", "0.99 pt"),
        (1.04, "mm", "1.0 mm"), (1.26, "mm", "1.3 mm"), (-1.26, "mm", "-1.3 mm"),
        (10.04, "mm", "10 mm"), (10.06, "mm", "10.1 mm"), (19.96, "mm", "20 mm"), (-12.34, "mm", "-12.3 mm"),
        # what is counted
        (2.5, "units", "2.5 units"), (2.254, "", "2.25"), (7.004, "", "7"), (2.001, "units", "2 units"),
        (1, "s", "1 s"), (1, "", "1"), (0, "plates", "0 plates"),
        (3.0000000001, "plates", "3 plates"), (12, "min", "12 min"), (-math.inf, "", "-inf"),
    ],
)  # fmt: skip
def test_how_many_figures_a_number_has(value, unit, text):
    assert quantities.shown(value, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.12346, "mm", "0.1235 mm"),
        (10.0, "mm", "10 mm"),
        (100, "", "100"),
        (1, "mm", "1 mm"),
        (1, "sheets/h", "1 sheets/h"),
        (1, "units", "1 unit"),
        (2, "units", "2 units"),
        (0, "units", "0 units"),
        (0.5, "units", "0.5 units"),
    ],
)
def test_how_many_figures_a_limit_has(value, unit, text):
    assert quantities.shown_limit(value, unit) == text


@pytest.mark.parametrize(
    ("text", "mm"),
    [("5 mm", 5), ("0.001 mm", 0.001), ("0.19 in", 4.826), ("196 pt", 4.9784)],
)
def test_calipers_up_to_the_thickest_board(text, mm):
    assert quantities.caliper_mm(text) == pytest.approx(mm)


@pytest.mark.parametrize("text", ["5.01 mm", "0.2 in", "197 pt", "0.6 cm"])
def test_thicker_is_no_board(text):
    with pytest.raises(NotUnderstood):
        quantities.caliper_mm(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (quantities.weight_gsm, "0 g/m2"),
        (quantities.sheets_per_hour, "0 sheets/h"),
        (quantities.size_mm, "740 x 0 mm"),
        (quantities.in_own_unit, "3 plates"),
        (quantities.number, "3 mm"),
        (quantities.count, "1000000000"),
        (quantities.length_mm, "1/2 mm"),
        (quantities.length_mm, "1234567890123 mm"),
        (quantities.percent, "2"),
        (quantities.weight_gsm, "60 lbs"),
        (quantities.weight_gsm, "60 #"),
    ],
)
def test_what_is_no_such_quantity(parse, text):
    with pytest.raises(NotUnderstood):
        parse(text)


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        (quantities.count, "0", 0),
        (quantities.count, "999999999", 999_999_999),
        (quantities.count, 7, 7),
        (quantities.length_mm, "3/8 in", 9.525),
        (quantities.length_mm, "2 3/4 in", 69.85),
        (quantities.length_mm, "2-3/4 in", 69.85),
        (quantities.length_mm, '40 "', 1016),
        (quantities.length_mm, "123456789012 mm", 123_456_789_012),
        (quantities.length_mm, "+3 mm", None),
        (quantities.in_own_unit, "1 in2", 645.16),
        (quantities.in_own_unit, "2 cm", 20),
        (quantities.minutes, "30 s", 0.5),
        (quantities.sheets_per_hour, "9000 sph", 9000),
    ],
)
def test_more_quantities(parse, text, value):
    if value is None:
        with pytest.raises(NotUnderstood):
            parse(text)
    else:
        assert parse(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("2 h", "min", 120),
        ("3 in", "mm", 76.2),
        ("25.4 mm", "pt", 72),
        ("2 in2", "cm2", 12.9032),
        ("300 gsm", "g/m2", 300),
        ("9000 sph", "sheets/h", 9000),
        ("1 plates", "plates", 1),
        ("4", "", 4),
    ],
)
def test_a_value_comes_in_the_unit_that_is_asked_for(text, unit, value):
    assert quantities.in_unit(text, unit) == pytest.approx(value)


@pytest.mark.parametrize(("text", "unit"), [("3 plates", ""), ("3 blanks", "plates"), ("3 mm", "plates"), ("2", "ppi")])
def test_nothing_else_is_taken_for_it(text, unit):
    with pytest.raises(NotUnderstood):
        quantities.in_unit(text, unit)


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("0.25 mm-0.9 mm", "0.25 mm to 0.9 mm"),
        ("10 – 36 pt", "10 to 36 pt"),
        ("0.2 to 450", "0.2 mm to 450 um"),
        ("18 to 0.9 mm", "18 pt to 0.9 mm"),
        ("36 to 10 pt", "10 pt to 36 pt"),
        ("0.25 mm", ""),
        ("1 to 2 to 3 mm", ""),
    ],
)
def test_ranges_that_were_meant_otherwise(text, suggestion):
    with pytest.raises(NotUnderstood) as refusal:
        quantities.caliper_range_mm(text)
    assert refusal.value.suggestion == suggestion


def test_a_size_in_words_is_across_by_along():
    assert str(Size(1040, 714.375)) == "1040 x 714.375 mm"


def test_units_of_readings_and_nouns():
    assert {"mm", "pt", "%", "ppi"} <= quantities.MEASURED
    assert "plates" not in quantities.MEASURED


@pytest.mark.parametrize(("text", "kg"), [("900 kg", 900), ("0.9 t", 900), ("1.5kg", 1.5)])
def test_masses(text, kg):
    assert quantities.kilograms(text) == pytest.approx(kg)


@pytest.mark.parametrize("text", ["900", "0 kg", "900 lb", "-3 kg"])
def test_what_is_no_mass(text):
    with pytest.raises(NotUnderstood):
        quantities.kilograms(text)
