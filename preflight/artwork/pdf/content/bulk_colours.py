"""Colours that a long run of plain operators sets, all at once: device colours, and those of spaces that it names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.pdf.colour.colour_spaces import ColourSpace
from preflight.artwork.pdf.content.bulk_operators import CHOOSING, DEVICE_COLOURS, SETTING, Acting, Ints
from preflight.artwork.pdf.content.graphics_state import PaletteBuilder
from preflight.artwork.pdf.content.tokens import Chunk

_OF_KIND = {
    stroke: {
        CHOOSING[stroke],
        *SETTING[stroke],
        *(code for code, entry in DEVICE_COLOURS.items() if entry[0] == stroke),
    }
    for stroke in (False, True)
}


class RunColours(NamedTuple):
    """Of each operator of a run the number of the colour that it sets, and the spaces that the run ends with."""

    colours: Ints
    """-1 for none."""
    fill_space: ColourSpace
    stroke_space: ColourSpace


@dataclass(frozen=True)
class RunReader:
    """What colours are read with."""

    chunk: Chunk
    palette: PaletteBuilder
    name_at: Callable[[int], str | None]
    """The name that a token is; None for one that is none."""
    space_called: Callable[[str], ColourSpace]

    def read(self, acting: Acting, fill_space: ColourSpace, stroke_space: ColourSpace) -> RunColours | None:
        """The colours of a run; None where one is a pattern, which takes a closer look."""
        colours = np.full(len(acting.code), -1, np.int64)
        present, ends = set(acting.code.tolist()), []
        for stroke, space in ((False, fill_space), (True, stroke_space)):
            # Most runs set few sorts of colours, and asking for each of the others would take as long as reading one.
            end = self._of_one_kind(acting, stroke, space, colours) if present & _OF_KIND[stroke] else space
            if end is None:
                return None
            ends.append(end)
        return RunColours(colours, *ends)

    def _of_one_kind(self, acting: Acting, stroke: bool, first: ColourSpace, colours: Ints) -> ColourSpace | None:
        """Fill in what fills or strokes are set to; the space that is in force behind them, None for a pattern's."""
        spaces = [first]
        chosen = np.full(len(acting.code), -1, np.int64)
        """The number of the space from an operator on that chooses one."""
        for code, (strokes, device, count) in DEVICE_COLOURS.items():
            if strokes != stroke:
                continue
            at = np.flatnonzero(acting.code == code)
            at = at[acting.token[at] - acting.first[at] >= count]  # rule 4
            if len(at) and self.space_called(device).components == count:  # else a Default space of another kind
                chosen[at] = len(spaces)
                spaces.append(self.space_called(device))
                colours[at] = self.palette.indices(spaces[-1], self._operands(acting, at, count))
        named = np.flatnonzero(acting.code == CHOOSING[stroke])
        numbers = dict[str, int]()
        for place, token in zip(named.tolist(), acting.token[named].tolist(), strict=True):
            name = self.name_at(token - 1)
            if name is None:
                continue
            if name not in numbers:
                numbers[name] = len(spaces)
                spaces.append(self.space_called(name))
            chosen[place] = numbers[name]
        setting = np.flatnonzero(np.isin(acting.code, SETTING[stroke]))
        if not len(named) and not len(setting):
            return spaces[int(chosen[chosen >= 0][-1])] if (chosen >= 0).any() else first
        if any(space.family == "Pattern" or not space.components for space in spaces):
            return None
        for number in numbers.values():
            initial = self.palette.index(spaces[number], tuple(spaces[number].initial))
            colours[named[chosen[named] == number]] = initial
        now = _in_force(chosen)
        for number in np.unique(now[setting]).tolist():
            space = spaces[number]
            at = setting[now[setting] == number]
            at = at[acting.token[at] - acting.first[at] >= space.components]  # rule 4
            if len(at):
                colours[at] = self.palette.indices(space, self._operands(acting, at, space.components))
        return spaces[int(now[-1])]

    def _operands(self, acting: Acting, at: NDArray[np.intp], count: int) -> NDArray[np.float64]:
        return np.asarray(self.chunk.values[acting.token[at][:, None] + np.arange(-count, 0)])


def _in_force(chosen: Ints) -> Ints:
    """For each operator the number last chosen, its own included; 0 before the first."""
    padded = np.append(0, chosen)
    index = np.maximum.accumulate(np.where(padded >= 0, np.arange(len(padded)), 0))
    return np.asarray(padded[index][1:])
