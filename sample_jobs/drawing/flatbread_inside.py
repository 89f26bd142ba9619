"""Artwork of the sleeve for six flatbreads: its inside, in one ink, drawn as one sees it from the inside.

As the customer sent it the die is that of the outside, so that the print comes out on the wrong panels. Repaired it is
mirrored. Places are mm on the side that is seen, from the lower-left corner of the blank at ``ORIGIN``.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from shapely import affinity, box, unary_union

from sample_jobs.drawing import pieces
from sample_jobs.drawing.flatbread import INKS, ORIGIN, PAGE, SLEEVE, fern
from sample_jobs.drawing.ornaments import Area
from sample_jobs.drawing.outline import outline_of, rect
from sample_jobs.drawing.pen import Pen
from sample_jobs.drawing.sleeve import Sleeve, draw_sleeve_die

INK = "Recipe Brown"
TITLE = ["Artwork FH-2704, issue B, one-up, 1:1", "Seen from the inside", "Drawing D-2707, board 0.5 mm"]
RECIPE = [
    "Flatbreads with beans and herbs",
    "",
    "Cook a chopped onion in oil until it is soft. Add a tin of white",
    "beans with their water, a little chilli and the juice of half a",
    "lemon, and mash roughly. Warm the flatbreads in a dry pan,",
    "a minute on each side. Spread the beans on them, strew herbs",
    "and spring onions over, add yoghurt if you like, and fold.",
    "",
    "Serves three, or two who are hungry.",
]
SECOND = [
    "Crisps of yesterday's bread",
    "",
    "Cut what is left into triangles, brush with oil, salt them",
    "and bake at 200 degrees for eight minutes, until brown",
    "at the rim. They keep in a tin for a week.",
]


def draw(path: Path, *, repaired: bool) -> Path:
    """Draws the inside; as the customer sent it, or repaired."""
    seen = replace(SLEEVE, mirrored=repaired)
    pen = Pen(*PAGE, origin_mm=ORIGIN, title="Fernhollow flatbreads, sleeve for six, inside")
    pen.spot(INK, (0.20, 0.52, 0.78, 0.38))
    for name in ("Cutting", "Creasing"):
        pen.spot(name, INKS[name])
    wide, tall = SLEEVE.size
    pen.box("TrimBox", 0, 0, wide, tall)
    pen.box("BleedBox", -3, -3, wide + 3, tall + 3)
    with pen.layer("Artwork"):
        pen.fill(outline_of(_leaves(seen)), INK)
        for panel, lines in ((1, RECIPE), (3, SECOND)):
            left, _, _, _ = seen.panel(panel)
            pieces.outlined(pen, lines[0], (left + 26, 116), 16, INK)
            for i, line in enumerate(lines[2:]):
                pieces.outlined(pen, line, (left + 26, 103 - 6.2 * i), 11, INK)
    with pen.layer("Die"), pen.overprinting():
        draw_sleeve_die(pen, seen)
    with pen.layer("Legend"):
        pen.stroke(rect(0, -46, wide, -12), INK, width_pt=0.5)
        pen.words("Fernhollow flatbreads, sleeve for six, inside", (4, -19), 10, ink=INK, style="bold")
        pieces.paragraph(pen, TITLE, (4, -25), 7, ink=INK, lead=1.6)
        for n, name in enumerate((INK, "Cutting", "Creasing")):
            pen.fill(rect(210 + 70 * n, -27, 222 + 70 * n, -19), name)
            pen.words(name, (210 + 70 * n, -32), 6, ink=INK)
    return pen.save(path)


def _leaves(seen: Sleeve) -> Area:
    """Ferns strewn over all panels, off the recipes, the edges and where the glue flap is stuck."""
    rng = np.random.default_rng(2704)
    wide, tall = SLEEVE.size
    found: list[Area] = []
    kept = [box(seen.panel(n)[0] + 20, foot, seen.panel(n)[0] + 192, 128) for n, foot in ((1, 44), (3, 70))]
    glue = sorted((seen.seen(wide), seen.seen(wide - 22)))
    kept.append(box(glue[0] - 1, -5, glue[1] + 1, tall + 5))
    flap = sorted((seen.seen(0.0), seen.seen(20.0)))
    kept.append(box(flap[0] - 1, -5, flap[1] + 1, tall + 5))
    off = unary_union(kept)
    inner = box(4, 4, wide - 4, tall - 4)
    for _ in range(1600):
        one = affinity.rotate(fern(rng.uniform(14, 20)), rng.uniform(0, 360), origin=(0, 0))
        one = affinity.translate(one, rng.uniform(0, wide), rng.uniform(0, tall))
        room = one.buffer(1.2)
        if inner.contains(one) and not off.intersects(one) and not any(room.intersects(other) for other in found):
            found.append(one)
    shape: Area = unary_union(found).simplify(0.02)
    return shape
