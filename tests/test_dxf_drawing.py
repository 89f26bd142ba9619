"""The reader of DXF: units, curves, blocks, layers, and files that are none."""

from __future__ import annotations

from math import hypot, pi

import numpy as np
import pytest
import shapely
from ezdxf.filemanagement import new

from preflight.errors import InvalidInput
from preflight.inputs import dxf_drawing
from preflight.inputs.dxf_drawing import read_dxf

CUT = {"layer": "Cut"}


def drawn(tmp_path, draw, *, units=4, version="R2010"):
    document = new(version)
    document.header["$INSUNITS"] = units
    for name in ("Cut", "Crease", "Legend", "Off"):
        document.layers.add(name)
    draw(document.modelspace())
    document.saveas(tmp_path / "die.dxf")
    return tmp_path / "die.dxf"


def only_line(drawing, layer="Cut"):
    (line,) = drawing.lines[layer]
    return line


@pytest.mark.parametrize(
    ("units", "factor", "noted"), [(4, 1, False), (1, 25.4, False), (5, 10, False), (6, 1000, False), (0, 1, True)]
)
def test_units_are_those_of_the_file(tmp_path, units, factor, noted):
    drawing = read_dxf(drawn(tmp_path, lambda space: space.add_line((0, 0), (3, 4), dxfattribs=CUT), units=units))
    assert only_line(drawing)[-1].tolist() == pytest.approx([3 * factor, 4 * factor])
    assert (drawing.notes == ("the drawing names no unit; it is read as mm",)) is noted
    assert bool(drawing.notes) is noted


def test_feet_are_refused(tmp_path):
    path = drawn(tmp_path, lambda space: space.add_line((0, 0), (3, 4)), units=2)
    with pytest.raises(InvalidInput, match=r"die\.dxf: found a drawing in units of number 2"):
        read_dxf(path)


@pytest.mark.parametrize("units", [4, 1])
def test_curves_are_flat_within_two_hundredths(tmp_path, units):
    """A quarter of a circle of 50 mm, whatever unit it is drawn in."""
    radius = 50 if units == 4 else 50 / 25.4
    line = only_line(
        read_dxf(drawn(tmp_path, lambda space: space.add_arc((0, 0), radius, 0, 90, dxfattribs=CUT), units=units))
    )
    middles = (line[1:] + line[:-1]) / 2
    assert np.hypot(*line.T) == pytest.approx(50, abs=1e-6)
    assert np.hypot(*middles.T).min() > 50 - 0.0201
    assert 8 < len(line) < 200
    assert line[0].tolist() == pytest.approx([50, 0])
    assert line[-1].tolist() == pytest.approx([0, 50], abs=1e-9)


@pytest.mark.parametrize("bulge", [1.0, -1.0, 0.2, -3.0])
def test_bulges_are_true_arcs(tmp_path, bulge):
    """The middle of an arc stands off its chord by bulge times half the chord, to the right of a positive one."""
    path = drawn(
        tmp_path,
        lambda space: space.add_lwpolyline([(0, 0, bulge), (400, 0, 0)], format="xyb", dxfattribs=CUT),
    )
    line = only_line(read_dxf(path))
    radius = 400 * (1 + bulge**2) / (4 * abs(bulge))
    centre = np.array([200, 400 * (1 - bulge**2) / (4 * bulge)])
    assert np.hypot(*(line - centre).T) == pytest.approx(radius, abs=1e-6)
    assert np.hypot(*((line[1:] + line[:-1]) / 2 - centre).T).min() > radius - 0.0201
    reach = line[:, 1].min() if bulge > 0 else line[:, 1].max()
    assert reach == pytest.approx(-200 * bulge, abs=0.02)


def test_every_sort_of_line_is_read(tmp_path):
    def draw(space):
        space.add_circle((0, 0), 10, dxfattribs=CUT)
        space.add_ellipse((50, 0), (10, 0), 0.5, dxfattribs=CUT)
        space.add_spline([(0, 30), (10, 35), (20, 30)], dxfattribs=CUT)
        space.add_lwpolyline([(0, 0, 1), (10, 0, 0)], format="xyb", close=True, dxfattribs=CUT)
        space.add_polyline2d([(0, 0), (10, 0), (10, 10)], dxfattribs=CUT)
        space.add_polyline3d([(0, 0, 0), (0, 7, 0)], dxfattribs=CUT)

    circle, ellipse, spline, bulged, two, three = read_dxf(drawn(tmp_path, draw)).lines["Cut"]
    assert shapely.Polygon(circle).area == pytest.approx(pi * 100, rel=0.005)
    assert shapely.Polygon(ellipse).area == pytest.approx(pi * 50, rel=0.01)
    assert spline[[0, -1]].ravel().tolist() == pytest.approx([0, 30, 20, 30], abs=1e-9)
    assert shapely.Polygon(bulged).area == pytest.approx(pi * 12.5, rel=0.01)
    assert two.tolist() == [[0, 0], [10, 0], [10, 10]]
    assert three.tolist() == [[0, 0], [0, 7]]


def test_blocks_are_taken_apart(tmp_path):
    """A corner on layer 0 takes the layer of its insert, a crease keeps its own; the insert turns and doubles it."""

    def draw(space):
        block = space.doc.blocks.new("one up")
        block.add_line((0, 0), (10, 0))
        block.add_line((0, 0), (0, 5), dxfattribs={"layer": "Crease"})
        space.add_blockref("one up", (100, 0), dxfattribs={"layer": "Cut", "rotation": 90, "xscale": 2, "yscale": 2})
        space.add_blockref("one up", (0, 0), dxfattribs={"layer": "Cut", "column_count": 3, "column_spacing": 40})

    drawing = read_dxf(drawn(tmp_path, draw))
    cuts = [line.round(6).tolist() for line in drawing.lines["Cut"]]
    assert cuts[0] == [[100, 0], [100, 20]]
    assert cuts[1:] == [[[x, 0], [x + 10, 0]] for x in (0, 40, 80)]
    assert [line.round(6).tolist() for line in drawing.lines["Crease"]][0] == [[100, 0], [90, 0]]


def test_a_drawing_seen_from_below_is_turned_round(tmp_path):
    """Extrusion (0, 0, -1): x runs the other way (DXF reference, arbitrary axis algorithm)."""
    drawing = read_dxf(
        drawn(
            tmp_path,
            lambda space: space.add_lwpolyline(
                [(10, 0), (20, 5)], dxfattribs={"layer": "Cut", "extrusion": (0, 0, -1)}
            ),
        )
    )
    assert only_line(drawing).tolist() == [[-10, 0], [-20, 5]]


def test_layers_are_told_by_their_names_and_hidden_ones_left_out(tmp_path):
    def draw(space):
        for layer in ("Cut", "Crease", "Legend", "Off"):
            space.add_line((0, 0), (1, 1), dxfattribs={"layer": layer, "color": 1})
        space.doc.layers.get("Off").off()
        space.add_point((0, 0))
        space.add_text("4 up", dxfattribs={"layer": "Legend", "insert": (5, 6)})
        space.add_mtext("one\\Ptwo", dxfattribs={"layer": "Legend", "insert": (7, 8)})
        space.add_hatch()

    drawing = read_dxf(drawn(tmp_path, draw))
    assert drawing.kinds == {"Cut": "cut", "Crease": "crease", "Legend": "guide"}
    assert set(drawing.lines) == {"Cut", "Crease", "Legend"}
    assert len(drawing.of_kind("cut")) == 1
    assert [(text.says, text.at) for text in drawing.texts] == [("4 up", (5, 6)), ("one\ntwo", (7, 8))]
    assert drawing.notes == (
        "layers that are off in the drawing are left out: Off",
        "neither lines nor text, and left out: 1 HATCH",
    )


def test_what_is_far_off_is_left_out_and_told(tmp_path):
    def draw(space):
        space.add_line((0, 0), (1, 1), dxfattribs=CUT)
        space.add_line((0, 0), (1e12, 1), dxfattribs=CUT)

    drawing = read_dxf(drawn(tmp_path, draw))
    assert len(drawing.lines["Cut"]) == 1
    assert drawing.notes == ("1 line beyond 20 m left out",)


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "an empty file"),
        (b"%PDF-1.7 ...", "a PDF"),
        (b"AC1032 ...", "a DWG file"),
        (b"\0" * 500, "no DXF, or a damaged one"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLINE\n8\nCut\n10\nabc\n", "no DXF, or a damaged one"),
        (b"cut: 5", "no DXF, or a damaged one"),
    ],
)
def test_what_is_no_drawing_is_refused(tmp_path, data, found):
    path = tmp_path / "die.dxf"
    path.write_bytes(data)
    with pytest.raises(InvalidInput) as raised:
        read_dxf(path)
    (fault,) = raised.value.faults
    assert fault.file == str(path)
    assert fault.found.startswith(found)


def test_no_file_and_a_folder(tmp_path):
    with pytest.raises(InvalidInput, match="found no such file"):
        read_dxf(tmp_path / "none.dxf")
    with pytest.raises(InvalidInput, match="found a folder"):
        read_dxf(tmp_path)


def test_a_drawing_without_lines(tmp_path):
    with pytest.raises(InvalidInput, match="without a line"):
        read_dxf(drawn(tmp_path, lambda space: space.add_point((0, 0))))


def test_damaged_files_end_in_a_fault_or_in_a_note(tmp_path):
    """Twelve bytes of it changed at a time, and now and then the end cut off."""
    path = drawn(tmp_path, lambda space: [space.add_circle((i, i), 3, dxfattribs=CUT) for i in range(5)])
    whole, random = path.read_bytes(), np.random.default_rng(4)
    faults = list[str]()
    for _ in range(150):
        data = bytearray(whole)
        for at in random.integers(0, len(data), 12).tolist():
            data[at] = int(random.integers(32, 127))
        if random.random() < 0.3:
            data = data[: int(random.integers(1, len(data)))]
        path.write_bytes(bytes(data))
        try:
            drawing = read_dxf(path)
        except InvalidInput as fault:
            faults.append(str(fault))
        else:
            assert all(np.isfinite(line).all() for own in drawing.lines.values() for line in own)
    assert 0 < len(faults) < 150
    assert all("die.dxf: found" in fault for fault in faults)


def bomb(space):
    """Ten inserts of a block in each of seven blocks: ten million lines."""
    blocks = space.doc.blocks
    blocks.new("b0").add_line((0, 0), (1, 1))
    for n in range(1, 8):
        block = blocks.new(f"b{n}")
        for _ in range(10):
            block.add_blockref(f"b{n - 1}", (0, 0))
    space.add_blockref("b7", (0, 0))


def test_blocks_in_blocks_are_bounded(tmp_path, monkeypatch):
    monkeypatch.setattr(dxf_drawing, "MOST_ENTITIES", 2000)
    with pytest.raises(InvalidInput, match="more than 2,000 entities"):
        read_dxf(drawn(tmp_path, bomb))


def test_a_block_that_holds_itself(tmp_path):
    def draw(space):
        block = space.doc.blocks.new("snake")
        block.add_line((0, 0), (1, 1))
        block.add_blockref("snake", (1, 0))
        space.add_blockref("snake", (0, 0))

    with pytest.raises(InvalidInput, match="blocks more than 8 deep"):
        read_dxf(drawn(tmp_path, draw))


def test_points_are_bounded(tmp_path, monkeypatch):
    monkeypatch.setattr(dxf_drawing, "MOST_POINTS", 50)
    with pytest.raises(InvalidInput, match="more than 50 points"):
        read_dxf(drawn(tmp_path, lambda space: space.add_circle((0, 0), 500, dxfattribs=CUT)))


def test_a_large_file_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(dxf_drawing, "MOST_BYTES", 1000)
    with pytest.raises(InvalidInput, match="found a file of 0 MB"):
        read_dxf(drawn(tmp_path, lambda space: space.add_line((0, 0), (1, 1))))


def test_an_old_drawing_is_read(tmp_path):
    """R12 has no lightweight polylines."""
    path = drawn(
        tmp_path,
        lambda space: space.add_polyline2d([(0, 0), (30, 40)], dxfattribs=CUT),
        version="R12",
    )
    assert hypot(*only_line(read_dxf(path))[-1]) == pytest.approx(50)
