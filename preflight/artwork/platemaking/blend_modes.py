"""Blend modes (ISO 32000-2, 11.3.5), and the lists of those that plates are made differently for.

In all of them 1 is bare board and 0 is solid. Modes that none of the lists names need nothing.
"""

from __future__ import annotations

from typing import Final

NONSEPARABLE: Final = frozenset({"Hue", "Saturation", "Color", "Luminosity"})
"""These take cyan, magenta and yellow together, and not each plate by itself (11.3.5.3)."""
BLENDED_TOGETHER: Final = ("Cyan", "Magenta", "Yellow")
"""Plates that they take together."""
NOT_WHITE_PRESERVING: Final = frozenset({"Difference", "Exclusion"})
"""Separable modes that do not make bare board of bare board over bare board (11.7.4.2): they make a solid of it."""
NORMAL_ON_SPOTS: Final = NONSEPARABLE | NOT_WHITE_PRESERVING
"""For spots a mode has to be separable and to preserve white, and is Normal where it is not (11.7.4.2)."""
NOT_SQUARED: Final = NOT_WHITE_PRESERVING | {"Screen", "Overlay", "HardLight", "SoftLight", "ColorDodge", "ColorBurn"}
"""These change a colour that they blend with itself, and nothing that can be painted over it comes to the same: not
both on ink, on bare board that was painted, and where nothing lies below. Darken and Lighten leave it as it is, and so
do the nonseparable modes."""
CHANGING_WITH_ITSELF: Final = NOT_SQUARED | {"Multiply"}
"""All modes that change a colour that they blend with itself. Multiplied it can be painted: see ``overprint``."""
DIFFERENT_ON_BARE_BOARD: Final = NONSEPARABLE | NOT_SQUARED | {"Lighten"}
"""Ink over white is not what it is over nothing with these, and the page begins with nothing (11.4.7). Lighten is
among them, though it leaves alone what it blends with itself; Multiply and Darken leave ink over white as it is."""
