"""XJDF is valid against its published schema, and says what the job says."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from xml.etree import ElementTree as ET

import pytest
import xmlschema

from preflight.setup.press_files.press_job import Amounts, Keys, Origin, PlateOnPress, PressJob, Stock, UnitPlate
from preflight.setup.press_files.xjdf import write_xjdf
from preflight.setup.press_files.xml_names import token, tokens
from tests.press_jobs import ODD_NAMES, SIZE, press_job
from tests.referees import XJDF_XSD, needs_xjdf_schema
from tests.xjdf_reader import mm, named, resources

ODD_TOKENS = ["Cyan", "Sea__deep__Blue_2", "Gr_n_7___", "Moss__Green_"]


def bare_job() -> PressJob:
    """As little as may be known."""
    full = press_job(("Cyan",))
    origin = Origin(None, None, None, (), full.origin.tool, full.origin.rules_version, full.origin.when)
    return PressJob(origin, Stock(SIZE), (UnitPlate(1, "Cyan", "process"),))


def two_sided() -> PressJob:
    job = press_job(("Cyan", "Black"))
    back = UnitPlate(9, "Black", "process", "back", covers=(0.1, 0.2, 0.3, 0.4, 0.5))
    return replace(job, plates=(*job.plates, back), operator_side="right", drying="UV", drying_between="Off")


JOBS = {
    "full": press_job(),
    "as little as may be": bare_job(),
    "both sides": two_sided(),
    "letters that XML has no place for": press_job(("Deep\x00\x1b Sea", '<Blue> & "Green"', "\ud800", "")),
    "a double hit": press_job(("White", "White", "Cyan")),
}


@cache
def published_schema() -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(XJDF_XSD)


@needs_xjdf_schema
@pytest.mark.parametrize("job", JOBS.values(), ids=list(JOBS))
def test_it_is_valid_against_the_published_schema(job):
    published_schema().validate(write_xjdf(job).decode())


@needs_xjdf_schema
def test_the_schema_would_refuse_what_is_wrong():
    """That no element slips by unseen: an attribute that it does not know, and a width that is none."""
    schema = published_schema()
    text = write_xjdf(press_job()).decode()
    assert not schema.is_valid(text.replace("ZoneWidth=", "ZoneWide="))
    assert not schema.is_valid(text.replace('GrainDirection="YDirection"', 'GrainDirection="Along"'))
    assert not schema.is_valid(text.replace("http://www.CIP4.org/JDFSchema_2_0", "http://www.CIP4.org/JDFSchema_1_1"))


def test_the_board_is_in_the_units_of_the_format():
    board, plate = resources(write_xjdf(press_job()), "Media")
    media = board.find("Media")
    assert mm(media.get("Dimension")) == pytest.approx([120.3, 90], abs=1e-3)
    assert media.get("MediaType") == "Paper"
    assert float(media.get("Thickness")) == 450, "micrometres"
    assert float(media.get("Weight")) == 295
    assert media.get("GrainDirection") == "YDirection"
    assert board.get("DescriptiveName") == "GC2"
    assert plate.find("Media").get("MediaType") == "Plate"
    assert mm(plate.find("Media").get("Dimension")) == pytest.approx([140, 130], abs=1e-3)
    assert "40 mm from the leading edge" in plate.find("Comment").text


def test_blanks_and_marks_lie_where_they_are():
    (resource,) = resources(write_xjdf(press_job()), "Layout")
    layout = resource.find("Layout")
    first, second = layout.findall("Position")
    assert mm(first.get("AbsoluteBox")) == pytest.approx([10, 12, 40.5, 72], abs=1e-3)
    assert mm(second.get("AbsoluteBox")) == pytest.approx([60, 12, 90.5, 72], abs=1e-3)
    assert [each.get("Orientation") for each in (first, second)] == ["Rotate0", "Rotate180"]
    assert [each.text for each in resource.findall("Comment")[1:]] == ["Blank 1: Mint", "Blank 2: Sage"]
    assert mm(layout.find(".//RegisterMark").get("Center")) == pytest.approx([4, 42], abs=1e-3)
    strip = layout.find(".//ColorControlStrip")
    assert mm(strip.get("Center")) == pytest.approx([60, 84.5], abs=1e-3)
    assert mm(strip.get("Size")) == pytest.approx([110, 5], abs=1e-3)
    assert mm(layout.get("SurfaceContentsBox")) == pytest.approx([0, 0, 120.3, 90], abs=1e-3)
    ids = {each.get("ID") for each in named(write_xjdf(press_job())).iter() if each.get("ID")}
    assert {layout.get("PaperRef"), layout.get("PlateRef")} <= ids


def test_inks_have_tokens_and_their_own_names():
    text = write_xjdf(press_job())
    told = {each.find("Part").get("Separation"): each.find("Color") for each in resources(text, "Color")}
    assert list(told) == ODD_TOKENS
    assert [colour.get("ActualColorName") for colour in told.values()] == list(ODD_NAMES)
    (control,) = resources(text, "ColorantControl")
    assert control.find("ColorantControl").get("ColorantOrder").split() == ODD_TOKENS
    assert control.find("Comment").text == "Units: 2 Cyan, 4 Sea (deep) Blue\\2, 6 Grün 7 (), 8 Moss  Green)"


def test_two_names_never_share_a_token():
    assert tokens(["Red 1", "Red_1", "Red(1", "Red_1-2"]) == ["Red_1", "Red_1-2", "Red_1-3", "Red_1-2-2"]
    assert token("") == "_"


def test_colours_by_kind_and_aim():
    job = press_job(("White", "Rose", "Gloss", "Copper"))
    kinds = ("white", "spot", "varnish", "metallic")
    plates = [replace(plate, kind=kind) for plate, kind in zip(job.plates, kinds, strict=True)]
    plates[1] = replace(plates[1], lab=(60, 62.5, 4), density=1.4)
    white, rose, gloss, copper = (
        each.find("Color") for each in resources(write_xjdf(replace(job, plates=tuple(plates))), "Color")
    )
    assert (white.get("ColorType"), gloss.get("ColorType")) == ("Opaque", "Transparent")
    assert (rose.get("Lab"), rose.get("Density")) == ("60 62.5 4", "1.4")
    assert copper.get("ColorType") is None


def test_covers_of_each_side_and_ink():
    text = write_xjdf(two_sided())
    told = {
        (part.get("Side"), part.get("Separation")): each.find("InkZoneProfile")
        for each in resources(text, "InkZoneProfile")
        for part in [each.find("Part")]
    }
    assert list(told) == [("Front", "Cyan"), ("Front", "Black"), ("Back", "Black-2")]
    assert [float(v) for v in told["Back", "Black-2"].get("ZoneSettingsX").split()] == [0.1, 0.2, 0.3, 0.4, 0.5]
    assert [float(v) for v in told["Front", "Black"].get("ZoneSettingsX").split()] == [0, 0.125, 0.25, 0.375, 0.5]
    assert mm(told["Front", "Cyan"].get("ZoneWidth")) == pytest.approx([30], abs=1e-3)
    names = {each.find("Part").get("Separation"): each.find("Color") for each in resources(text, "Color")}
    assert names["Black-2"].get("ActualColorName") == "Black"


def test_covers_are_called_covers_and_openings_stand_beside_them():
    job = press_job(("Cyan", "Rose"))
    said = [each.text for each in named(write_xjdf(job)).iter("Comment")]
    assert any("covers" in text and "not openings" in text for text in said)
    assert "Zone 1 begins -14.85 mm from the sheet's edge at the operator side." in said
    curve = replace(job.plates[0], openings_percent=(3, 12.5, 20, None, 40))
    (cyan, rose) = resources(write_xjdf(replace(job, plates=(curve, job.plates[1]))), "InkZoneProfile")
    assert cyan.find("Comment").text == "Openings by the plant's curve, percent (- is not known): 3 12.5 20 - 40"
    assert [float(v) for v in cyan.find("InkZoneProfile").get("ZoneSettingsX").split()] == [0, 0.25, 0.5, 0.75, 1]
    assert rose.find("Comment") is None


def test_run_and_coats():
    job = press_job(("Cyan",), side_lay="drive", drying="UV", drying_between="Off")
    text = write_xjdf(job)
    root = named(text)
    assert root.get("Types") == "ConventionalPrinting Varnishing"
    sheets, printed = resources(text, "Component")
    assert sheets.find("AmountPool/PartAmount").get("Amount") == "1350"
    assert (
        printed.find("AmountPool/PartAmount").get("Amount"),
        printed.find("AmountPool/PartAmount").get("Waste"),
    ) == (
        "1000",
        "350",
    )
    (printing,) = resources(text, "ConventionalPrintingParams")
    told = printing.find("ConventionalPrintingParams").attrib
    assert told == {"Drying": "UV", "ModuleDrying": "Off", "SheetLay": "Right", "WorkStyle": "Simplex"}
    (coat,) = resources(text, "VarnishingParams")
    assert coat.find("VarnishingParams").attrib == {
        "ModuleID": "Coater1", "ModuleType": "CoatingModule", "VarnishArea": "Spot", "VarnishMethod": "Plate"
    }  # fmt: skip
    mint, sage = root.findall("ProductList/Product")
    assert (mint.get("PartVersion"), mint.get("Amount")) == ("Mint", "1000")
    assert (sage.get("PartVersion"), sage.get("Amount")) == ("Sage", None)


def test_what_is_not_known_is_not_told():
    root = named(write_xjdf(bare_job()))
    (media,) = root.iter("Media")
    assert set(media.attrib) == {"Dimension", "MediaType", "MediaUnit"}
    for tag in ("InkZoneProfile", "VarnishingParams", "PartAmount", "ProductList", "Position"):
        assert not list(root.iter(tag))
    assert root.get("JobID") == "not-named"
    assert root.find(".//ConventionalPrintingParams/..") is not None


def test_origin_stands_in_the_file():
    root = named(write_xjdf(press_job()))
    told = {each.get("IDUsage"): each.get("IDValue") for each in root.findall("GeneralID")}
    assert told == {
        "Ticket": "44/71 B", "Revision": "C", "Press": "Seven units", "Artwork": "sage-tea.pdf",
        "ArtworkSHA256": "ab" * 32, "RulesVersion": "0123456789ab",
    }  # fmt: skip
    header = root.find("AuditPool/AuditCreated/Header")
    assert (header.get("AgentName"), header.get("AgentVersion")) == ("preflight", "0.9")
    assert header.get("Time") == "2026-12-01T08:30:00+00:00"
    assert root.get("JobID") == "44_71_B"
    assert root.get("DescriptiveName") == "Sage & mint <tea>"


def test_what_is_missing_is_said():
    root = named(write_xjdf(press_job(missing=("Part of x.pdf could not be drawn.",))))
    assert "Part of x.pdf could not be drawn." in [each.text for each in root.findall("Comment")]


def test_the_same_job_gives_the_same_bytes():
    assert write_xjdf(press_job()) == write_xjdf(press_job())


def test_letters_that_xml_has_no_place_for_become_a_sign_for_them():
    text = write_xjdf(JOBS["letters that XML has no place for"])
    ET.fromstring(text)
    names = [each.get("ActualColorName") for each in named(text).iter("Color")]
    assert names == ["Deep\ufffd\ufffd Sea", '<Blue> & "Green"', "\ufffd", ""]


def test_lengths_without_keys_are_no_zones():
    job = press_job(("Cyan",), keys=None, plate=PlateOnPress(), amounts=Amounts(1000))
    root = named(write_xjdf(job))
    assert not list(root.iter("InkZoneProfile"))
    assert root.find(".//Layout").get("PlateRef") is None
    assert not [each for each in root.iter("PartAmount") if each.get("Waste")]
    assert Keys(31, 33).first_begins_mm(SIZE) == pytest.approx((120.3 - 31 * 33) / 2)
