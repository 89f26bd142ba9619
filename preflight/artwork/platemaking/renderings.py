"""Which plates are rendered together.

A rendering has three channels, so it can carry three plates; but an object that leaves one plate alone and paints
another cannot be left out of a rendering that holds both. Plates are therefore grouped so that no overprinting
object parts them; within a rendering every object either paints all of its plates or none.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.content.graphics_state import ALL_PLATES
from preflight.artwork.platemaking.blend_modes import BLENDED_TOGETHER

CHANNELS = 3


Light = Literal["RGB", "Gray"]
_PROCESS = frozenset(PROCESS)


@dataclass(frozen=True)
class Rendering:
    """Up to three channels that are rendered at once, each with the plates that it carries, usually one."""

    channels: tuple[tuple[str, ...], ...] = ()
    marked: tuple[str, ...] = ()
    """Those of its plates that registration colour marks."""
    luminosity: bool = False
    """No plates, but how light things are: the group of a soft mask."""
    silhouette: bool = False
    """No plates, but shapes, solid whatever their colour and alpha."""
    light: Light | None = None
    """No plates, but the process colours as light, for a group that is blended so; spots are bare in it."""

    @cached_property
    def plates(self) -> frozenset[str]:
        """All plates that it carries."""
        return frozenset(plate for channel in self.channels for plate in channel)

    def paints(self, painted: frozenset[str]) -> bool:
        """Whether an object that paints these plates paints this rendering."""
        no_plates = self.luminosity or self.silhouette
        plates = _PROCESS if self.light else self.plates
        return no_plates or ALL_PLATES in painted or not plates.isdisjoint(painted)

    @property
    def only_spots(self) -> bool:
        """No process plate among its plates."""
        return not (self.luminosity or self.silhouette or self.light) and self.plates.isdisjoint(PROCESS)


def can_blend_together(renderings: Sequence[Rendering]) -> bool:
    """Whether cyan, magenta and yellow are in one rendering, because nothing overprints that parts them."""
    return any(rendering.channels == tuple((plate,) for plate in BLENDED_TOGETHER) for rendering in renderings)


def for_nonseparable_modes(renderings: Sequence[Rendering]) -> list[Rendering]:
    """Renderings in which nonseparable blend modes come out as ISO 32000-2, 11.3.5.3, has them.

    It takes cyan, magenta and yellow for the complements of red, green and blue, as they are in one rendering. Black
    keeps what lies below, with Luminosity the source's: that is what comes of the same formulas for a grey, so black
    has all three channels of a rendering.
    """
    return [
        Rendering(rendering.channels * CHANNELS, rendering.marked) if rendering.plates == {"Black"} else rendering
        for rendering in renderings
    ]


LUMINOSITY = Rendering(luminosity=True)
"""For the groups of soft masks."""
SILHOUETTE = Rendering(silhouette=True)
"""For what knocks out of a group."""


def group_plates(
    plates: Sequence[str], painted: Iterable[frozenset[str]], inked: AbstractSet[str] = frozenset()
) -> list[Rendering]:
    """Renderings for the plates of a page.

    Args:
        plates: all of them, in order.
        painted: every set of plates that an object on the page paints.
        inked: plates that get ink of their own. Registration colour marks these; it does not make a plate of a
            colour that is named and never painted. Where nothing else is painted it marks all.
    """
    parting = [names for names in set(painted) if ALL_PLATES not in names and names]
    alike: dict[tuple[bool, ...], list[str]] = {}
    for plate in plates:
        alike.setdefault(tuple(plate in names for names in parting), []).append(plate)
    marked = plates_marked(plates, inked)
    groups = [
        tuple(group[first : first + CHANNELS]) for group in alike.values() for first in range(0, len(group), CHANNELS)
    ]
    return [rendering_of([(plate,) for plate in group], marked) for group in groups]


def rendering_of(channels: Sequence[tuple[str, ...]], marked: AbstractSet[str]) -> Rendering:
    """A rendering with these channels."""
    return Rendering(tuple(channels), tuple(plate for own in channels for plate in own if plate in marked))


def plates_marked(plates: Sequence[str], inked: AbstractSet[str]) -> AbstractSet[str]:
    """Plates that registration colour marks; see ``group_plates``."""
    return inked if any(plate in inked for plate in plates) else set(plates)
