"""Functions of a PDF (ISO 32000-2, 7.10), evaluated for many inputs at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.pdf.structure.stream_decoding import read_stream
from preflight.artwork.pdf.structure.values import items, lookup, number, numbers, whole
from preflight.errors import CalculatorFault, FunctionFault, OverLimit, Undecodable

ValueRows = NDArray[np.float64]
"""Inputs or outputs of one evaluation a row."""
Evaluate = Callable[[ValueRows], ValueRows]
"""(k, inputs) to (k, outputs)."""

_MOST_BYTES: Final = 8_000_000
_MOST_PROGRAM_BYTES: Final = 200_000
_MOST_PARTS: Final = 10_000
"""Functions within a function, all together."""
_MOST_OUTPUTS: Final = 256
_DEEPEST: Final = 8


def read_functions(value: Any) -> Evaluate:
    """A function, or an array of functions each of which gives some of the outputs.

    What it hands out raises FunctionFault too: a calculator may come to grief on its inputs.

    Raises:
        FunctionFault: it cannot be read.
    """
    reader = _Reader()
    parts = [reader.read(part, 0) for part in items(value, _MOST_OUTPUTS)] or [reader.read(value, 0)]
    return parts[0] if len(parts) == 1 else lambda rows: np.hstack([part(rows) for part in parts])


class _Reader:
    """Counts what it has read: a function may hold itself, a thousand times."""

    def __init__(self) -> None:
        self.parts = 0

    def read(self, function: Any, depth: int) -> Evaluate:
        """One function; ``depth`` functions are round about it."""
        self.parts += 1
        if depth > _DEEPEST or self.parts > _MOST_PARTS:
            raise FunctionFault("a function of too many parts")
        return _one(function, lambda part: self.read(part, depth + 1))


def _one(function: Any, read: Callable[[Any], Evaluate]) -> Evaluate:
    kind, domain = whole(lookup(function, "FunctionType")), numbers(lookup(function, "Domain"))
    if not domain or len(domain) % 2:
        raise FunctionFault("a function without a domain")
    if kind == 0:
        inner = _sampled(function, domain)
    elif kind == 2:
        inner = _exponential(function)
    elif kind == 3:
        inner = _stitching(function, domain, read)
    elif kind == 4:
        inner = _calculator(function)
    else:
        raise FunctionFault(f"there is no function of type {kind}")
    low, high = np.array(domain).reshape(-1, 2).T
    limits = numbers(lookup(function, "Range"))

    def evaluate(rows: ValueRows) -> ValueRows:
        if rows.shape[1] != len(low):
            raise FunctionFault(f"a function of {len(low)} inputs is given {rows.shape[1]}")
        values = np.nan_to_num(inner(np.clip(rows, low, high)), posinf=1e9, neginf=-1e9)
        if not limits:
            return values
        if len(limits) != 2 * values.shape[1]:
            raise FunctionFault("the range of a function has not as many parts as its output")
        return np.clip(values, limits[::2], limits[1::2])

    return evaluate


def _exponential(function: Any) -> Evaluate:
    """7.10.3; the exponent is applied as it stands, 0 to the power of 0 is 1."""
    first = np.array(numbers(lookup(function, "C0")) or [0.0])
    last = np.array(numbers(lookup(function, "C1")) or [1.0])
    power = number(lookup(function, "N"))
    if power is None or len(first) != len(last):
        raise FunctionFault("an exponential function without an exponent, or with ends that do not match")

    def evaluate(rows: ValueRows) -> ValueRows:
        with np.errstate(all="ignore"):
            return np.asarray(first + rows[:, :1] ** power * (last - first))

    return evaluate


def _stitching(function: Any, domain: list[float], read: Callable[[Any], Evaluate]) -> Evaluate:
    """7.10.4: each part from its bound up to the next one, the last with its end."""
    parts = [read(part) for part in items(lookup(function, "Functions"), _MOST_PARTS)]
    bounds = np.array(numbers(lookup(function, "Bounds")) or [])
    encode = numbers(lookup(function, "Encode"), 2 * len(parts))
    if not parts or len(bounds) != len(parts) - 1 or encode is None or len(domain) != 2 or (np.diff(bounds) < 0).any():
        raise FunctionFault("a stitching function whose bounds and parts do not match")
    edges = np.array([domain[0], *bounds, domain[1]])

    def evaluate(rows: ValueRows) -> ValueRows:
        given = rows[:, 0]
        at = np.searchsorted(bounds, given, side="right")
        at[given == domain[0]] = 0  # a first part of no width is its first point
        found: dict[int, ValueRows] = {}
        for part in np.unique(at).tolist():
            start, width, low, high = edges[part], edges[part + 1] - edges[part], *encode[2 * part : 2 * part + 2]
            inputs = given[at == part]
            share = (inputs - start) / width if width > 0 else np.zeros(len(inputs))
            found[part] = parts[part]((low + share * (high - low))[:, None])
        values = np.zeros((len(rows), max((part.shape[1] for part in found.values()), default=0)))
        for part, outputs in found.items():
            values[at == part, : outputs.shape[1]] = outputs
        return values

    return evaluate


def _sampled(function: Any, domain: list[float]) -> Evaluate:
    """7.10.2, linear between the samples; of cubic splines too, which nobody draws."""
    inputs = len(domain) // 2
    table = sample_table(function, inputs)
    encode = numbers(lookup(function, "Encode"), 2 * inputs)
    sizes = table.shape[:inputs]
    ends = np.array(encode or [limit for size in sizes for limit in (0, size - 1)]).reshape(-1, 2)
    low, high = np.array(domain).reshape(-1, 2).T
    width = np.where(high > low, high - low, 1.0)

    def evaluate(rows: ValueRows) -> ValueRows:
        places = np.clip(ends[:, 0] + (rows - low) / width * (ends[:, 1] - ends[:, 0]), 0, np.array(sizes) - 1)
        first = np.minimum(np.floor(places).astype(np.intp), np.maximum(np.array(sizes) - 2, 0))
        share = places - first
        values = np.zeros((len(rows), table.shape[-1]))
        for corner in range(1 << inputs):
            ahead = np.array([corner >> axis & 1 for axis in range(inputs)])
            weight = np.where(ahead, share, 1 - share).prod(axis=1)
            index = np.minimum(first + ahead, np.array(sizes) - 1)
            values += weight[:, None] * table[tuple(index.T)]
        return values

    return evaluate


def sample_table(function: Any, inputs: int) -> ValueRows:
    """Samples of a sampled function, decoded: one axis for each input, the last one the outputs.

    Raises:
        FunctionFault: they cannot be read.
    """
    sizes, limits = numbers(lookup(function, "Size"), inputs), numbers(lookup(function, "Range"))
    bits = whole(lookup(function, "BitsPerSample"))
    if sizes is None or not limits or len(limits) % 2 or bits not in (1, 2, 4, 8, 12, 16, 24, 32) or inputs > 4:
        raise FunctionFault("a sampled function without its sizes")
    outputs = len(limits) // 2
    count = outputs
    for size in sizes:
        count *= max(int(size), 0)
    if not 0 < count * bits <= 8 * _MOST_BYTES:
        raise FunctionFault("a sampled function without samples, or with too many")
    try:
        data = read_stream(function, _MOST_BYTES)
    except (OverLimit, Undecodable) as fault:
        raise FunctionFault(f"a sampled function that cannot be read: {fault}") from fault
    samples = unpacked(data, bits, count)
    if samples is None:
        raise FunctionFault("a sampled function with too few samples")
    decode = np.array(numbers(lookup(function, "Decode"), len(limits)) or limits).reshape(-1, 2)
    table = samples.reshape(*(int(size) for size in sizes[::-1]), outputs)
    values = decode[:, 0] + table * (decode[:, 1] - decode[:, 0])
    return np.asarray(values.transpose(*range(inputs - 1, -1, -1), inputs))


def unpacked(data: bytes, bits: int, count: int) -> ValueRows | None:
    """So many numbers of 1 to 32 bits, one right after the other, as 0..1; None where the data are too short."""
    if len(data) * 8 < count * bits:
        return None
    if bits in (8, 16, 32):
        return np.frombuffer(data, f">u{bits // 8}", count) / (2.0**bits - 1)
    spread = np.unpackbits(np.frombuffer(data, np.uint8, (count * bits + 7) // 8))[: count * bits].reshape(count, bits)
    values = np.zeros(count)
    for place in range(bits):
        values = 2 * values + spread[:, place]
    return values / (2.0**bits - 1)


def _calculator(function: Any) -> Evaluate:
    limits = numbers(lookup(function, "Range"))
    try:
        from preflight.artwork.pdf.colour.calculator_functions import calculator  # few files need it

        run = calculator(read_stream(function, _MOST_PROGRAM_BYTES))
    except (OverLimit, Undecodable, CalculatorFault) as fault:
        raise FunctionFault(f"a calculator function that cannot be read: {fault}") from fault
    if not limits:
        raise FunctionFault("a calculator function without a range")
    outputs = len(limits) // 2

    def evaluate(rows: ValueRows) -> ValueRows:
        try:
            return run(rows, outputs)
        except CalculatorFault as fault:
            raise FunctionFault(str(fault)) from fault

    return evaluate
