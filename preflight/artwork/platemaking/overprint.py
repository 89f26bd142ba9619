"""Plates that an overprinting object leaves alone, and what it does to them nevertheless.

In an isolated group, where nothing lies below, its own tint of zero shows (ISO 32000-2, 11.7.4.3, the backdrop's alpha
being zero). That is painted as bare board with blend mode Darken, which changes nothing where something does lie below.

With a blend mode the object is an implicit group that is not isolated (11.7.4.3): in it the plate is as it is below,
and so what lies below is blended with itself. Multiplied with itself it is the same as under a solid in SoftLight
(11.3.5.2: with a source of 0 that is b - b (1 - b)).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import meeting
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.content.graphics_state import painted_plates
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.stream_content import Content, TilingCell, Type3Glyphs
from preflight.artwork.platemaking.blend_modes import (
    CHANGING_WITH_ITSELF,
    NORMAL_ON_SPOTS,
    NOT_SQUARED,
    NOT_WHITE_PRESERVING,
)
from preflight.artwork.platemaking.renderings import Rendering
from preflight.errors import CannotBeRendered


class BlendedShape(NamedTuple):
    """The shape of an object, painted once: bare board or solid, in a blend mode."""

    mode: str
    solid: bool


BARE = BlendedShape("Darken", False)
SQUARED = BlendedShape("SoftLight", True)
"""What comes to the same as multiplying what lies below with itself."""


def changes_plates_left_alone(mode: str, rendering: Rendering) -> bool:
    """Whether an object in a blend mode changes the plates of a rendering that its overprint leaves alone.

    On spots a mode that does not keep white is Normal (11.7.4.2).
    """
    if rendering.luminosity or rendering.silhouette or (rendering.only_spots and mode in NORMAL_ON_SPOTS):
        return False
    return mode in CHANGING_WITH_ITSELF


def blended_shapes(
    mode: str, rendering: Rendering, meets_ink: Callable[[], bool], *, isolated: bool, faint: bool
) -> list[BlendedShape]:
    """What an object paints on plates that it leaves alone, in order.

    Args:
        mode: its blend mode.
        rendering: of plates that it leaves alone.
        meets_ink: whether something may lie below it; asked where it matters.
        isolated: it stands in an isolated group, or on a page that is composed on nothing.
        faint: it has an opacity or a soft mask.

    Raises:
        NotDrawn: something lies below that cannot be blended with itself.
    """
    first = [BARE] if isolated else []
    if not changes_plates_left_alone(mode, rendering):
        return first
    if mode == "Multiply" and not isolated:
        return [SQUARED]
    if not meets_ink():
        return first
    if mode in NOT_SQUARED:
        raise CannotBeRendered(f"an object that overprints in the blend mode {mode}")
    if faint:
        raise CannotBeRendered(f"an object in an isolated group that overprints at an opacity in the blend mode {mode}")
    return [*first, SQUARED]


def meets_ink(
    page: PageContent, content: Content, row: int, rendering: Rendering, sights: NDArray[np.float64], mode: str
) -> bool:
    """Whether something may lie below a row on the plates of a rendering; False only where that is certain.

    Args:
        page: has the tables that rows point into.
        content: the stream of the row.
        row: of the stream.
        rendering: of plates that the row leaves alone.
        sights: boxes that the rows of the stream show in.
        mode: the row's; where bare board with itself is solid, that counts as ink.
    """
    if content.depth and not content.own_isolated:
        return True
    own = tuple(sights[row].tolist())
    if any(call.row <= row and _meet(call.clip, own) for call in content.calls):
        return True
    near = meeting(sights[:row], own) & ~content.hidden[:row]
    if mode in NOT_WHITE_PRESERVING:
        return bool(near.any())
    sorts = np.column_stack([content.colour[:row][near], content.state[:row][near], content.stroked[:row][near]])
    return any(
        _inks(page, colour, state, bool(stroked), rendering)
        for colour, state, stroked in np.unique(sorts, axis=0).tolist()
    )


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def _inks(page: PageContent, colour: int, state: int, stroked: bool, rendering: Rendering) -> bool:
    if isinstance(page.palette.entries[colour].pattern, TilingCell | Type3Glyphs):
        return True
    what, overprint = page.palette.colours[colour], page.states[state].overprint
    painted = painted_plates(what, overprint=overprint.of(stroked=stroked), opm=overprint.mode)
    if not rendering.paints(painted):
        return False
    plates = PROCESS if rendering.light else rendering.plates
    return any(tint > 0 and (what.registration or name in plates) for name, tint in what.tints)
