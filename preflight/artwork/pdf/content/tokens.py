"""Content streams to tokens, fast: numpy finds the token boundaries and converts the numbers in bulk.

A content stream of a heavy carton is tens of megabytes of path operators, so bytes are classified, split and
converted in whole arrays. Strings, arrays, dictionaries, comments and inline images go a slower, exact way first:
each becomes one *composite* token, and the fast way then steps over it.

Wrong input, by number:

1. A stray closing delimiter (``)``, ``>``, ``]``, ``}``) is white space.
2. A string, array or dictionary that never ends runs to the end of the stream.
3. A number in no legal form is read up to its first illegal character (``1.2.3`` is 1.2, ``--5`` is -5); nothing is 0.
4. Operands that no operator follows are dropped.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.pdf.structure.prefetch import made_ahead

CHUNK_BYTES = 4_000_000
_SEARCH_BYTES = 1 << 18

NUMBER, NAME, COMPOSITE, WORD = 0, 1, 2, 3

_SPACE, _REGULAR, _NUMERIC, _SLASH, _COMPOSITE = 0, 1, 2, 3, 4
_CLASS = np.full(256, _REGULAR, np.uint8)
_CLASS[list(b" \t\r\n\f\0)>]{}")] = _SPACE  # rule 1
_CLASS[list(b"+-.0123456789")] = _NUMERIC
_CLASS[ord("/")] = _SLASH
_POWERS = 10.0 ** np.arange(20)
_LONGEST_FAST = 16
_PERCENT = ord("%")

_OPENS = np.zeros(256, bool)
_OPENS[list(b"(<[%")] = True
_INLINE_IMAGE = re.compile(rb"BI(?=[\s/])")
_BEFORE_OPERATOR = b" \t\r\n\f\0)>]}"
_STRING_PART = re.compile(rb"[^()\\]*(?:\\.[^()\\]*)*", re.DOTALL)
_END_OF_INLINE_IMAGE = re.compile(rb"(?<=\s)EI(?=[\s]|$)")
_LENIENT_NUMBER = re.compile(rb"([+-]*)(\d*\.?\d*)")
_NESTED = re.compile(rb"[()<>\[\]%]")


@dataclass(frozen=True)
class Chunk:
    """Tokens of a stretch of a content stream, and its operators.

    Token arrays have one entry a token; ``values`` is the number of a NUMBER token and 0 for all others. Operator
    arrays have one entry an operator; the operands of operator i are tokens ``operands_from[i]`` up to, not
    including, ``operator_token[i]``.
    """

    start: NDArray[np.int64]
    end: NDArray[np.int64]
    kind: NDArray[np.uint8]
    values: NDArray[np.float64]
    operator_token: NDArray[np.int64]
    operands_from: NDArray[np.int64]
    operator_code: NDArray[np.int64]


def operator_code(word: bytes) -> int:
    """The number under which ``Chunk.operator_code`` holds an operator: its first three bytes and its length."""
    b = word[:3].ljust(3, b"\0")
    return b[0] | b[1] << 8 | b[2] << 16 | min(len(word), 255) << 24


def scan_ahead(data: bytes) -> Iterator[Chunk]:
    """As ``scan``; of a long stream a second thread scans the next chunk while the caller works on one."""
    return scan(data) if len(data) < 2 * CHUNK_BYTES else made_ahead(scan(data))


def scan(data: bytes) -> Iterator[Chunk]:
    """Tokens of a content stream, chunk by chunk; a chunk ends behind an operator."""
    buffer = np.frombuffer(data, np.uint8)
    composites = _composites(data, buffer)
    begin = 0
    next_composite = 0
    while begin < len(data):
        end = min(begin + CHUNK_BYTES, len(data))
        last = next_composite
        while last < len(composites) and composites[last][0] < end:
            last += 1
        here = composites[next_composite:last]
        if here and here[-1][1] > end:
            end = here[-1][1]
        chunk = _scan_stretch(buffer, begin, end, here, is_last=end >= len(data))
        if not len(chunk.operator_token):
            if end >= len(data):
                return
            # No operator in a whole chunk: operands without end. Rule 4.
            begin, next_composite = end, last
            continue
        yield chunk
        begin = int(chunk.end[chunk.operator_token[-1]])
        while next_composite < last and composites[next_composite][0] < begin:
            next_composite += 1


def _scan_stretch(
    buffer: NDArray[np.uint8], begin: int, end: int, composites: list[tuple[int, int]], *, is_last: bool
) -> Chunk:
    classes = _CLASS[buffer[begin:end]]
    for a, b in composites:
        classes[a - begin : b - begin] = _SPACE if buffer[a] == _PERCENT else _COMPOSITE  # a comment is white space
    starts_composite = np.array([a - begin for a, _ in composites if buffer[a] != _PERCENT], np.int64)
    inked = classes != _SPACE
    begins = inked.copy()
    begins[1:] &= ~inked[:-1]
    slashes = classes == _SLASH
    begins |= slashes
    if composites:
        # A composite is a token of its own even where no space parts it from its neighbours.
        is_composite = classes == _COMPOSITE
        edge = np.zeros(len(classes), bool)
        edge[1:] = is_composite[1:] != is_composite[:-1]
        begins |= edge & inked
        begins[starts_composite] = True
    # A token ends where white space or the next token begins.
    ends = inked.copy()
    ends[:-1] &= ~inked[1:] | begins[1:]
    start, stop = np.flatnonzero(begins), np.flatnonzero(ends) + 1
    first = classes[start]
    kind = np.full(len(start), WORD, np.uint8)
    kind[first == _NUMERIC] = NUMBER
    kind[first == _SLASH] = NAME
    kind[first == _COMPOSITE] = COMPOSITE
    if not is_last and len(start) and stop[-1] == len(classes):
        # The last token may go on in the next stretch.
        start, stop, kind = start[:-1], stop[:-1], kind[:-1]
    return _with_operators(buffer[begin:end], start, stop, kind, begin)


def _with_operators(
    stretch: NDArray[np.uint8], start: NDArray[np.int64], stop: NDArray[np.int64], kind: NDArray[np.uint8], begin: int
) -> Chunk:
    words = np.flatnonzero(kind == WORD)
    codes = _codes(stretch, start[words], stop[words])
    is_operand = np.isin(codes, _OPERAND_WORDS)
    operators, codes = words[~is_operand], codes[~is_operand]
    values = np.zeros(len(start))
    numbers = np.flatnonzero(kind == NUMBER)
    values[numbers] = numbers_of(stretch, start[numbers], stop[numbers])
    operands_from = np.append(0, operators[:-1] + 1) if len(operators) else operators
    return Chunk(start + begin, stop + begin, kind, values, operators, operands_from, codes)


def _codes(stretch: NDArray[np.uint8], start: NDArray[np.int64], stop: NDArray[np.int64]) -> NDArray[np.int64]:
    length = stop - start
    padded = np.append(stretch, np.zeros(3, np.uint8))
    code = padded[start].astype(np.int64)
    for byte in (1, 2):
        code |= np.where(length > byte, padded[start + byte], 0).astype(np.int64) << (8 * byte)
    return np.asarray(code | np.minimum(length, 255) << 24)


def numbers_of(stretch: NDArray[np.uint8], start: NDArray[np.int64], stop: NDArray[np.int64]) -> NDArray[np.float64]:
    """Numbers of many tokens at once; byte ``start`` up to ``stop`` of the stretch each."""
    values = np.empty(len(start))
    padded = np.append(stretch, np.full(_LONGEST_FAST, 32, np.uint8))
    windows = np.lib.stride_tricks.as_strided(padded, (len(stretch) + 1, _LONGEST_FAST), (1, 1))
    step = 1 << 15
    for a in range(0, len(start), step):
        values[a : a + step] = _numbers(stretch, windows, start[a : a + step], stop[a : a + step])
    return values


def _numbers(
    stretch: NDArray[np.uint8], windows: NDArray[np.uint8], start: NDArray[np.int64], stop: NDArray[np.int64]
) -> NDArray[np.float64]:
    length = stop - start
    width = min(int(length.max(initial=1)), _LONGEST_FAST)
    columns = np.ascontiguousarray(windows[start, :width].T)
    mantissa = np.zeros(len(start))
    decimals = np.zeros(len(start), np.int64)
    seen_dot = np.zeros(len(start), bool)
    legal = length <= _LONGEST_FAST
    negative = columns[0] == ord("-")
    signed = negative | (columns[0] == ord("+"))
    for j in range(width):
        digit = columns[j] - np.uint8(48)
        is_digit = digit < 10
        inside = j < length
        is_digit &= inside
        mantissa = np.where(is_digit, mantissa * 10.0 + digit, mantissa)
        decimals += is_digit & seen_dot
        is_dot = columns[j] == ord(".")
        is_dot &= inside
        odd = inside & ~is_digit & ~is_dot
        if j == 0:
            odd &= ~signed
        odd |= is_dot & seen_dot
        legal &= ~odd
        seen_dot |= is_dot
    values = mantissa / _POWERS[decimals]
    np.negative(values, where=negative, out=values)
    for i in np.flatnonzero(~legal):
        values[i] = _lenient(stretch[start[i] : stop[i]].tobytes())
    return values


def _lenient(token: bytes) -> float:
    """Rule 3."""
    match = _LENIENT_NUMBER.match(token)
    if not match or not match[2].strip(b"."):
        return 0.0
    value = float(match[2][:300])
    return -value if b"-" in match[1] else value


def _composites(data: bytes, buffer: NDArray[np.uint8]) -> list[tuple[int, int]]:
    """Byte ranges of strings, arrays, dictionaries, comments and inline images, outermost only."""
    found = []
    position = 0
    for at in _openings(buffer):
        if at < position:
            continue
        if data[at] == ord("B"):
            if not _INLINE_IMAGE.match(data, at) or (at and data[at - 1] not in _BEFORE_OPERATOR):
                continue
            # BI and its data are one composite; EI stays a word, so that it acts as the operator.
            position = max(end_of_inline_image(data, at) - 2, at + 2)
        else:
            position = _end_of_composite(data, at)
        found.append((at, position))
    return found


def _openings(buffer: NDArray[np.uint8]) -> Iterator[int]:
    """Bytes that may open a composite; looked for a chunk at a time, so that the working arrays stay in the cache."""
    for first in range(0, len(buffer), _SEARCH_BYTES):
        part = buffer[first : first + _SEARCH_BYTES]
        opens = _OPENS[part]
        following = buffer[first + 1 : first + 1 + len(part)]
        opens[: len(following)] |= (part[: len(following)] == ord("B")) & (following == ord("I"))
        for at in np.flatnonzero(opens).tolist():
            yield first + at


def _end_of_composite(data: bytes, begin: int) -> int:
    if data[begin] == ord("("):
        return _end_of_string(data, begin)
    if data[begin] == ord("%"):
        return _end_of_comment(data, begin)
    if data[begin] == ord("<") and data[begin + 1 : begin + 2] != b"<":
        end = data.find(b">", begin)
        return end + 1 if end >= 0 else len(data)
    depth, position = 0, begin
    while match := _NESTED.search(data, position):
        at = match.start()
        character = data[at]
        position = at + 1
        if character in b"[<":
            if character == ord("<") and data[at + 1 : at + 2] != b"<":
                end = data.find(b">", at)
                position = end + 1 if end >= 0 else len(data)
                continue
            depth += 1
            position += character == ord("<")
        elif character in b"]>":
            depth -= 1
            position += character == ord(">") and data[at + 1 : at + 2] == b">"
        elif character == ord("("):
            position = _end_of_string(data, at)
        elif character == ord("%"):
            position = _end_of_comment(data, at)
        if depth <= 0:
            return position
    return len(data)  # rule 2


def _end_of_string(data: bytes, begin: int) -> int:
    depth, position = 1, begin + 1
    while depth:
        match = _STRING_PART.match(data, position)
        position = match.end() if match else position
        if position >= len(data):
            return len(data)  # rule 2
        if data[position] == ord("\\"):  # a lone backslash at the very end
            return len(data)
        depth += 1 if data[position] == ord("(") else -1
        position += 1
    return position


def _end_of_comment(data: bytes, begin: int) -> int:
    ends = [at for at in (data.find(b"\n", begin), data.find(b"\r", begin)) if at >= 0]
    return min(ends, default=len(data))


def end_of_inline_image(data: bytes, begin: int) -> int:
    """Byte behind the EI of the inline image whose BI stands at ``begin``; the stream's end where there is none.

    ISO 32000-2, 8.9.7: unfiltered data may hold the bytes EI, so an EI counts only where what follows it reads
    like content and not like samples.
    """
    search = begin
    while match := _END_OF_INLINE_IMAGE.search(data, search):
        after = data[match.end() : match.end() + 24]
        if all(9 <= b < 127 for b in after):
            return match.end()
        search = match.end()
    return len(data)


_OPERAND_WORDS = np.array([operator_code(w) for w in (b"true", b"false", b"null")], np.int64)
