"""How near two outlines can be pushed: upper and lower profiles of polygons, and the distance at which they touch.

A profile is the outermost edge of a polygon seen along y, in intervals of x within which that is one straight edge. An
outline is pushed from above on to another one, so nothing is threaded into an undercut. Source of the method: common
practice, the pitch of rows as the greatest difference of two profiles. It is exact here: edges of a simple polygon
never cross, so that a profile changes over from one edge to another only at a corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

Floats = NDArray[np.float64]
_TOUCHES_MM: Final = 1e-6
"""Outlines that overlap by no more than this along x stand side by side."""


@dataclass(frozen=True, eq=False)
class Profile:
    """Intervals of x: ``x`` (n + 1,), and the height at the beginning and the end of each, (n,); mm."""

    x: Floats
    begins: Floats
    ends: Floats

    def at(self, x: Floats, inside: Floats) -> Floats:
        """Heights at ``x`` on the edges that are the outermost at ``inside``, which lies in the same intervals."""
        place = np.clip(np.searchsorted(self.x, inside) - 1, 0, len(self.begins) - 1)
        x0, wide = self.x[place], self.x[place + 1] - self.x[place]
        heights: Floats = self.begins[place] + (self.ends[place] - self.begins[place]) * (x - x0) / wide
        return heights


def upper_profile(outline: Polygon) -> Profile:
    """The outermost edges seen from above."""
    x, begins, ends = _outermost(shapely.get_coordinates(outline.exterior))
    return Profile(x, begins, ends)


def lower_profile(outline: Polygon) -> Profile:
    """The outermost edges seen from below."""
    x, begins, ends = _outermost(shapely.get_coordinates(outline.exterior) * (1, -1))
    return Profile(x, -begins, -ends)


def _outermost(ring: Floats) -> tuple[Floats, Floats, Floats]:
    x = np.unique(ring[:, 0])
    one, other = ring[:-1], ring[1:]
    forward = (one[:, 0] < other[:, 0])[:, None]
    left, right = np.where(forward, one, other), np.where(forward, other, one)
    level = right[:, 0] > left[:, 0]
    left, right = left[level], right[level]
    first, last = np.searchsorted(x, left[:, 0]), np.searchsorted(x, right[:, 0])
    count = last - first
    edge = np.repeat(np.arange(len(left)), count)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    slope = (right[:, 1] - left[:, 1]) / (right[:, 0] - left[:, 0])
    begins = left[edge, 1] + slope[edge] * (x[place] - left[edge, 0])
    ends = left[edge, 1] + slope[edge] * (x[place + 1] - left[edge, 0])
    order = np.lexsort((begins + ends, place))
    top = order[np.append(np.diff(place[order]) > 0, True)]
    return x, begins[top], ends[top]


def contact_mm(under: Profile, over: Profile, shift_mm: float) -> float:
    """How far ``over`` has to be moved up, once it was moved aside by a shift, to lie on ``under``.

    -inf where they stand side by side.
    """
    low, high = max(under.x[0], over.x[0] + shift_mm), min(under.x[-1], over.x[-1] + shift_mm)
    if high - low <= _TOUCHES_MM:
        return -np.inf
    x = np.concatenate([under.x, over.x + shift_mm])
    x = np.unique(x[(x >= low) & (x <= high)])
    middle = (x[1:] + x[:-1]) / 2
    wide = np.diff(x) > _TOUCHES_MM
    middle, x0, x1 = middle[wide], x[:-1][wide], x[1:][wide]
    begins = under.at(x0, middle) - over.at(x0 - shift_mm, middle - shift_mm)
    ends = under.at(x1, middle) - over.at(x1 - shift_mm, middle - shift_mm)
    return float(max(begins.max(), ends.max()))


def sampled_contacts(under: Profile, over: Profile, step_mm: float) -> tuple[Floats, Floats]:
    """Shifts in steps, ascending, and about how far ``over`` has to be moved up at each; it never says too much."""
    start = under.x[0]
    inside = np.arange(start, under.x[-1], step_mm) + step_mm / 2
    below = under.at(inside, inside)
    places = np.arange(over.x[0], over.x[-1], step_mm) + step_mm / 2
    above = np.full(len(places) + 2 * len(inside), np.inf)
    above[len(inside) : len(inside) + len(places)] = over.at(places, places)
    windows = np.lib.stride_tricks.sliding_window_view(above, len(inside))[1:-1]
    steps = len(inside) - 1 - np.arange(len(windows))
    found = np.empty(len(windows))
    for first in range(0, len(windows), 512):  # so much at once stays within the processor's cache
        found[first : first + 512] = (below - windows[first : first + 512]).max(1)
    shifts = start - over.x[0] + steps * step_mm
    return shifts[::-1], found[::-1]
