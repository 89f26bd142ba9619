"""A CMYK printer profile made by hand, as small as the format allows (ICC.1, lut8Type): white is bare, black heavy."""

from __future__ import annotations

import struct


def cmyk_profile(total_percent: float, *, space: bytes = b"CMYK", kind: bytes = b"prtr") -> bytes:
    """Profile whose darkest colour is built from four equal tints of this total."""
    tint = round(total_percent / 4 * 2.55)
    corners = b"".join(bytes([0 if light else tint] * 4) for light in (0, 1) for _ in range(4))
    identity = struct.pack(">9i", *(65536 if i % 4 == 0 else 0 for i in range(9)))
    ramp = bytes(range(256))
    lut = b"mft1" + bytes(4) + bytes([3, 4, 2, 0]) + identity + ramp * 3 + corners + ramp * 4
    words = b"Made for a test"
    description = b"desc" + bytes(4) + struct.pack(">I", len(words) + 1) + words + bytes(1 + 4 + 4 + 2 + 1 + 67)
    white = b"XYZ " + bytes(4) + struct.pack(">3i", 63190, 65536, 54061)
    tags = [(b"desc", description), (b"wtpt", white), (b"B2A0", lut), (b"cprt", b"text" + bytes(4) + words + bytes(1))]
    at, table, data = 128 + 4 + 12 * len(tags), b"", b""
    for name, content in tags:
        table += name + struct.pack(">II", at + len(data), len(content))
        data += content + bytes(-len(content) % 4)
    body = struct.pack(">I", len(tags)) + table + data
    header = struct.pack(
        ">I4sI4s4s4s6H4s4sI4s4sQI3i", 128 + len(body), b"lcms", 0x02100000, kind, space, b"Lab ", 2024, 1, 1, 0, 0, 0,
        b"acsp", b"APPL", 0, b"none", b"none", 0, 0, 63190, 65536, 54061,
    )  # fmt: skip
    return header + bytes(128 - len(header)) + body
