"""What is known of a die: records that nobody changes, and what they hold where nobody says more."""

from dataclasses import FrozenInstanceError, fields

import numpy as np
import pytest
from shapely import LineString, MultiLineString, box

from preflight.carton.cells.blank_cells import BlankCells
from preflight.carton.cells.choice_of_blanks import Choice
from preflight.carton.cells.closed_cells import Cells
from preflight.carton.cells.faces import Faces
from preflight.carton.cells.gaps import Bridge, Closing, ShortCrease
from preflight.carton.cells.left_out_lines import LeftOut
from preflight.carton.cells.net import Net
from preflight.carton.cells.open_cuts import OpenCuts
from preflight.carton.die import Area, Blank, CutEdge, Die, OpenCut, Suspected
from preflight.carton.lines.cut_or_crease import Told
from preflight.carton.lines.die_objects import Reason
from preflight.carton.lines.dimensions_and_lettering import DimensionsAndLettering
from preflight.carton.lines.drawn_lines import DieLine, Segments

RECORDS = [
    *(Area, Blank, CutEdge, Die, OpenCut, Suspected, DieLine, Segments, Reason, Told, DimensionsAndLettering),
    *(Net, Bridge, ShortCrease, Closing, Cells, Choice, BlankCells, Faces, LeftOut, OpenCuts),
]


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_nobody_changes_a_record(record):
    made = object.__new__(record)
    with pytest.raises(FrozenInstanceError):
        setattr(made, fields(record)[0].name, None)


def test_inside_is_what_all_blanks_cover():
    blanks = [Blank(1, box(5, 6, 20, 30), MultiLineString()), Blank(2, box(40, 6, 50, 30), MultiLineString())]
    inside = Die("read", "", tuple(blanks)).inside
    assert (inside.area, inside.bounds) == (15 * 24 + 10 * 24, (5, 6, 50, 30))
    assert Die("none", "").inside.is_empty


def test_a_die_of_which_nobody_says_more():
    die = Die("none", "why")
    assert (die.blanks, die.notes, die.uncertain, die.uncertain_places, die.open_cuts) == ((), (), (), (), ())
    assert (die.left_out, die.cut_lines, die.crease_lines, die.suspected) == (None, None, None, None)
    assert (die.folds, die.drawn_in, die.lines_of, die.loose_areas, die.guessed_within) == ({}, {}, {}, (), ())


def test_blanks_and_edges_of_which_nobody_says_more():
    blank = Blank(1, box(5, 6, 20, 30), MultiLineString())
    assert (blank.panels, blank.edges, blank.areas) == ((), (), ())
    edge = CutEdge(LineString([(5, 6), (20, 6)]), "outer")
    assert (edge.neighbour_mm, edge.hidden) == (None, False)


def test_a_line_of_which_nobody_says_more_is_a_thin_solid_cut_stroke_that_overprints():
    line = DieLine(np.array([[5.0, 6], [20, 6]]))
    assert (line.role, line.filled, line.dashed, line.overprint) == ("cut", False, False, True)
    assert (line.width_mm, line.row, line.inks, line.known) == (0.25, -1, (), "read")
    assert not Reason("cut", "read", "a name").by_layer_name
