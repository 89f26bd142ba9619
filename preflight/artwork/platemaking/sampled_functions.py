"""Sampled functions of two inputs with more samples than the file has.

PDFium follows each input by itself from one corner of a square of samples, and is wrong where two inputs act
together; between close samples that does not show.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Stream

from preflight.artwork.structure.streams import OverLimit, Undecodable, read_stream
from preflight.artwork.structure.values import lookup, numbers, whole

_STEPS = 128
_MOST_BYTES = 50_000_000


def closer_samples(function: Any, out: pikepdf.Pdf) -> Stream | None:
    """The function (ISO 32000-2, 7.10.2) in another file with 128 x 128 samples; None for what is no such function."""
    if whole(lookup(function, "FunctionType")) != 0:
        return None
    size, domain = numbers(lookup(function, "Size"), 2), numbers(lookup(function, "Domain"), 4)
    limits = _range(function)
    if size is None or domain is None or limits is None or not all(2 <= n <= 65536 for n in size):
        return None
    columns, rows = int(size[0]), int(size[1])
    samples = _samples(function, columns * rows * len(limits))
    if samples is None:
        return None
    decode = np.array(numbers(lookup(function, "Decode"), limits.size) or limits.ravel()).reshape(-1, 2)
    encode = numbers(lookup(function, "Encode"), 4) or [0, columns - 1, 0, rows - 1]
    table = decode[:, 0] + samples.reshape(rows, columns, -1) * (decode[:, 1] - decode[:, 0])
    table = np.clip(table, limits[:, 0], limits[:, 1])
    across = np.clip(np.linspace(encode[0], encode[1], _STEPS), 0, columns - 1)
    up = np.clip(np.linspace(encode[2], encode[3], _STEPS), 0, rows - 1)
    finer = _between(_between(table, up, 0), across, 1)
    share = (finer - limits[:, 0]) / np.maximum(limits[:, 1] - limits[:, 0], 1e-9)
    made = out.make_stream(np.rint(share * 65535).astype(">u2").tobytes())
    made.FunctionType, made.BitsPerSample, made.Size = 0, 16, Array([_STEPS, _STEPS])
    made.Domain, made.Range = Array(domain), Array([float(v) for v in limits.ravel()])
    return made


def _range(function: Any) -> NDArray[np.float64] | None:
    given = numbers(lookup(function, "Range"))
    return np.array(given).reshape(-1, 2) if given and len(given) % 2 == 0 else None


def _samples(function: Any, count: int) -> NDArray[np.float64] | None:
    """All samples as 0..1, in the order of the file; None where they cannot be read."""
    bits = whole(lookup(function, "BitsPerSample"))
    if bits not in (1, 2, 4, 8, 12, 16, 24, 32) or count * bits > _MOST_BYTES:
        return None
    try:
        data = read_stream(function, _MOST_BYTES)
    except (OverLimit, Undecodable):
        return None
    spread = np.unpackbits(np.frombuffer(data, np.uint8))[: count * bits]
    if len(spread) < count * bits:
        return None
    weights = 2.0 ** np.arange(bits - 1, -1, -1)
    return np.asarray(spread.reshape(count, bits) @ weights / (2.0**bits - 1))


def _between(table: NDArray[np.float64], at: NDArray[np.float64], axis: int) -> NDArray[np.float64]:
    """Linear interpolation along one axis at fractional indices."""
    low = np.minimum(np.floor(at).astype(np.int64), table.shape[axis] - 2)
    shape = [1, 1, 1]
    shape[axis] = len(at)
    share = (at - low).reshape(shape)
    return np.asarray(table.take(low, axis) * (1 - share) + table.take(low + 1, axis) * share)
