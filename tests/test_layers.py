"""Layers and processing steps: what prints, what is a step, what is odd."""

from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.page.page import Layer
from preflight.artwork.pdf.structure.layers import NO_LAYER, TYPES, LayerReader, kind_by_name, step_area, step_kind
from preflight.inputs.kind_names import load_names
from preflight.kinds import KINDS


class Layers:
    """A file with layers A, B and C, of which the configuration may be set."""

    def __init__(self, **config: Any) -> None:
        self.pdf = pikepdf.new()
        self.a, self.b, self.c = (self.group(name) for name in "ABC")
        self.pdf.Root.OCProperties = Dictionary(OCGs=Array([self.a, self.b, self.c]), D=Dictionary())
        for key, value in config.items():
            entry = Array([getattr(self, name) for name in value]) if key in ("ON", "OFF") else value
            self.pdf.Root.OCProperties.D[Name("/" + key)] = entry

    def group(self, name: object, **keys: Any) -> pikepdf.Object:
        return self.pdf.make_indirect(Dictionary(Type=Name.OCG, Name=name, **keys))

    def membership(self, **keys: Any) -> pikepdf.Object:
        return self.pdf.make_indirect(Dictionary(Type=Name.OCMD, **keys))

    def prints(self, oc: object) -> bool:
        return LayerReader(self.pdf).state(oc)[1]


@pytest.mark.parametrize(
    ("config", "shown"),
    [
        ({}, "ABC"),
        ({"OFF": "b"}, "AC"),
        ({"OFF": "bc", "ON": "a"}, "A"),
        ({"BaseState": Name.OFF}, ""),
        ({"BaseState": Name.OFF, "ON": "b"}, "B"),
        ({"BaseState": Name.ON, "OFF": "a"}, "BC"),
        ({"BaseState": Name.Odd, "OFF": "a"}, "BC"),
        ({"Intent": Name.Design, "OFF": "a"}, "ABC"),  # groups of another intent are not switched
        ({"Intent": Name.All, "OFF": "a"}, "BC"),
    ],
)
def test_default_configuration(config: dict[str, Any], shown: str) -> None:
    file = Layers(**config)
    reader = LayerReader(file.pdf)
    for group in (file.a, file.b, file.c):
        reader.state(group)
    assert "".join(layer.name for layer in reader.layers if layer.prints) == shown
    assert len(reader.layers) == 3


@pytest.mark.parametrize(
    ("event", "listed", "state", "off", "prints", "remarked"),
    [
        ("Print", True, "OFF", "", False, True),
        ("Print", True, "ON", "a", True, True),
        ("Print", True, "ON", "", True, False),
        ("View", True, "OFF", "", True, True),
        ("Print", False, "OFF", "", True, True),  # nothing puts it into effect
        ("Print", False, "OFF", "a", False, False),
    ],
)
def test_print_state(event: str, listed: bool, state: str, off: str, prints: bool, remarked: bool) -> None:
    file = Layers(OFF=off)
    file.a.Usage = Dictionary(Print=Dictionary(PrintState=Name("/" + state)))
    groups = Array([file.a] if listed else [])
    application = Dictionary(Event=Name("/" + event), Category=Array([Name("/" + event)]), OCGs=groups)
    file.pdf.Root.OCProperties.D.AS = Array([application])
    reader = LayerReader(file.pdf)
    assert reader.state(file.a)[1] is prints
    assert bool(reader.layers[0].remark) is remarked


@pytest.mark.parametrize(
    ("policy", "off", "prints"),
    [
        (None, "", True), (None, "a", True), (None, "ab", False),
        ("AnyOn", "a", True), ("AnyOn", "ab", False),
        ("AllOn", "", True), ("AllOn", "a", False),
        ("AnyOff", "", False), ("AnyOff", "a", True),
        ("AllOff", "a", False), ("AllOff", "ab", True),
    ],
)  # fmt: skip
def test_membership_policy(policy: str | None, off: str, prints: bool) -> None:
    file = Layers(OFF=off)
    keys = {} if policy is None else {"P": Name("/" + policy)}
    assert file.prints(file.membership(OCGs=Array([file.a, file.b]), **keys)) is prints


def test_membership_of_one_of_none_and_of_nonsense() -> None:
    file = Layers(OFF="a")
    assert file.prints(file.membership(OCGs=file.a)) is False
    assert file.prints(file.membership()) is True
    assert file.prints(file.membership(OCGs=Array([]))) is True
    assert file.prints(file.membership(OCGs=Array([None, file.a, 7]))) is False
    for nonsense in (None, 5, Name.A, Array([]), Dictionary(), Dictionary(Type=Name.Odd)):
        assert LayerReader(file.pdf).state(nonsense) == (NO_LAYER, True)


def test_visibility_expressions() -> None:
    file = Layers(OFF="a")
    cases: list[tuple[Any, bool]] = [
        (Array([Name.Not, file.a]), True),
        (Array([Name.Not, file.b]), False),
        (Array([Name.And, file.a, file.b]), False),
        (Array([Name.Or, file.a, file.b]), True),
        (Array([Name.And, file.b, Array([Name.Not, file.a])]), True),
        (Array([Name.Or]), True),
    ]
    for expression, prints in cases:
        # the expression wins over the groups
        assert file.prints(file.membership(VE=expression, OCGs=file.a)) is prints


def test_a_deep_expression_ends() -> None:
    file = Layers(OFF="a")
    expression = Array([Name.Not, file.a])
    for _ in range(300):
        expression = Array([Name.And, expression, file.b])
    assert file.prints(file.membership(VE=expression)) is True  # too deep to follow counts as shown
    loop = file.pdf.make_indirect(Array([Name.And, file.b]))
    loop.append(loop)
    assert file.prints(file.membership(VE=loop)) is True


def test_a_membership_points_to_the_group_with_the_step() -> None:
    file = Layers()
    file.b.GTS_Metadata = Dictionary(GTS_ProcStepsGroup=Name.Structural, GTS_ProcStepsType=Name.Cutting)
    reader = LayerReader(file.pdf)
    index, _ = reader.state(file.membership(OCGs=Array([file.a, file.b, file.c])))
    assert reader.layers[index].step_type == "Cutting"
    assert reader.state(file.membership(OCGs=Array([file.c, file.a])))[0] == reader.state(file.c)[0]


def step(group: str | None, kind: str | None, *, on_itself: bool = False) -> Layer:
    file = Layers()
    keys = {"GTS_ProcStepsGroup": group, "GTS_ProcStepsType": kind}
    entries = {"/" + key: Name("/" + value) for key, value in keys.items() if value is not None}
    if on_itself:
        for key, value in entries.items():
            file.a[key] = value
    else:
        file.a.GTS_Metadata = Dictionary(entries)
    reader = LayerReader(file.pdf)
    reader.state(file.a)
    return reader.layers[0]


@pytest.mark.parametrize(
    ("group", "kind", "means", "area"),
    [
        ("Structural", "Cutting", "cut", None),
        ("Structural", "PartialCutting", "half-cut", None),
        ("Structural", "ReverseCreasing", "crease", None),
        ("Structural", "Folding", "crease", None),
        ("Structural", "CuttingCreasing", "perforate", None),
        ("Structural", "Perforating", "perforate", None),
        ("Structural", "Gluing", "glue", "glue flap"),
        ("Structural", "ColdFoilStamping", "foil", None),
        ("Structural", "Debossing", "emboss", None),
        ("Structural", "Bleed", "guide", None),
        ("Structural", "VarnishFree", "guide", "varnish free"),
        ("Structural", "InkFree", "guide", "ink free"),
        ("Positions", "Barcode", "guide", "bar code"),
        ("Positions", "CodingMarking", "guide", "code"),
        ("Positions", "StationInfo", "guide", None),
        ("Dimensions", None, "guide", None),
        ("Legend", None, "guide", None),
        ("Braille", None, "braille", None),
        ("White", None, "white", None),
        ("Varnish", None, "varnish", None),
        ("Primer", None, "primer", None),
        ("PlateMaking", "Cutting", "guide", None),  # cuts a plate, not the board
        ("PlateMaking", "NoMark", "guide", None),
    ],
)
def test_steps(group: str, kind: str | None, means: str, area: str | None) -> None:
    layer = step(group, kind)
    assert (layer.step_group, layer.step_type, layer.remark) == (group, kind or "", "")
    assert (step_kind(layer), step_area(layer)) == (means, area)


def test_every_listed_step_has_a_kind() -> None:
    for group, kinds in TYPES.items():
        for kind in kinds or [""]:
            assert step_kind(Layer("", True, group, kind)) in KINDS


@pytest.mark.parametrize(
    ("group", "kind", "means"),
    [
        ("Structural", "Cuting", None),
        ("Structural", "cutting", None),
        ("Structural", None, None),
        (None, "Cutting", None),
        ("Structure", "Cutting", None),
        ("White", "Cutting", "white"),
        ("Structural", "GWG__Special", None),
        ("Structural", "ACME_Special", None),
    ],
)
def test_odd_steps_are_remarked(group: str | None, kind: str | None, means: str | None) -> None:
    layer = step(group, kind)
    assert layer.remark
    assert step_kind(layer) == means


def test_a_misspelt_type_gets_the_nearest_one() -> None:
    assert "Cutting" in step("Structural", "Cuting").remark
    assert "Structural" in step("Structurel", "Cutting").remark


def test_keys_on_the_layer_itself() -> None:
    layer = step("Structural", "Cutting", on_itself=True)
    assert step_kind(layer) == "cut"
    assert layer.remark
    plain = step(None, None)
    assert (plain.step_group, plain.step_type, plain.remark) == ("", "", "")


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        (b"\xfe\xff" + "刀型線".encode("utf-16-be"), "刀型線"),
        (b"\xff\xfe" + "Rainage".encode("utf-16-le"), "Rainage"),
        (b"\xef\xbb\xbf" + "Découpe".encode(), "Découpe"),
        (b"L\xe4ngs", "Längs"),
        (b"Cut\x80line", "Cut•line"),
        (b"a\x07b", "a\\x07b"),
        (b"", ""),
    ],
)
def test_names(raw: bytes, shown: str) -> None:
    file = Layers()
    group = file.group(String(raw))
    reader = LayerReader(file.pdf)
    reader.state(group)
    assert reader.layers[0].name == shown


def test_kind_by_name() -> None:
    found = kind_by_name(Layer("Stanzkontur", True), load_names())
    assert found is not None
    assert found[0] == "cut"
    assert kind_by_name(Layer("Artwork", True), load_names()) is None


def test_a_file_without_layers_or_with_nonsense_for_them() -> None:
    pdf = pikepdf.new()
    assert LayerReader(pdf).layers == []
    pdf.Root.OCProperties = Array([])
    LayerReader(pdf)
    pdf.Root.OCProperties = Dictionary(D=Dictionary(ON=Name.A, OFF=Array([1, None]), AS=Array([Name.B, Dictionary()])))
    group = pdf.make_indirect(Dictionary(Type=Name.OCG))
    assert LayerReader(pdf).state(group) == (0, True)


def test_a_group_is_told_by_its_type_or_its_name_and_a_membership_by_its_groups() -> None:
    file = Layers(OFF="b")
    named = file.pdf.make_indirect(Dictionary(Name="Named"))
    both = file.pdf.make_indirect(Dictionary(Name="Both", OCGs=Array([file.b])))
    untyped = file.pdf.make_indirect(Dictionary(OCGs=Array([file.b])))
    reader = LayerReader(file.pdf)
    assert [reader.state(oc) for oc in (file.a, named, both, untyped)] == [(0, True), (1, True), (2, True), (3, False)]
    assert [layer.name for layer in reader.layers] == ["A", "Named", "Both", "B"]
    assert reader.state(untyped) == reader.state(file.b) == (3, False)
    assert len(reader.layers) == 4


@pytest.mark.parametrize(
    ("config", "shown"),
    [
        ({"BaseState": Name.OFF, "ON": "b", "OFF": "b"}, "B"),  # OFF says nothing new there (table 99)
        ({"BaseState": Name.ON, "ON": "b", "OFF": "b"}, "AC"),
        ({"Intent": Array([Name.Design, Name.View]), "OFF": "a"}, "BC"),
        ({"Intent": Array([]), "OFF": "a"}, "BC"),
    ],
)
def test_lists_that_say_both(config: dict[str, Any], shown: str) -> None:
    file = Layers(**config)
    assert "".join(name for name in "ABC" if file.prints(getattr(file, name.lower()))) == shown


def test_a_group_of_two_intents_is_switched_and_one_of_another_is_not() -> None:
    file = Layers(OFF="ab")
    file.a.Intent, file.b.Intent = Array([Name.Design, Name.View]), Name.Design
    reader = LayerReader(file.pdf)
    assert [reader.state(group)[1] for group in (file.a, file.b)] == [False, True]
    other = reader.layers[1]
    assert (other.prints, other.switched_on, other.seen, other.remark) == (True, True, True, "")


def applied(*events: tuple[str, str, str], off: str = "") -> Layers:
    """Layer A with usages that say what it is, each put into effect: event, category, state."""
    file = Layers(OFF=off)
    file.a.Usage, applications = Dictionary(), []
    for event, category, state in events:
        file.a.Usage[Name("/" + event)] = Dictionary({f"/{event}State": Name("/" + state)})
        applications.append(
            Dictionary(Event=Name("/" + event), Category=Array([Name("/" + category)]), OCGs=Array([file.b, file.a]))
        )
    file.pdf.Root.OCProperties.D.AS = Array(applications)
    return file


@pytest.mark.parametrize(
    ("events", "off", "prints", "switched_on", "seen", "remarked"),
    [
        ([], "", True, True, True, False),
        ([], "a", False, False, False, False),
        ([("Print", "Print", "OFF")], "", False, True, True, True),
        ([("Print", "Print", "ON")], "a", True, False, False, True),
        ([("View", "View", "OFF")], "", True, True, False, True),
        ([("View", "View", "ON")], "a", False, False, True, True),
        ([("View", "View", "OFF"), ("Print", "Print", "OFF")], "", False, True, False, False),
        ([("View", "View", "ON"), ("Print", "Print", "ON")], "a", True, False, True, False),
        ([("Print", "View", "OFF")], "", True, True, True, True),  # of another category: put into effect by nothing
        ([("Print", "View", "OFF")], "a", False, False, False, False),
        ([("Print", "Print", "Odd")], "", True, True, True, False),
    ],
)
def test_what_is_printed_and_what_is_seen(
    events: list[tuple[str, str, str]], off: str, prints: bool, switched_on: bool, seen: bool, remarked: bool
) -> None:
    file = applied(*events, off=off)
    reader = LayerReader(file.pdf)
    assert reader.state(file.a) == (0, prints)
    layer = reader.layers[0]
    assert (layer.prints, layer.switched_on, layer.seen) == (prints, switched_on, seen)
    assert bool(layer.remark) is remarked


def test_a_layer_is_on_unless_somebody_says_otherwise() -> None:
    layer = Layer("A", True)
    assert (layer.switched_on, layer.seen, layer.step_group, layer.step_type, layer.remark) == (True, True, "", "", "")


def test_a_membership_by_an_expression_has_the_layer_that_stands_first_in_it() -> None:
    file = Layers(OFF="c")
    reader = LayerReader(file.pdf)
    expression = Array([Name.And, file.b, Array([Name.Or, file.c, file.a])])
    index, prints = reader.state(file.membership(VE=expression))
    assert (reader.layers[index].name, prints) == ("B", True)
    listed, prints = reader.state(file.membership(VE=expression, OCGs=Array([file.a, file.c])))
    assert (reader.layers[listed].name, prints) == ("A", True)
    assert reader.state(file.membership(VE=Array([Name.Odd, file.b, file.c])))[1] is False  # taken as And


@pytest.mark.parametrize(("depth", "prints"), [(1, False), (32, False), (33, True)])
def test_an_expression_is_followed_thirty_two_deep(depth: int, prints: bool) -> None:
    file = Layers()
    expression = Array([Name.Not, file.a])
    for _ in range(depth):
        expression = Array([Name.And, file.b, expression])
    assert file.prints(file.membership(VE=expression)) is prints


@pytest.mark.parametrize(("kind", "own"), [("ACME_Special", True), ("GWG__Special", True), ("ACMES_Special", False)])
def test_a_step_with_the_prefix_of_a_firm_is_its_own(kind: str, own: bool) -> None:
    assert ("own" in step("Structural", kind).remark) is own
