"""One page as it is handed out: boxes, layers, separations, objects, and its plates at any resolution."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import IDENTITY, Box, Matrix
from preflight.artwork.page.objects import ObjectTable
from preflight.artwork.page.uncertain_places import UncertainPlace

if TYPE_CHECKING:
    from preflight.artwork.page.plates import Plates
    from preflight.artwork.page.separations import Separation


Antialiasing = Literal["smooth", "sharp"]
"""How edges come out; see ``Page.window``."""


@dataclass(frozen=True)
class PageBoxes:
    """Boxes in mm as displayed (Rotate and UserUnit applied), from the media box's lower-left corner.

    ``None`` where the page has no such key or it is unusable; a usable box is cut to the media box, and what
    had to be tidied stands in ``remarks``.
    """

    media: Box
    crop: Box | None = None
    bleed: Box | None = None
    trim: Box | None = None
    art: Box | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Layer:
    """An optional-content group that something on the page is painted in."""

    name: str
    prints: bool
    """Shown in the default configuration and not hidden for printing."""
    step_group: str = ""
    """ISO 19593-1 GTS_ProcStepsGroup (``Structural``, ``White`` …); empty where it is no processing step."""
    step_type: str = ""
    """ISO 19593-1 GTS_ProcStepsType (``Cutting`` …)."""
    remark: str = ""
    """What is odd about its metadata (unknown type, keys in the wrong place)."""
    switched_on: bool = True
    """Shown on screen in the default configuration, whatever is said of printing."""
    seen: bool = True
    """Shown on screen, once the automatic states of viewing are in effect (ISO 32000-2, 8.11.4.5)."""


@dataclass(frozen=True)
class Annotation:
    """A note on the page, outside its content, whose appearance is printed with it (ISO 32000-2, 12.5)."""

    kind: str
    """Its subtype: ``Stamp``, ``FreeText``, ``Widget`` …"""
    box_mm: Box
    contents: str = ""
    """What it says, or what is said of it."""


@dataclass(frozen=True)
class OverBound:
    """Something that was not read because it is over a bound or broken, and nobody knows where on the page it lies."""

    because: str
    hits: frozenset[str]
    """What rests on it: ``objects``, ``plates``, ``text``, ``images``."""


@dataclass(frozen=True)
class BlendSpace:
    """A group whose transparency is blended in another space than that of the plates."""

    space: str
    """Family of the space, as in ``Colour.space``: ``DeviceRGB``, ``ICCBased-3`` …"""
    of_page: bool
    """The page's own group, and not a form's."""
    rows: NDArray[np.int_]
    """Rows of ``Page.objects`` that are painted in it."""
    blends: bool
    """Something in it lets something show through."""


@dataclass(frozen=True)
class Alteration:
    """Rows of ``Page.objects`` painted otherwise than the file says, to see what they change on the plates.

    A row of a form that is placed several times stands for all of its places.
    """

    left_out: tuple[int, ...] = ()
    """Neither paint nor knock out."""
    knocking_out: tuple[int, ...] = ()
    """Paint as if overprint were off."""


@dataclass
class Page(ABC):
    """One page as displayed."""

    number: int
    width_mm: float
    height_mm: float
    boxes: PageBoxes
    rotate: int
    user_unit: float
    layers: list[Layer]
    separations: list[Separation]
    """Every colorant that the page's content or resources name, whether it paints or not; process first."""
    objects: ObjectTable
    over_bounds: list[OverBound] = field(default_factory=list)
    blend_spaces: list[BlendSpace] = field(default_factory=list)
    """Groups that blend in another space than the plates'; empty where all is well."""
    uncertain: list[UncertainPlace] = field(default_factory=list)
    """Where something is missing: what could not be read, and, once plates were drawn, what could not be drawn."""
    annotations: list[Annotation] = field(default_factory=list)
    """Those that are printed; what they paint is among the objects, behind all else."""
    opaque: bool = False
    """Whether nothing on it is faint, blended or masked, so that what does not overprint hides what lies below it."""
    label: str = ""
    """What the file calls the page (ISO 32000-2, 12.4.2); empty where it does not say."""
    plate_of: str = ""
    """The colorant whose plate the page says that it is (SeparationInfo, ISO 32000-2, 14.11.4); empty for none."""
    to_mm: Matrix = IDENTITY
    """From the space that the page is written in to mm as displayed."""
    content_digest: Callable[[], str] = field(default=str, repr=False, compare=False)
    """Works out a digest of all that is printed in that space, media box included; empty where nothing can be said."""

    @property
    def box_mm(self) -> Box:
        """All of the page, from its lower-left corner."""
        return (0.0, 0.0, self.width_mm, self.height_mm)

    @abstractmethod
    def plates(self, dpi: float = 100, without: frozenset[str] = frozenset()) -> Plates:
        """Plates of the whole page; kept, so that asking twice renders once.

        Args:
            dpi: pixels to the inch, 20 to 600.
            without: names of separations whose objects neither paint nor knock out.

        Raises:
            NotMeasured: the page or a construct on it is over a bound.
        """

    @abstractmethod
    def window(
        self,
        box_mm: Box,
        dpi: float,
        without: frozenset[str] = frozenset(),
        edges: Antialiasing = "smooth",
        turned: int = 0,
    ) -> Plates:
        """Plates of a part of the page, rendered at a higher resolution; not kept.

        ``edges``: smooth, as on all plates, where each pixel has as much ink as is covered of it, so that a shape
        painted over by the same shape leaves up to a quarter of it in the pixels of the edge; or sharp, in which it
        leaves nothing, and ink thinner than about half a pixel neither: many times as dear, for small windows.

        ``turned``: quarter turns, counter-clockwise, that the page is turned by while it is drawn; handed out as it
        lies. Patterns, shadings and rims come out a little otherwise that way: as on a page that lies so.
        """

    @abstractmethod
    def altered(
        self, alteration: Alteration, dpi: float = 100, box_mm: Box | None = None, edges: Antialiasing = "smooth"
    ) -> Plates:
        """Plates of the page, or of a part of it, with some objects painted otherwise; not kept."""

    @abstractmethod
    def close(self) -> None:
        """End the processes that draw the page and let go of what they hold; whoever asks again begins anew."""
