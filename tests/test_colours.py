"""Colour spaces: families, plates and tints."""

import zlib
from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.colour_reader import ColourReader, ColourSpace, shown_name

PDF = pikepdf.new()
TINT = PDF.make_indirect(Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0, 0.5, 0.5, 0]))


def name(raw: bytes) -> pikepdf.Object:
    return pikepdf.Object.parse(b"/" + b"".join(b"#%02x" % byte for byte in raw))


def separation(colorant: object = Name.Brown, alternate: object = Name.DeviceCMYK) -> Array:
    return Array([Name.Separation, colorant, alternate, TINT])


def device_n(*colorants: str, **attributes: Any) -> Array:
    space = Array([Name.DeviceN, Array([Name("/" + c) for c in colorants]), Name.DeviceCMYK, TINT])
    if attributes:
        space.append(Dictionary(**attributes))
    return space


def icc(header: bytes = b"", alternate: object = None, **keys: Any) -> Array:
    profile = PDF.make_stream(zlib.compress(bytes(16) + header.ljust(4) + bytes(108)), Filter=Name.FlateDecode, **keys)
    if alternate is not None:
        profile.Alternate = alternate
    return Array([Name.ICCBased, profile])


def cal(family: str, **keys: Any) -> Array:
    return Array([Name("/" + family), Dictionary(WhitePoint=[0.9505, 1, 1.089], **keys)])


def indexed(base: object, highest: object, table: object) -> Array:
    return Array([Name.Indexed, base, highest, table])


def read(space: object, resources: object = None) -> ColourSpace:
    return ColourReader().resolve(space, resources)


K = ("Black",)


@pytest.mark.parametrize(
    ("space", "family", "components", "plates", "initial", "not_a_plate"),
    [
        (Name.DeviceGray, "DeviceGray", 1, K, (0,), ""),
        (Name.DeviceRGB, "DeviceRGB", 3, PROCESS, (0, 0, 0), "RGB"),
        (Name.DeviceCMYK, "DeviceCMYK", 4, PROCESS, (0, 0, 0, 1), ""),
        (b"DeviceCMYK", "DeviceCMYK", 4, PROCESS, (0, 0, 0, 1), ""),
        ("CMYK", "DeviceCMYK", 4, PROCESS, (0, 0, 0, 1), ""),
        (b"G", "DeviceGray", 1, K, (0,), ""),
        (Array([Name.DeviceRGB]), "DeviceRGB", 3, PROCESS, (0, 0, 0), "RGB"),
        (cal("CalGray"), "CalGray", 1, K, (0,), ""),
        (cal("CalRGB"), "CalRGB", 3, PROCESS, (0, 0, 0), "CalRGB"),
        (cal("Lab"), "Lab", 3, PROCESS, (0, 0, 0), "Lab"),
        (cal("Lab", Range=[10, 90, -90, -20]), "Lab", 3, PROCESS, (0, 10, -20), "Lab"),
        (icc(b"GRAY", N=1), "ICCBased-1", 1, K, (0,), ""),
        (icc(b"RGB ", N=3), "ICCBased-3", 3, PROCESS, (0, 0, 0), "RGB"),
        (icc(b"Lab ", N=3), "ICCBased-3", 3, PROCESS, (0, 0, 0), "Lab"),
        (icc(b"CMYK", N=4), "ICCBased-4", 4, PROCESS, (0, 0, 0, 0), ""),
        (separation(), "Separation", 1, ("Brown",), (1,), ""),
        (separation(Name.Cyan), "Separation", 1, ("Cyan",), (1,), ""),
        (separation(Name.All), "Separation", 1, ("All",), (1,), ""),
        (separation(Name("/None")), "Separation", 1, (), (1,), ""),
        (separation(String("Brown")), "Separation", 1, ("Brown",), (1,), ""),
        (device_n("Black", "Varnish"), "DeviceN", 2, ("Black", "Varnish"), (1, 1), ""),
        (device_n("None", "Varnish", "None"), "DeviceN", 3, ("Varnish",), (1, 1, 1), ""),
        (device_n("None", "None"), "DeviceN", 2, (), (1, 1), ""),
        (device_n("Silver", "Silver"), "DeviceN", 2, ("Silver",), (1, 1), ""),
        (device_n("Silver", Subtype=Name.NChannel), "DeviceN", 1, ("Silver",), (1,), ""),
        (indexed(Name.DeviceCMYK, 1, String(b"\0" * 8)), "Indexed", 1, PROCESS, (0,), ""),
        (indexed(separation(), 1, String(b"\0\xff")), "Indexed", 1, ("Brown",), (0,), ""),
        (indexed(Name.DeviceRGB, 1, String(b"\0" * 6)), "Indexed", 1, PROCESS, (0,), "RGB"),
        (Array([Name.I, Name.RGB, 1, String(b"\0" * 6)]), "Indexed", 1, PROCESS, (0,), "RGB"),
        (Name.Pattern, "Pattern", 0, (), (), ""),
        (Array([Name.Pattern]), "Pattern", 0, (), (), ""),
        (Array([Name.Pattern, separation()]), "Pattern", 1, ("Brown",), (), ""),
    ],
)
def test_families(
    space: object, family: str, components: int, plates: tuple[str, ...], initial: tuple[float, ...], not_a_plate: str
) -> None:
    got = read(space)
    assert (got.family, got.components, got.plates, got.initial) == (family, components, plates, initial)
    assert got.not_a_plate == not_a_plate
    assert got.tints(np.ones((3, components))).shape == (3, len(plates))
    assert got.tints(np.ones((3, components))).dtype == np.float32


def self_naming() -> tuple[object, object]:
    return Name.CS0, Dictionary(ColorSpace=Dictionary(CS0=Name.CS1, CS1=Name.CS0))


def self_holding() -> tuple[object, object]:
    array = PDF.make_indirect(Array([Name.Indexed]))
    array.append(array)
    array.append(1)
    array.append(String(b"\0\0"))
    return array, None


def nested() -> tuple[object, object]:
    space: object = Name.DeviceGray
    for _ in range(300):
        space = indexed(space, 1, String(b"\0\0"))
    return space, None


@pytest.mark.parametrize(
    "unreadable",
    [
        (None, None), (5, None), (Dictionary(), None), (Array([]), None), (Array([1, 2]), None),
        (Array([Name.Odd, 1]), None),
        (Name.CS9, None), (Name.CS9, Dictionary(ColorSpace=Array([]))), (b"", None), (icc(), None), (icc(N=2), None),
        (icc(N=Name.Four), None), (Array([Name.ICCBased, Dictionary(N=3)])[1], None), (device_n(), None),
        (device_n(*[f"Ink{i}" for i in range(257)]), None), (indexed(Name.DeviceRGB, None, String(b"")), None),
        (indexed(Name.Pattern, 1, String(b"")), None), (indexed(Name.Gone, 1, String(b"")), None),
        self_naming(), self_holding(), nested(),
    ],
)  # fmt: skip
def test_unreadable_spaces_say_so(unreadable: tuple[object, object]) -> None:
    got = read(*unreadable)
    assert got.family == "Unknown"
    assert got.remark
    assert got.not_a_plate
    assert got.plates == ()
    colour = got.colour([0.5, 0.5])
    assert colour.space == "Unknown"
    assert colour.tints == ()


@pytest.mark.parametrize(
    ("profile", "family", "remarked"),
    [
        (icc(b"CMYK", N=3), "ICCBased-3", True),
        (icc(b"CMYK", N=4), "ICCBased-4", False),
        (icc(N=7, alternate=Name.DeviceCMYK), "ICCBased-4", True),
        (icc(alternate=Name.DeviceGray), "ICCBased-1", True),
        (icc(b"CMYK"), "ICCBased-4", True),
        (icc(b"XYZ ", N=3), "ICCBased-3", False),
    ],
)
def test_profiles_with_a_wrong_count(profile: object, family: str, remarked: bool) -> None:
    got = read(profile)
    assert got.family == family
    assert bool(got.remark) is remarked


@pytest.mark.parametrize(
    ("space", "values", "tints"),
    [
        (Name.DeviceGray, [0.25], [0.75]),
        (Name.DeviceGray, [2], [0]),
        (Name.DeviceCMYK, [0.1, 0.2, 0.3, 0.4], [0.1, 0.2, 0.3, 0.4]),
        (Name.DeviceCMYK, [-1, 2, float("nan"), 0], [0, 1, 0, 0]),
        # full black generation: K = min(C, M, Y)
        (Name.DeviceRGB, [0, 0, 0], [0, 0, 0, 1]),
        (Name.DeviceRGB, [1, 1, 1], [0, 0, 0, 0]),
        (Name.DeviceRGB, [0.2, 0.5, 0.9], [0.7, 0.4, 0, 0.1]),
        (cal("Lab"), [100, 0, 0], [0, 0, 0, 0]),
        (cal("Lab"), [0, 0, 0], [0, 0, 0, 1]),
        (icc(b"Lab ", N=3), [100, 0, 0], [0, 0, 0, 0]),
        (icc(b"CMYK", N=4, Range=[0, 255, 0, 255, 0, 255, 0, 255]), [255, 51, 0, 0], [1, 0.2, 0, 0]),
        (separation(), [0.3], [0.3]),
        (device_n("Black", "Varnish"), [0.2, 0.7], [0.2, 0.7]),
        (device_n("None", "Varnish"), [0.2, 0.7], [0.7]),
        (device_n("Silver", "Gold", "Silver"), [0.2, 0.5, 0.7], [0.7, 0.5]),
        (indexed(Name.DeviceCMYK, 1, String(bytes([0, 51, 102, 255, 255, 0, 0, 0]))), [0], [0, 0.2, 0.4, 1]),
        (indexed(Name.DeviceCMYK, 1, String(bytes([0, 51, 102, 255, 255, 0, 0, 0]))), [9], [1, 0, 0, 0]),
        (indexed(Name.DeviceGray, 3, String(b"\xff\0")), [3], [1]),  # short table: what is missing is 0
        (indexed(Name.DeviceGray, 3, PDF.make_stream(b"\0\0\xff\0")), [2], [0]),
        (indexed(Name.DeviceGray, 3, String(b"\0\0\xff\0")), [1.4], [1]),
        (indexed(cal("Lab"), 0, String(b"\xff\x80\x80")), [0], [0, 0, 0, 0]),
        (indexed(Name.DeviceGray, 9_000, String(b"\0" * 256)), [300], [1]),
        (Array([Name.Pattern, separation()]), [0.4], [0.4]),
    ],
)
def test_tints(space: object, values: list[float], tints: list[float]) -> None:
    assert read(space).tints(np.array([values], float))[0] == pytest.approx(tints, abs=0.01)


def test_lab_hues_go_where_they_belong() -> None:
    red, green, blue = read(cal("Lab")).tints(np.array([[50, 70, 50], [50, -60, 40], [40, 20, -70]], float))
    assert red[0] < 0.1 < red[1]
    assert green[1] < 0.1 < green[0]
    assert blue[2] < 0.1 < blue[0]


def test_many_at_once() -> None:
    rng = np.random.default_rng(5)
    space = read(Name.DeviceRGB)
    values = rng.random((1000, 3))
    assert space.tints(values)[17] == pytest.approx(space.tints(values[17:18])[0])
    assert space.tints(np.zeros((0, 3))).shape == (0, 4)


def test_nchannel_process_parts() -> None:
    rgb = Dictionary(ColorSpace=Name.DeviceRGB, Components=Array([Name.R, Name.G, Name.B]))
    space = read(device_n("R", "G", "B", "Silver", Subtype=Name.NChannel, Process=rgb))
    assert (space.plates, space.not_a_plate) == ((*PROCESS, "Silver"), "RGB")
    assert space.tints(np.array([[0, 0, 0, 0.5]]))[0] == pytest.approx([0, 0, 0, 1, 0.5])
    cmyk = Dictionary(ColorSpace=Name.DeviceCMYK, Components=Array([Name.Cyan, Name.Magenta, Name.Yellow, Name.Black]))
    part = read(device_n("Silver", "Yellow", "Cyan", Subtype=Name.NChannel, Process=cmyk))
    assert (part.plates, part.not_a_plate) == (("Silver", "Yellow", "Cyan"), "")
    odd = Dictionary(ColorSpace=Name.DeviceCMYK, Components=Array([Name.c1, Name.c2, Name.c3, Name.c4]))
    renamed = read(device_n("c1", "c4", "Silver", Subtype=Name.NChannel, Process=odd))
    assert renamed.plates == ("Cyan", "Black", "Silver")
    wrong = Dictionary(ColorSpace=Name.DeviceCMYK, Components=Array([Name.Cyan]))
    assert read(device_n("Cyan", "Silver", Subtype=Name.NChannel, Process=wrong)).plates == ("Cyan", "Silver")
    # without NChannel the attributes say nothing
    assert read(device_n("c1", "Silver", Process=odd)).plates == ("c1", "Silver")


def test_all_within_device_n_is_a_colorant_and_remarked() -> None:
    space = read(device_n("All", "Varnish"))
    assert space.plates == ("All", "Varnish")
    assert space.remark
    assert not space.colour([1, 1]).registration


def test_defaults_stand_in_for_device_spaces() -> None:
    resources = Dictionary(
        ColorSpace=Dictionary(
            DefaultCMYK=icc(b"CMYK", N=4), DefaultRGB=device_n("Brown", "Silver", "Varnish"), DefaultGray=cal("CalRGB")
        )
    )
    reader = ColourReader()
    assert reader.resolve(Name.DeviceCMYK, resources).family == "ICCBased-4"
    assert reader.resolve(Name.DeviceRGB, resources).plates == ("Brown", "Silver", "Varnish")
    assert reader.resolve(Name.DeviceGray, resources).family == "DeviceGray"  # three components cannot stand for one
    base = indexed(Name.DeviceRGB, 0, String(b"\xff\0\0"))
    assert reader.resolve(base, resources).plates == ("Brown", "Silver", "Varnish")
    assert reader.resolve(base, None).plates == PROCESS
    assert not reader.resolve(Name.DeviceCMYK, resources).colour([0, 0, 0, 1]).direct_cmyk


def test_defaults_that_lead_back_to_themselves() -> None:
    resources = Dictionary(ColorSpace=Dictionary(DefaultCMYK=Name.DeviceCMYK, DefaultGray=Array([Name.DeviceGray])))
    assert read(Name.DeviceCMYK, resources).family == "DeviceCMYK"
    assert read(Name.DeviceGray, resources).family == "DeviceGray"


def test_names_of_resources() -> None:
    spaces = pikepdf.Object.parse(
        b"<< /CS0 /DeviceCMYK /L#e4ngs /DeviceGray /G [/Separation /Brown /DeviceGray null] >>"
    )
    resources = Dictionary(ColorSpace=spaces)
    assert read(Name.CS0, resources).family == "DeviceCMYK"
    assert read("L\xe4ngs".encode("latin-1"), resources).family == "DeviceGray"
    assert read(name("L\xe4ngs".encode("latin-1")), resources).family == "DeviceGray"
    assert read(b"G", resources).plates == ("Brown",)  # the page's own comes before the abbreviation


def test_one_object_a_space() -> None:
    reader = ColourReader()
    space = PDF.make_indirect(separation())
    assert reader.resolve(space, None) is reader.resolve(space, Dictionary())
    assert reader.resolve(separation(), None) is reader.resolve(separation(), None)
    assert reader.resolve(separation(), None) is not reader.resolve(separation(Name.Silver), None)


def test_colours() -> None:
    cmyk = read(Name.DeviceCMYK)
    black = cmyk.colour([0, 0, 0, 1])
    assert dict(black.tints) == {"Cyan": 0, "Magenta": 0, "Yellow": 0, "Black": 1}
    assert black.direct_cmyk
    assert not cmyk.colour([0, 0, 0, 1], direct=False).direct_cmyk
    assert not read(icc(b"CMYK", N=4)).colour([0, 0, 0, 1]).direct_cmyk
    assert read(separation(Name.All)).colour([0.5]).registration
    assert not read(separation(Name.all)).colour([0.5]).registration
    assert read(separation()).colour([]).tints == (("Brown", 0),)
    assert read(separation()).colour([0.3, 0.9]).tint("Brown") == pytest.approx(0.3)
    assert read(separation(Name("/None"))).colour([1]).tints == ()
    assert read(Name.DeviceRGB).colour([1, 0, 0]).not_a_plate == "RGB"
    anything = read(device_n("Silver", "Varnish")).anything()
    assert anything.varies
    assert dict(anything.tints) == {"Silver": 1, "Varnish": 1}


def test_pattern_colours() -> None:
    assert read(Name.Pattern).colour([]).varies
    under = read(Array([Name.Pattern, Name.DeviceCMYK])).colour([0, 1, 0, 0])
    assert (under.space, under.tint("Magenta"), under.direct_cmyk, under.varies) == ("Pattern", 1, True, False)
    assert read(Array([Name.Pattern, Name.Pattern])).base is None


@pytest.mark.parametrize(
    ("space", "bits", "decode"),
    [
        (Name.DeviceGray, 1, [0, 1]),
        (Name.DeviceCMYK, 8, [0, 1] * 4),
        (cal("Lab", Range=[-50, 50, -60, 60]), 8, [0, 100, -50, 50, -60, 60]),
        (indexed(Name.DeviceGray, 3, String(b"\0")), 4, [0, 15]),
        (separation(), 8, [0, 1]),
        (device_n("A", "B"), 16, [0, 1, 0, 1]),
    ],
)
def test_default_decode(space: object, bits: int, decode: list[float]) -> None:
    assert read(space).default_decode(bits) == decode


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        (b"Mill Brown", "Mill Brown"),
        ("Lack außen".encode(), "Lack außen"),
        ("Lack außen".encode("latin-1"), "Lack außen"),
        ("金".encode(), "金"),
        (b"Shade#20877", "Shade#20877"),  # decoded once, not twice
        (b"<b>bold</b>", "<b>bold</b>"),
        (b"a\tb", "a\\x09b"),
        ("Silver\u200b".encode(), "Silver\\u200b"),
        ("\u202eCUT".encode(), "\\u202eCUT"),
        ("Sil\u00adver".encode(), "Sil\\xadver"),
        (b"x" * 200, "x" * 200),
    ],
)
def test_shown_names(raw: bytes, shown: str) -> None:
    assert shown_name(name(raw)) == shown
    assert shown_name(raw) == shown


def test_an_empty_and_an_unreadable_name_show_something() -> None:
    assert shown_name(b"")
    assert shown_name(None)
    assert read(separation(None)).plates == (shown_name(None),)
    assert read(separation(None)).remark


def test_two_names_never_become_one() -> None:
    twins = ["Doré".encode(), "Doré".encode("latin-1"), b"Dor\\xe9", b"a\x00", b"a\\x00", b"", b"(empty name)"]
    for order in (twins, twins[::-1]):
        reader = ColourReader()
        shown = [reader.shown_name(raw) for raw in order]
        assert len(set(shown)) == len(twins)
        assert shown == [reader.shown_name(raw) for raw in order]
