"""XJDF 2.1: board, layout, order of the inks, covers of the key strips, coating and run.

XJDF Specification 2.1 (CIP4); element by element as its published schema has it. Lengths are points of 1/72 in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final
from xml.etree import ElementTree as ET

from preflight.setup.press_files.figures import in_points, plain, points
from preflight.setup.press_files.press_job import OVERALL, SHEET_NAME, MarkAt, PressJob, Side, UnitPlate, how_it_lies
from preflight.setup.press_files.xml_names import readable, token, tokens

NAMESPACE: Final = "http://www.CIP4.org/JDFSchema_2_0"
"""Of XJDF 2.0 and 2.1."""
COLOUR_TYPES: Final = {
    "process": "Normal",
    "spot": "Normal",
    "white": "Opaque",
    "primer": "Primer",
    "varnish": "Transparent",
}
"""``Color/@ColorType`` by kind; a metallic has none that is sure."""
COATS: Final[Mapping[str, tuple[str, str | None]]] = {
    "overall": ("Full", None),
    "cut blanket": ("Spot", "Blanket"),
    "plate": ("Spot", "Plate"),
}
"""``VarnishingParams/@VarnishArea`` and ``@VarnishMethod`` by what a coater lays."""
COVERS_SAY: Final = (
    "ZoneSettingsX are covers (mean tint of the plate in each strip, 0 to 1), and not openings of the keys. "
    "The first is at the operator side."
)


def write_xjdf(job: PressJob) -> bytes:
    """The file, UTF-8; the same job gives the same bytes.

    Two plates of one name, as of a double hit, are two separations with one ``ActualColorName``.
    """
    root = _Writer(job).root()
    ET.indent(root)
    text: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _element(within: ET.Element, tag: str, **attributes: object) -> ET.Element:
    """A new element; attributes that are None are left out."""
    told = {name: readable(str(value)) for name, value in attributes.items() if value is not None}
    return ET.SubElement(within, tag, told)


def _comment(within: ET.Element, text: str) -> None:
    _element(within, "Comment").text = readable(text)


def _row(*values: float) -> str:
    return " ".join(plain(value) for value in values)


@dataclass(frozen=True)
class _Writer:
    job: PressJob

    @cached_property
    def separations(self) -> list[tuple[str, UnitPlate]]:
        """Plates in unit order, each with its token."""
        return list(zip(tokens(plate.name for plate in self.job.plates), self.job.plates, strict=True))

    @cached_property
    def versions(self) -> dict[str | None, str | None]:
        """Token of each version."""
        named = [cartons.version for cartons in self.job.cartons if cartons.version is not None]
        return {None: None, **dict(zip(named, tokens(named), strict=True))}

    def root(self) -> ET.Element:
        origin = self.job.origin
        root = ET.Element("XJDF", {"xmlns": NAMESPACE})
        processes = ["ConventionalPrinting", *["Varnishing"] * len(self.job.coats)]
        for name, value in (
            ("DescriptiveName", origin.title),
            ("JobID", token(origin.ticket or "not-named")),
            ("Types", " ".join(processes)),
            ("Version", "2.1"),
        ):
            if value is not None:
                root.set(name, readable(value))
        self._origin(root)
        self._products(root)
        parts: tuple[Callable[[ET.Element], None], ...] = (
            self._media, self._components, self._layout, self._colours, self._order, self._zones, self._printing,
            self._coats,
        )  # fmt: skip
        for part in parts:
            part(root)
        return root

    def _origin(self, root: ET.Element) -> None:
        origin, when = self.job.origin, self.job.origin.when.isoformat(timespec="seconds")
        created = _element(_element(root, "AuditPool"), "AuditCreated")
        agent, _, version = origin.tool.partition(" ")
        _element(created, "Header", AgentName=agent, AgentVersion=version or None, DeviceID=token(agent), Time=when)
        _comment(root, "A proposal, to be accepted by the press crew.")
        for said in (how_it_lies(self.job), *self.job.missing):
            _comment(root, said)
        told = [("Ticket", origin.ticket), ("Revision", origin.revision), ("Press", origin.press or None)]
        for file, digest in origin.artworks:
            told += [("Artwork", file), ("ArtworkSHA256", digest)]
        for usage, value in [*told, ("RulesVersion", origin.rules_version)]:
            if value is not None:
                _element(root, "GeneralID", IDUsage=usage, IDValue=value)

    def _products(self, root: ET.Element) -> None:
        if not self.job.cartons:
            return
        pool = _element(root, "ProductList")
        for cartons in self.job.cartons:
            name = cartons.version or self.job.origin.title
            version = self.versions[cartons.version]
            _element(pool, "Product", Amount=cartons.amount, DescriptiveName=name, IsRoot="true", PartVersion=version,
                     ProductTypeDetails="folding carton")  # fmt: skip

    def _media(self, root: ET.Element) -> None:
        stock, plate = self.job.stock, self.job.plate
        media = _element(root, "ResourceSet", Name="Media")
        board = _element(media, "Resource", DescriptiveName=stock.grade, ID="Board")
        grain = {"across": "XDirection", "along": "YDirection"}.get(stock.grain or "")
        _element(
            board,
            "Media",
            Dimension=_row(*in_points(stock.size)),
            GrainDirection=grain,
            MediaType="Paper",
            MediaUnit="Sheet",
            Thickness=None if stock.caliper_mm is None else plain(stock.caliper_mm * 1000),
            Weight=None if stock.weight_gsm is None else plain(stock.weight_gsm),
        )
        if plate.size is not None:
            printing = _element(media, "Resource", ID="Plate")
            if plate.sheet_starts_mm is not None:
                starts = plain(plate.sheet_starts_mm)
                _comment(printing, f"The sheet starts {starts} mm from the leading edge, in the middle across.")
            _element(printing, "Media", Dimension=_row(*in_points(plate.size)), MediaType="Plate")

    def _components(self, root: ET.Element) -> None:
        """Sheets in, sheets out."""
        amounts = self.job.amounts
        waste = None if amounts.gross is None or amounts.net is None else amounts.gross - amounts.net
        for usage, name, amount, lost in (
            ("Input", "Sheets", amounts.gross, None),
            ("Output", "PrintedSheets", amounts.net, waste),
        ):
            sheets = _element(_element(root, "ResourceSet", Name="Component", Usage=usage), "Resource", ID=name)
            if amount is not None:
                _element(_element(sheets, "AmountPool"), "PartAmount", Amount=amount, Waste=lost)
            _element(sheets, "Component", MediaRef="Board")

    def _layout(self, root: ET.Element) -> None:
        resource = _element(_element(root, "ResourceSet", Name="Layout", Usage="Input"), "Resource", ID="Layout")
        _comment(
            resource,
            f"{how_it_lies(self.job)} A box is that of the cut, without bleed; turns are those of the printed face.",
        )
        for blank in self.job.blanks:
            if blank.version is not None:
                _comment(resource, f"Blank {blank.number}: {blank.version}")
        _element(resource, "Part", SheetName=SHEET_NAME)
        plate = "Plate" if self.job.plate.size is not None else None
        box = _row(0, 0, *in_points(self.job.stock.size))
        layout = _element(resource, "Layout", PaperRef="Board", PlateRef=plate, SurfaceContentsBox=box,
                          WorkStyle=self._work_style)  # fmt: skip
        for mark in self.job.marks:
            self._mark(layout, mark)
        for blank in self.job.blanks:
            corners = (blank.x_mm, blank.y_mm, blank.x_mm + blank.width_mm, blank.y_mm + blank.height_mm)
            turn = None if blank.turn_deg is None else f"Rotate{blank.turn_deg}"
            _element(layout, "Position", AbsoluteBox=_row(*map(points, corners)), BlockName=f"Blank{blank.number}",
                     Orientation=turn)  # fmt: skip

    @property
    def _work_style(self) -> str:
        return "Perfecting" if len(self.job.sides) > 1 else "Simplex"

    def _mark(self, layout: ET.Element, mark: MarkAt) -> None:
        placed = _element(_element(layout, "PlacedObject", CTM="1 0 0 1 0 0"), "MarkObject")
        middle = _row(*map(points, mark.middle_mm))
        if mark.kind == "register":
            _element(placed, "RegisterMark", Center=middle)
        else:
            _element(
                placed, "ColorControlStrip", Center=middle, Size=_row(points(mark.width_mm), points(mark.height_mm))
            )

    def _colours(self, root: ET.Element) -> None:
        colours = _element(root, "ResourceSet", Name="Color", Usage="Input")
        for name, plate in self.separations:
            resource = _element(colours, "Resource")
            _element(resource, "Part", Separation=name)
            _element(
                resource,
                "Color",
                ActualColorName=plate.name,
                ColorType=COLOUR_TYPES.get(plate.kind or ""),
                ColorTypeDetails=plate.kind,
                Density=None if plate.density is None else plain(plate.density),
                Lab=None if plate.lab is None else _row(*plate.lab),
            )

    def _order(self, root: ET.Element) -> None:
        """Separations as they stand on the units."""
        control = _element(root, "ResourceSet", Name="ColorantControl", Usage="Input")
        for side in self.job.sides:
            names = " ".join(name for name, plate in self.separations if plate.side == side)
            resource = _element(control, "Resource")
            _comment(resource, "Units: " + ", ".join(f"{p.unit} {p.name}" for p in self.job.plates_of(side)))
            self._part(resource, side)
            _element(resource, "ColorantControl", ColorantOrder=names, ColorantParams=names)

    def _zones(self, root: ET.Element) -> None:
        keys, told = self.job.keys, [(name, plate) for name, plate in self.separations if plate.covers is not None]
        if keys is None or not told:
            return
        zones = _element(root, "ResourceSet", Name="InkZoneProfile", Usage="Input")
        _comment(zones, COVERS_SAY)
        begins = plain(keys.first_begins_mm(self.job.stock.size))
        _comment(zones, f"Zone 1 begins {begins} mm from the sheet's edge at the operator side.")
        for name, plate in told:
            resource = _element(zones, "Resource")
            if plate.overall:
                _comment(resource, OVERALL)
            if plate.openings_percent is not None:
                opened = " ".join("-" if each is None else plain(each) for each in plate.openings_percent)
                _comment(resource, f"Openings by the plant's curve, percent (- is not known): {opened}")
            self._part(resource, plate.side, name)
            _element(resource, "InkZoneProfile", ZoneSettingsX=_row(*plate.covers or ()),
                     ZoneWidth=plain(points(keys.pitch_mm)))  # fmt: skip

    def _part(self, resource: ET.Element, side: Side, separation: str | None = None) -> None:
        _element(resource, "Part", Separation=separation, SheetName=SHEET_NAME, Side=side.capitalize())

    def _printing(self, root: ET.Element) -> None:
        job = self.job
        resource = _element(_element(root, "ResourceSet", Name="ConventionalPrintingParams", Usage="Input"), "Resource")
        if job.amounts.speed_sheets_h is not None:
            _comment(resource, f"Planned speed: {plain(job.amounts.speed_sheets_h, 0)} sheets/h")
        _element(
            resource,
            "ConventionalPrintingParams",
            Drying=job.drying,
            ModuleDrying=job.drying_between,
            SheetLay={"operator": "Left", "drive": "Right"}.get(job.side_lay or ""),
            WorkStyle=self._work_style,
        )

    def _coats(self, root: ET.Element) -> None:
        """A set for each coater: what it lays belongs to one of the processes that ``Types`` lists."""
        for index, coat in enumerate(self.job.coats, 1):
            coats = _element(root, "ResourceSet", CombinedProcessIndex=index, Name="VarnishingParams", Usage="Input")
            resource = _element(coats, "Resource")
            _comment(resource, f"Coater {coat.coater}: {coat.coating}" + (f", {coat.lays}" if coat.lays else ""))
            area, method = COATS.get(coat.lays or "", (None, None))
            _element(
                resource,
                "VarnishingParams",
                ModuleID=f"Coater{coat.coater}",
                ModuleType="CoatingModule",
                VarnishArea=area,
                VarnishMethod=method,
            )
