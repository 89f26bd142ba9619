"""CIP3 PPF is read back as it was meant, by Ghostscript and by a reader that shares nothing with the writer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from preflight.setup.press_files.ppf import run_lengths, write_ppf
from preflight.setup.press_files.press_job import UnitPlate
from tests.ppf_reader import Block, ghostscript_reads, ink, read_ppf
from tests.press_jobs import ODD_NAMES, picture, press_job
from tests.referees import needs_ghostscript

POINTS = 72 / 25.4


@pytest.fixture(params=["own reader", pytest.param("ghostscript", marks=needs_ghostscript)])
def reads(request, tmp_path):
    def reading(data: bytes) -> Block:
        return read_ppf(data) if request.param == "own reader" else ghostscript_reads(data, tmp_path)

    return reading


def test_the_sheet_is_told_once_with_its_size_in_points(reads):
    sheet = reads(write_ppf(press_job()))
    assert sheet.name == "Sheet"
    assert sheet.told["CIP3AdmPaperExtent"] == pytest.approx([120.3 * POINTS, 90 * POINTS], abs=1e-3)
    assert sheet.told["CIP3AdmPSExtent"] == sheet.told["CIP3AdmPaperExtent"]
    assert sheet.told["CIP3AdmJobName"] == "Sage & mint <tea>"
    assert sheet.told["CIP3AdmJobCode"] == "44/71 B"
    assert sheet.told["CIP3AdmSheetName"] == "Sheet1"
    assert sheet.told["CIP3AdmSoftware"] == "preflight 0.9"
    assert sheet.told["CIP3AdmCreationTime"] == "2026-12-01T08:30:00+00:00"
    assert [block.name for block in sheet.inside] == ["Front"]
    assert "CIP3AdmWorkStyle" not in sheet.told


def test_names_stand_in_unit_order_odd_letters_and_all(reads):
    front = reads(write_ppf(press_job())).the("Front")
    assert front.told["CIP3AdmSeparationNames"] == list(ODD_NAMES)
    told = [block.comments[0] for block in front.the("PreviewImage").inside]
    assert told == [f'Separation preview for ink: "{name}"' for name in ODD_NAMES]


def test_every_pixel_comes_back(reads):
    front = reads(write_ppf(press_job())).the("Front")
    for unit, (name, block) in enumerate(front.separations.items(), 1):
        assert name == ODD_NAMES[unit - 1]
        assert block.samples is not None
        assert np.array_equal(255 - block.samples, picture(unit)), "255 is bare, rows from the gripper edge"
        assert np.array_equal(ink(block), picture(unit) / 255), "the matrix says bottom-up, from the left"
        assert block.told["CIP3PreviewImageResolution"] == [50.8, 50.8]
        assert block.told["CIP3PreviewImageBitsPerComp"] == 8
        assert block.told["CIP3PreviewImageComponents"] == 1


def test_both_sides_of_a_sheet_that_is_turned(reads):
    job = press_job()
    back = UnitPlate(9, "Cyan", "process", "back", preview=picture(50))
    sheet = reads(write_ppf(replace(job, plates=(*job.plates, back))))
    assert [block.name for block in sheet.inside] == ["Front", "Back"]
    assert sheet.told["CIP3AdmWorkStyle"] == "Perfecting"
    assert list(sheet.the("Back").separations) == ["Cyan"]
    assert np.array_equal(ink(sheet.the("Back").separations["Cyan"]), picture(50) / 255)
    assert np.array_equal(ink(sheet.the("Front").separations["Cyan"]), picture(1) / 255)


def test_a_double_hit_is_two_pictures(reads):
    front = reads(write_ppf(press_job(("White", "White", "Cyan")))).the("Front")
    assert front.told["CIP3AdmSeparationNames"] == ["White", "White", "Cyan"]
    assert len(front.the("PreviewImage").inside) == 3


def test_ink_colours_are_told_when_all_are_known(reads):
    job = press_job(("Cyan", "Rose"))
    labs = (55.0, -37.0, -50.0), (60.0, 62.5, 4.0)
    known = replace(job, plates=tuple(replace(p, lab=lab) for p, lab in zip(job.plates, labs, strict=True)))
    assert reads(write_ppf(known)).the("Front").told["CIP3AdmInkColors"] == [list(lab) for lab in labs]
    partly = replace(known, plates=(known.plates[0], replace(known.plates[1], lab=None)))
    assert "CIP3AdmInkColors" not in reads(write_ppf(partly)).the("Front").told


def test_what_no_plate_shows_is_named_and_has_no_picture(reads):
    job = press_job(("Cyan",))
    overall = UnitPlate(7, "Gloss Varnish", "varnish")
    sheet = reads(write_ppf(replace(job, plates=(*job.plates, overall))))
    assert list(sheet.the("Front").separations) == ["Cyan"]
    assert any("Gloss Varnish" in said and "7" in said for said in sheet.comments)


def test_comments_tell_origin_plate_board_and_marks(reads):
    said = "\n".join(reads(write_ppf(press_job())).comments)
    for part in (
        *(
            "44/71 B",
            "revision C",
            "sage-tea.pdf",
            "ab" * 32,
            "0123456789ab",
            "295 g/m2",
            "0.45 mm",
            "grain along the travel",
        ),
        *("140 x 130 mm", "40 mm from the leading edge", "Register mark at 4 mm", "42 mm from the gripper edge"),
        *("operator is at the left", "operator side"),
    ):
        assert part in said
    mirrored = "\n".join(reads(write_ppf(press_job(operator_side="right", operator_assumed=True))).comments)
    assert "operator is at the right (assumed" in mirrored


def test_what_is_missing_and_how_the_back_lies_is_said():
    job = press_job(missing=("Part of x.pdf could not be drawn.",))
    assert "Part of x.pdf could not be drawn." in read_ppf(write_ppf(job)).comments
    assert not any("through the board" in said for said in read_ppf(write_ppf(job)).comments)
    back = UnitPlate(9, "Cyan", "process", "back", preview=picture(50))
    turned = replace(job, plates=(*job.plates, back))
    assert any("through the board" in said for said in read_ppf(write_ppf(turned)).comments)


def test_no_key_of_doubtful_spelling_is_written():
    sheet = read_ppf(write_ppf(press_job()))
    front = sheet.the("Front")
    assert set(sheet.told) == {f"CIP3Adm{key}" for key in (
        "JobName", "JobCode", "Software", "CreationTime", "SheetName", "PSExtent", "PaperExtent"
    )}  # fmt: skip
    assert set(front.told) == {"CIP3AdmSeparationNames"}
    assert set(front.the("PreviewImage").inside[0].told) == {f"CIP3PreviewImage{key}" for key in (
        "Width", "Height", "BitsPerComp", "Components", "Matrix", "Resolution", "Encoding", "Compression"
    )}  # fmt: skip


def test_the_same_job_gives_the_same_bytes():
    assert write_ppf(press_job()) == write_ppf(press_job())


def test_flat_artwork_takes_little_room():
    bare = np.full((1400, 2000), 255, np.uint8)
    assert len(run_lengths(bare)) < bare.size / 50
