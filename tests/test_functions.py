"""Functions of a PDF by ISO 32000-2, 7.10: values worked out by hand."""

from __future__ import annotations

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Object

from preflight.artwork.pdf.colour.functions import read_functions
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
