"""Functions of a PDF by ISO 32000-2, 7.10: values worked out by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Object

from preflight.artwork.pdf.colour import functions
from preflight.artwork.pdf.colour.functions import read_functions, unpacked
from preflight.errors import FunctionFault


@pytest.fixture
def pdf():
    return pikepdf.new()


def values(function: Object, *inputs: float | tuple[float, ...]) -> list[list[float]]:
    rows = np.array(inputs, float).reshape(len(inputs), -1)
    found = read_functions(function)(rows)
    return [[round(float(value), 4) for value in row] for row in found]


def stream(pdf, data: bytes, **keys: object) -> Object:
    made: Object = pdf.make_stream(data)
    for key, value in keys.items():
        made[f"/{key}"] = value
    return made


def ramp(first: float, last: float, power: float = 1) -> Dictionary:
    return Dictionary(FunctionType=2, Domain=[0, 1], N=power, C0=[first], C1=[last])


def test_exponential_and_its_defaults():
    assert values(Dictionary(FunctionType=2, Domain=[0, 1], N=2), 0, 0.5, 1, 7) == [[0], [0.25], [1], [1]]
    assert values(ramp(0.2, 0.8, 0.5), 0.25) == [[0.5]]
    assert values(Array([ramp(0, 1), ramp(1, 0.5)]), 0.5) == [[0.5, 0.75]]


def test_a_bound_belongs_to_what_follows_and_the_end_to_the_last_part():
    parts = Array([ramp(0, 0.1), ramp(0.2, 0.3), ramp(0.4, 0.5)])
    function = Dictionary(FunctionType=3, Domain=[0, 4], Functions=parts, Bounds=[1, 2], Encode=[0, 1, 1, 0, 0, 1])
    assert values(function, 0, 0.999999, 1, 1.5, 2, 4, 5) == [[0], [0.1], [0.3], [0.25], [0.4], [0.5], [0.5]]


def test_a_part_between_equal_bounds_is_never_reached():
    parts = Array([ramp(0, 0.1), ramp(0.9, 0.9), ramp(0.4, 0.5)])
    function = Dictionary(FunctionType=3, Domain=[0, 1], Functions=parts, Bounds=[0.5, 0.5], Encode=[0, 1] * 3)
    assert values(function, 0.4999999, 0.5) == [[0.1], [0.4]]


def test_samples_of_one_input(pdf):
    """Samples 0, 15, 5 of 15 decoded to 0.2..0.8; back to front by Encode."""
    keys = {"FunctionType": 0, "BitsPerSample": 4, "Size": Array([3]), "Decode": Array([0.2, 0.8])}
    function = stream(pdf, bytes([0x0F, 0x50]), **keys, Domain=Array([0, 1]), Range=Array([0, 1]), Encode=Array([2, 0]))
    assert values(function, 0, 0.25, 0.5, 1) == [[0.4], [0.6], [0.8], [0.2]]


def test_samples_of_two_inputs_the_first_varies_fastest(pdf):
    keys = {"FunctionType": 0, "BitsPerSample": 8, "Size": Array([2, 2]), "Domain": Array([0, 1, 0, 1])}
    function = stream(pdf, bytes([0, 51, 102, 255]), **keys, Range=Array([0, 1]))
    assert values(function, (1, 0), (0, 1), (1, 1), (0.5, 0.5)) == [[0.2], [0.4], [1], [0.4]]


@pytest.mark.parametrize(("code", "given", "expected"), [
    ("{ dup mul }", (0.5,), (0.25,)),
    ("{ 2 copy add 3 1 roll sub }", (0.6, 0.2), (0.8, 0.4)),
    ("{ dup 0.5 gt { pop 1 } { dup 0.2 lt { pop 0 } if } ifelse }", (0.7,), (1,)),
    ("{ dup 0.5 gt { pop 1 } { dup 0.2 lt { pop 0 } if } ifelse }", (0.3,), (0.3,)),
    ("{ 360 mul sin }", (0.25,), (1,)),
    ("{ 1 atan 90 div }", (1,), (0.5,)),
    ("{ -1 atan 360 div }", (-1,), (0.625,)),
    ("{ 7 3 idiv add 7 3 mod add 10 div }", (0.5,), (0.35,)),
    ("{ 2 exp 100 log add 2 sub }", (0.5,), (0.25,)),
    ("{ 0.1 0.2 0.3 4 -1 roll pop 3 1 roll }", (0.9,), (0.3, 0.1, 0.2)),
    ("{ 0.4 1 index }", (0.9,), (0.9, 0.4, 0.9)),
    ("{ pop 6 3 and 2 eq 1 3 bitshift 8 eq and true xor { 1 } { 0.5 } ifelse }", (0.9,), (0.5,)),
    ("{ pop 2.5 cvi 0.6 round add -0.5 abs truncate add 4 div % a remark\n}", (0.9,), (0.75,)),
])  # fmt: skip
def test_calculators(pdf, code, given, expected):
    domain, limits = Array([-1, 1] * len(given)), Array([0, 1] * len(expected))
    function = stream(pdf, code.encode(), FunctionType=4, Domain=domain, Range=limits)
    assert values(function, given)[0] == pytest.approx(expected, abs=1e-4)


def test_each_row_takes_its_own_branch(pdf):
    code = b"{ dup 0.5 lt { 2 mul 0.3 } { pop 0.1 0.2 } ifelse }"
    function = stream(pdf, code, FunctionType=4, Domain=Array([0, 1]), Range=Array([0, 1, 0, 1]))
    assert values(function, 0.2, 0.7, 0.4) == [[0.4, 0.3], [0.1, 0.2], [0.8, 0.3]]


@pytest.mark.parametrize("code", [
    b"{ add }", b"{ { }", b"}", b"", b"{ 1 0 { pop } if pop pop pop }", b"{ nothing }", b"{ 1e9 copy }",
    b"{ dup roll }", b"{ if }", b"{" * 100 + b"}" * 100, b"{ -1 index }", b"{ 5 -1 roll }",
    b"{ dup 0.5 lt { pop } { dup } ifelse }",
])  # fmt: skip
def test_calculators_that_come_to_grief(pdf, code):
    function = stream(pdf, code, FunctionType=4, Domain=Array([0, 1]), Range=Array([0, 1]))
    with pytest.raises(FunctionFault):
        values(function, 0.2, 0.7)


def test_functions_that_cannot_be_read(pdf):
    itself = pdf.make_indirect(Dictionary(FunctionType=3, Domain=[0, 1], Bounds=[], Encode=[0, 1] * 200))
    itself.Functions, itself.Bounds = Array([itself] * 200), Array([0.5] * 199)
    short = stream(pdf, b"\0", FunctionType=0, BitsPerSample=8, Size=[9], Domain=[0, 1], Range=[0, 1])
    huge = stream(pdf, b"\0", FunctionType=0, BitsPerSample=8, Size=[10**6] * 2, Domain=[0, 1] * 2, Range=[0, 1])
    for function in (itself, short, huge, Dictionary(FunctionType=1, Domain=[0, 1]), Dictionary(), None, Array([])):
        with pytest.raises(FunctionFault):
            read_functions(function)


def test_an_exponential_function_of_two_outputs_within_its_domain_and_range():
    keys: dict[str, Any] = {"FunctionType": 2, "Domain": [0.5, 2], "N": 2, "C0": [1, 0], "C1": [0, 3]}
    assert values(Dictionary(**keys), 0, 1, 2, 3) == [[0.75, 0.75], [0, 3], [-3, 12], [-3, 12]]
    assert values(Dictionary(**keys, Range=[-1, 1, 2, 5]), 0.5, 2) == [[0.75, 2], [-1, 5]]


@pytest.mark.parametrize(
    ("power", "given", "value"), [(0, 0, 1), (0, 0.5, 1), (-1, 0, 1e9), (-1, 0.5, 2), (0.5, -4, 0)]
)
def test_powers_as_they_stand(power, given, value):
    assert values(Dictionary(FunctionType=2, Domain=[-9, 9], N=power), given) == [[value]]


@pytest.mark.parametrize(
    "keys",
    [
        {"N": None},
        {"C0": [0, 1]},
        {"C1": [0, 1, 1], "C0": [0, 1]},
        {"Domain": None},
        {"Domain": []},
        {"Domain": [0, 1, 0]},
        {"FunctionType": 1},
        {"FunctionType": 5},
        {"FunctionType": None},
        {"Range": [0, 1, 0, 1]},
        {"Range": [0]},
        {"Domain": [0, 1, 0, 1]},
    ],
    ids=str,
)
def test_exponential_functions_that_do_not_fit(keys):
    given = {"FunctionType": 2, "Domain": [0, 1], "N": 1, **keys}
    function = Dictionary(**{key: value for key, value in given.items() if value is not None})
    with pytest.raises(FunctionFault):
        values(function, 0.5)


def stitched(*parts: Dictionary, **keys: Any) -> Dictionary:
    given: dict[str, Any] = {"Domain": [0, 1], "Encode": [0, 1] * len(parts), "Bounds": [], **keys}
    return Dictionary(FunctionType=3, Functions=Array(parts), **given)


def test_a_first_part_of_no_width_is_its_first_point():
    function = stitched(ramp(0.1, 0.2), ramp(0.4, 0.5), Bounds=[0])
    assert values(function, 0, 0.5, 1) == [[0.1], [0.45], [0.5]]


def test_a_last_part_of_no_width_is_its_first_point():
    function = stitched(ramp(0.1, 0.2), ramp(0.4, 0.5), Domain=[2, 6], Bounds=[6])
    assert values(function, 2, 4, 6, 9) == [[0.1], [0.15], [0.4], [0.4]]


def test_parts_of_other_widths_and_numbers_of_outputs():
    two = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 1], C1=[1, 0])
    function = stitched(ramp(0.2, 0.4), two, Domain=[2, 10], Bounds=[4], Encode=[1, 0, 0.5, 1])
    assert values(function, 2, 3, 4, 7, 10) == [[0.4, 0], [0.3, 0], [0.5, 0.5], [0.75, 0.25], [1, 0]]


@pytest.mark.parametrize(
    "keys",
    [
        {"Bounds": [0.5, 0.2]},
        {"Bounds": [0.5]},
        {"Bounds": [0.2, 0.4, 0.6]},
        {"Encode": [0, 1] * 2},
        {"Encode": [0, 1] * 4},
        {"Domain": [0, 1, 0, 1]},
    ],
    ids=str,
)
def test_stitching_functions_that_do_not_fit(keys):
    with pytest.raises(FunctionFault):
        values(stitched(ramp(0, 1), ramp(0, 1), ramp(0, 1), **{"Bounds": [0.2, 0.4], **keys}), 0.5)


def test_a_stitching_function_without_parts_cannot_be_read():
    with pytest.raises(FunctionFault):
        read_functions(stitched())


@pytest.mark.parametrize(("depth", "reads"), [(8, True), (9, False)])
def test_functions_stand_in_each_other_eight_deep(depth, reads):
    function = ramp(0, 1)
    for _ in range(depth):
        function = stitched(function)
    if reads:
        assert values(function, 0.25) == [[0.25]]
    else:
        with pytest.raises(FunctionFault):
            read_functions(function)


def test_an_array_of_functions_gives_the_outputs_of_each_in_order():
    two = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 1], C1=[1, 0])
    assert values(Array([ramp(0.5, 0.5), two]), 0.25) == [[0.5, 0.25, 0.75]]
    assert values(Array([two]), 0.25) == [[0.25, 0.75]]


GRID = bytes([0, 255, 51, 204, 102, 153, 153, 102, 204, 51, 255, 0])
"""Three columns and two rows of two outputs: a fifth more in each, and what is left of it."""


def grid(pdf, data: bytes = GRID, **keys: object) -> Object:
    given = {
        "FunctionType": 0, "BitsPerSample": 8, "Size": Array([3, 2]), "Domain": Array([2, 6, 0, 1]),
        "Range": Array([0, 1, 0, 2]), **keys,
    }  # fmt: skip
    return stream(pdf, data, **{key: value for key, value in given.items() if value is not None})


def test_samples_lie_between_the_ends_of_the_domain(pdf):
    found = values(grid(pdf), (2, 0), (4, 0), (5, 0), (6, 1), (4, 0.5), (0, -1), (9, 9))
    assert found == [[0, 2], [0.2, 1.6], [0.3, 1.4], [1, 0], [0.5, 1], [0, 2], [1, 0]]


def test_samples_are_encoded_and_decoded(pdf):
    function = grid(pdf, Encode=Array([2, 0, 0, 1]), Decode=Array([0, 0.5, 1, 0]))
    assert values(function, (2, 0), (5, 1), (6, 0)) == [[0.2, 0.4], [0.35, 0.7], [0, 0]]
    beyond = grid(pdf, Encode=Array([-2, 9, 0, 0]))
    assert values(beyond, (2, 0), (6, 1)) == [[0, 2], [0.4, 1.2]]


def test_an_axis_of_one_sample_is_the_same_all_along(pdf):
    function = grid(pdf, bytes([51, 102]), Size=Array([1, 1]))
    assert values(function, (2, 0), (5, 1)) == [[0.2, 0.8]] * 2


@pytest.mark.parametrize(
    "keys",
    [
        {"Size": None},
        {"Size": Array([3])},
        {"Size": Array([0, 2])},
        {"Size": Array([3, -2])},
        {"Size": Array([3, 3])},
        {"Range": None},
        {"Range": Array([0, 1, 0])},
        {"BitsPerSample": 3},
        {"BitsPerSample": None},
        {"Filter": Name.Odd},
    ],
    ids=str,
)
def test_sampled_functions_that_do_not_fit(pdf, keys):
    with pytest.raises(FunctionFault):
        read_functions(grid(pdf, **keys))


@pytest.mark.parametrize(("inputs", "reads"), [(4, True), (5, False)])
def test_samples_of_four_inputs_at_most(pdf, inputs, reads):
    data, size = bytes(range(2**inputs)), Array([2] * inputs)
    function = grid(pdf, data, Size=size, Domain=Array([0, 1] * inputs), Range=Array([0, 255]))
    if reads:
        assert values(function, (1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0), (0, 0, 0, 1), (1, 0, 1, 0)) == [
            [1], [2], [4], [8], [5]
        ]  # fmt: skip
    else:
        with pytest.raises(FunctionFault):
            read_functions(function)


@pytest.mark.parametrize(("most", "reads"), [(12, True), (11, False)])
def test_samples_up_to_a_bound(pdf, most, reads, monkeypatch):
    monkeypatch.setattr(functions, "_MOST_BYTES", most)
    if reads:
        assert values(grid(pdf), (6, 1)) == [[1, 0]]
    else:
        with pytest.raises(FunctionFault):
            read_functions(grid(pdf))


@pytest.mark.parametrize(
    ("data", "bits", "found"),
    [
        (b"\xb0", 1, [1, 0, 1, 1]),
        (b"\xd8", 2, [1, 1 / 3, 2 / 3]),
        (b"\x1f\xa0", 4, [1 / 15, 1, 10 / 15]),
        (b"\x00\x33\xff", 8, [0, 0.2, 1]),
        (b"\xff\xf0\x00\x80\x00", 12, [1, 0, 2048 / 4095]),
        (b"\x00\x00\xff\xff\x33\x33", 16, [0, 1, 0.2]),
        (b"\x00\x00\x01\xff\xff\xff", 24, [1 / (2**24 - 1), 1]),
        (b"\x33\x33\x33\x33\xff\xff\xff\xff", 32, [0.2, 1]),
    ],
)
def test_numbers_of_any_number_of_bits(data, bits, found):
    for given in (data, data + b"\0"):
        numbers = unpacked(given, bits, len(found))
        assert numbers is not None
        assert numbers.tolist() == pytest.approx(found)
    assert unpacked(data, bits, len(data) * 8 // bits + 1) is None


@pytest.mark.parametrize(("most", "reads"), [(9, True), (8, False)])
def test_programs_up_to_a_bound(pdf, most, reads, monkeypatch):
    monkeypatch.setattr(functions, "_MOST_PROGRAM_BYTES", most)
    function = stream(pdf, b"{ 2 div }", FunctionType=4, Domain=Array([0, 1]), Range=Array([0, 1]))
    if reads:
        assert values(function, 0.5) == [[0.25]]
    else:
        with pytest.raises(FunctionFault):
            read_functions(function)


def test_a_program_without_a_range_cannot_be_read(pdf):
    with pytest.raises(FunctionFault):
        read_functions(stream(pdf, b"{ 2 div }", FunctionType=4, Domain=Array([0, 1])))
