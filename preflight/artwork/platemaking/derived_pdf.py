"""What the streams of a derived PDF share: what each row does to each rendering, colours in channels, copies."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object

from preflight.artwork.page.geometry import Box, Matrix
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.graphics_state import painted_plates
from preflight.artwork.pdf.content.page_content import PageContent, SoftMask
from preflight.artwork.pdf.content.stream_content import Content, TilingCell, Type3Glyphs
from preflight.artwork.pdf.images.image_sample_files import SampleFiles
from preflight.artwork.pdf.structure.values import present
from preflight.artwork.platemaking.luminosity import light_of, luminosity, luminosity_of_rgb
from preflight.artwork.platemaking.overprint import changes_plates_left_alone
from preflight.artwork.platemaking.plate_pictures import PlatePictures
from preflight.artwork.platemaking.renderings import Rendering
from preflight.artwork.platemaking.screen_colours import screen_colours_of
from preflight.artwork.platemaking.unpainted_bytes import EditsLeft

FAR = 1_000_000
"""As far as a derived PDF reaches in user space where a box has no bound: PDFium keeps lengths in single precision."""
FAR_BOX: Box = (-FAR, -FAR, FAR, FAR)
FAR_RE = b"%d %d %d %d re" % (-FAR, -FAR, 2 * FAR, 2 * FAR)
PAINT, SKIP, LEAVE = 0, 1, 2
"""What a rendering does with a row: paint it, leave it out, or what ``overprint`` has of it."""
_FAINTEST = 0.02
_MOST_KEPT = 8
"""Renderings whose colours are kept."""
_LEVELS = [b"%.4f" % (level / 255) for level in range(256)]


def sorts_of_rows(page: PageContent, content: Content) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows that paint the same plates in the same way: the first row of each sort, and for each row its sort."""
    # One number for each sort: those sort much faster than rows of columns.
    keys = page.palette.kinds[content.colour] * len(page.states) + content.state
    keys = (keys * 2 + content.stroked) * 2 + content.hidden
    _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
    return first, inverse.ravel()


@dataclass(frozen=True, eq=False)
class Missing:
    """Something that could not be written for the plates: a row of a stream, or all that it paints."""

    because: str
    content: Content
    row: int = -1
    colour: int = -1
    """All rows of the stream in a colour."""
    masked: bool = False
    """All rows of the stream, and what it calls, through a soft mask."""


@dataclass(frozen=True, eq=False)
class PlainColours:
    """Colours in the channels of a rendering: as operands three numbers, 1 bare and 0 solid."""

    levels: NDArray[np.uint8]
    """(colours, 3), 255 bare and 0 solid."""

    def __len__(self) -> int:
        return len(self.levels)

    def __getitem__(self, number: int) -> bytes:
        red, green, blue = self.levels[number].tolist()
        return b"%s %s %s" % (_LEVELS[red], _LEVELS[green], _LEVELS[blue])

    def setting(self, numbers: NDArray[np.int64], operator: bytes) -> dict[int, bytes]:
        """For each of these colours, once, what sets it."""
        own = np.unique(numbers)
        red, green, blue = ([_LEVELS[v] for v in column] for column in self.levels[own].T.tolist())
        colours = zip(own.tolist(), red, green, blue, strict=True)
        return {number: b" %s %s %s %s " % (r, g, b, operator) for number, r, g, b in colours}


@dataclass
class Copies:
    """Objects of the source file in a derived one."""

    out: pikepdf.Pdf
    _made: dict[object, Object] = field(default_factory=dict)

    def copy(self, value: Object) -> Object:
        """An object of the source file in the derived one; what is indirect once."""
        if not isinstance(value, Object) or isinstance(value, Name | pikepdf.String):
            return value
        if not value.is_indirect:
            if isinstance(value, Array):
                return Array([self.copy(member) for member in value])
            made = Dictionary()
            for key, member in present(value):  # one by one: the constructor takes no key that is no UTF-8
                made[key] = self.copy(member)
            return made
        if value.objgen not in self._made:
            # A page is copied as null; where a damaged file has one for a font, it gets an empty one.
            copied: Object | None = self.out.copy_foreign(value)
            self._made[value.objgen] = self.out.make_indirect(Dictionary()) if copied is None else copied
        return self._made[value.objgen]


@dataclass
class DerivedPdf:
    """Shared by all renderings of one derived PDF.

    ``pixel_mm`` is the side of a pixel at the resolution that it will be rendered with.
    """

    page_content: PageContent
    page_mm: Box
    image_ppi: dict[object, float]
    """The coarsest placing of each image, by its key."""
    skipped: frozenset[str]
    """Separations whose objects neither paint nor knock out."""
    pixel_mm: float
    """0 where nothing on the page depends on it."""
    files: SampleFiles = field(default_factory=SampleFiles)
    in_window: bool = False
    """It is for windows of a part of the page, and may lack what shows nowhere there."""
    isolated: bool = False
    """The page is composed on nothing and then laid on bare board, as ISO 32000-2, 11.4.7 has it; otherwise it is
    composed on bare board at once, which is faster and for most pages the same."""
    left_out: dict[int, NDArray[np.int32]] = field(default_factory=dict)
    """Rows by stream that are not painted, though the file paints them."""
    knocking_out: dict[int, NDArray[np.int32]] = field(default_factory=dict)
    """Rows by stream whose overprint is taken off."""
    out: pikepdf.Pdf = field(default_factory=pikepdf.new)
    missing: list[Missing] = field(default_factory=list)
    """What could not be written, and is left out."""
    made: dict[object, Object] = field(default_factory=dict)
    """Everything that was written once and can be used again."""
    can_vanish: dict[int, NDArray[np.bool_]] = field(default_factory=dict)
    """By stream, for each of its edits: see ``unpainted_bytes``."""
    sorts: dict[int, tuple[NDArray[np.intp], NDArray[np.intp]]] = field(default_factory=dict)
    """By stream: see ``sorts_of_rows``."""
    edits_left: dict[int, EditsLeft] = field(default_factory=dict)
    """By stream the edits that all of its renderings are written from."""
    lost_masks: dict[object, str] = field(default_factory=dict)
    """Soft masks that cannot be drawn in full, by their keys, and why."""
    shaded: dict[object, Any] = field(default_factory=dict)
    """Tints of shadings, which serve all renderings."""
    shaded_bytes: int = 0
    solids: dict[str, float] = field(default_factory=dict)
    """Luminosity of solid spots that soft masks are painted in."""
    _fainter: tuple[Content | None, Matrix | None, NDArray[np.float64]] = (None, None, np.zeros(0))
    _acting: tuple[Content | None, Rendering | None, NDArray[np.int8]] = (None, None, np.zeros(0, np.int8))
    _plain: dict[Rendering, PlainColours] = field(default_factory=dict)

    def __post_init__(self) -> None:
        # Not by this document: one that its pictures lead back to is let go of late, with all that was written.
        self._copies = Copies(self.out)
        self.pictures = PlatePictures(self.out, self._copies.copy, self.image_ppi, self.pixel_mm, self.files)

    def another(self) -> DerivedPdf:
        """For a further document of the same page; pictures that were decoded need not be again."""
        other = replace(self, out=pikepdf.new(), made={}, lost_masks={}, missing=self.missing)
        other.pictures.decoded, other.pictures.parts = self.pictures.decoded, self.pictures.parts
        return other

    def copy(self, value: Object) -> Object:
        """An object of the source file in the derived one; what is indirect once."""
        return self._copies.copy(value)

    def actions(self, content: Content, rendering: Rendering) -> NDArray[np.int8]:
        """For each row of a stream what the rendering does with it; not to be written to."""
        known, wanted, actions = self._acting  # a heavy stream is written in many pieces
        if known is not content or wanted != rendering:
            actions = self._actions_of(content, rendering)
            self._acting = content, rendering, actions
        return actions

    def _actions_of(self, content: Content, rendering: Rendering) -> NDArray[np.int8]:
        leave = LEAVE if content.isolated or self.isolated else SKIP
        if not len(content.colour):
            return np.zeros(0, np.int8)
        if content.number not in self.sorts:
            self.sorts[content.number] = sorts_of_rows(self.page_content, content)
        first, inverse = self.sorts[content.number]
        found = []
        for row in first.tolist():
            colour, state, stroked = int(content.colour[row]), int(content.state[row]), bool(content.stroked[row])
            found.append(SKIP if content.hidden[row] else self.action(colour, state, stroked, rendering, leave))
        actions: NDArray[np.int8] = np.array(found, np.int8)[inverse]
        knocking_out = self.knocking_out.get(content.number)
        if knocking_out is not None:
            actions[knocking_out] = np.where(content.hidden[knocking_out], SKIP, PAINT)
        if content.number in self.left_out:
            actions[self.left_out[content.number]] = SKIP
        return actions

    def action(self, colour: int, state: int, stroked: bool, rendering: Rendering, leave: int) -> int:
        """What a rendering does with a row; ``leave`` is for one that leaves its plates as they are below."""
        what = self.page_content.palette.colours[colour]
        names = [name for name, _ in what.tints]
        if names and self.skipped.issuperset(names) and not what.registration and not rendering.luminosity:
            return SKIP
        if isinstance(self.page_content.palette.entries[colour].pattern, TilingCell | Type3Glyphs):
            return PAINT
        overprint = self.page_content.states[state].overprint
        painted = painted_plates(what, overprint=overprint.of(stroked=stroked), opm=overprint.mode)
        if not painted and not names:
            return SKIP  # Separation None
        if rendering.paints(painted):
            return PAINT
        return LEAVE if changes_plates_left_alone(self.page_content.states[state].blend, rendering) else leave

    def plain_colours(self, rendering: Rendering) -> PlainColours:
        """Every colour that is no pattern, for one rendering."""
        colours = self.page_content.palette.colours
        if rendering in self._plain:
            return self._plain[rendering]
        channels = np.zeros((3, len(colours)))
        for family, numbers in colours.families():
            if rendering.silhouette:
                channels[:, numbers] = 1
            elif rendering.light:
                light_given = 1 - light_of(family.names, family.tints, rendering.light).T
                channels[:, numbers] = family.tints[:, 0] if family.registration else light_given
            elif rendering.luminosity:
                names, from_rgb = list(family.names), bool(family.not_a_plate)
                light = [luminosity(names, tints, self.solids, from_rgb=from_rgb) for tints in family.tints]
                channels[:, numbers] = 1 - np.array(light, float)
            for name, tints in zip(family.names, family.tints.T, strict=True):
                for plate in rendering.marked if family.registration else (name,):
                    for channel in [at for at, own in enumerate(rendering.channels) if plate in own]:
                        channels[channel, numbers] = tints
        if len(self._plain) >= _MOST_KEPT:  # they are written one after the other, and hundreds would fill the memory
            self._plain.clear()
        self._plain[rendering] = PlainColours(np.rint((1 - channels) * 255).astype(np.uint8).T)
        return self._plain[rendering]

    def know_solids(self, mask: SoftMask) -> None:
        """Look up how light the solids of the spots are that a soft mask is painted in."""
        fresh = {name: space for name, space in mask.spots.items() if name not in self.solids}
        for name, rgb in screen_colours_of(fresh).items():
            self.solids[name] = luminosity_of_rgb(*rgb)

    def fainter(self, content: Content, to_mm: Matrix) -> NDArray[np.float64]:
        """How much fainter each row's stroke is painted: its own width over PDFium's for it, at most 1.

        PDFium draws no stroke thinner than a pixel, by the mean of the lengths that the matrix gives the unit vectors.
        The array is not to be written to.
        """
        known, wanted, fainter = self._fainter
        if known is not content or wanted != to_mm:
            fainter = self._fainter_of(content, to_mm)
            self._fainter = content, to_mm, fainter
        return fainter

    def _fainter_of(self, content: Content, to_mm: Matrix) -> NDArray[np.float64]:
        if not self.pixel_mm or not len(content.state):
            return np.ones(len(content.state))
        width = np.array([state.line_width for state in self.page_content.states], float)[content.state]
        frame = content.frame[:, :4].copy()
        for row, matrix in content.outlined.items():
            frame[row] = matrix[:4]
        a, b, c, d = to_mm[:4]
        drawn = frame.reshape(-1, 2, 2) @ np.array([[a, b], [c, d]])
        pixels = width * np.hypot(drawn[:, :, 0], drawn[:, :, 1]).mean(1) / self.pixel_mm
        stroked = content.painted == Painted.STROKE
        stroked[list(content.outlined)] = True
        return np.where(stroked, np.clip(pixels, _FAINTEST, 1), 1.0)
