"""The one door for YAML. A fault is (line, key, suggestion); wording is free to change, these are not."""

import random
import time

import pytest

from preflight.errors import ExitStatus, InputFault, InvalidInput
from preflight.inputs.loading import load_job, load_press, load_ticket, load_yaml, rules_dir
from preflight.quantities import Size

PRESS = """\
press: Seven units
sheet: {largest: 1000 x 700 mm}
units: [{inks: any}, {inks: any}]
"""


@pytest.fixture
def write(tmp_path):
    """Writes a file and gives its path; text is written as it stands, line ends included."""

    def _write(text, name="t.yaml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return _write


def faults(load, path, **more):
    with pytest.raises(InvalidInput) as refusal:
        load(path, **more)
    assert refusal.value.exit_status is ExitStatus.INVALID_INPUT
    return refusal.value.faults


def short(load, path, **more):
    return [(fault.line, fault.key, fault.suggestion) for fault in faults(load, path, **more)]


# What a file may hold ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("NO", "NO"),
        ("no", "no"),
        ("on", "on"),
        ("072", "072"),
        ("0471", "0471"),
        ("12:30", "12:30"),
        ("1_000", "1_000"),
        ("0x1F", "0x1F"),
        ("1e3", "1e3"),
        (".5", ".5"),
        ("2030-01-31", "2030-01-31"),
        ("true", "true"),
        (".nan", ".nan"),
        ("=", "="),
        ("0,45 mm", "0,45 mm"),
        ('"null"', "null"),
        ("'~'", "~"),
        ('""', ""),
        ("null", None),
        ("~", None),
        ("", None),
        ("! 12", "12"),
        ("Grün 5 #3", "Grün 5"),
        ('"Grün #3"', "Grün #3"),
    ],
)
def test_scalars_stay_what_was_written(write, written, read):
    assert load_yaml(write(f"key: {written}\n")).data == {"key": read}


def test_keys_are_text_too(write):
    assert load_yaml(write("NO: a\n1: b\non: c\nnull: d\n")).data == {"NO": "a", "1": "b", "on": "c", "null": "d"}


def test_lines_of_every_entry(write):
    table = load_yaml(write("a: 1\nb:\n  - x\n  - c: 2\n    d: {e: 3,\n        f: 4}\n"))
    assert table.data == {"a": "1", "b": ["x", {"c": "2", "d": {"e": "3", "f": "4"}}]}
    lines = {("a",): 1, ("b",): 2, ("b", 0): 3, ("b", 1, "c"): 4, ("b", 1, "d"): 5, ("b", 1, "d", "f"): 6}
    assert {path: table.line(path) for path in lines} == lines
    assert table.line(("b", 1, "d", "missing")) == 5


@pytest.mark.parametrize(
    "text", ["\ufeffa: 1\nb: 2\n", "a: 1\r\nb: 2\r\n", "---\na: 1\nb: 2\n...\n", "# c\n\na: 1\nb: 2"]
)
def test_byte_order_marks_crlf_and_comments(write, text):
    assert load_yaml(write(text)).data == {"a": "1", "b": "2"}


def test_crlf_lines_are_counted_once(write):
    assert short(load_press, write(PRESS.replace("\n", "\r\n") + "catliper: 1\r\n")) == [
        (4, "catliper", "board.caliper")
    ]


def test_an_alias_stands_for_its_anchor(write):
    text = "press: P\nsheet: {largest: 10 x 10 mm}\nline:\n  - unit: &u {never: [white]}\n  - unit: *u\n"
    press = load_press(write(text))
    assert [unit.takes("white") for unit in press.units] == [False, False]


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b"", 1),
        (b"\n# nothing\n", 1),
        (b"%PDF-1.7\n", 0),
        (b"a: \x00\x01", 0),
        (b"a: \x80\n", 1),
        (b"a: 1\nb: \xff\n", 2),
        ("a: ü\n".encode("latin-1"), 1),
        ("a: 1\n".encode("utf-16"), 0),
        (b"a: \x07\n", 0),
        (b"a: " + b"x" * 1_000_001, 0),
        (b"a: [1, 2\n", None),
        (b"a: b: c\n", 1),
        (b"a:\n\t- 1\n", 2),
        (b"a: 1\n\tb: 2\n", 2),
        (b"a: 1\n---\nb: 2\n", 2),
        (b"? [1, 2]\n: 3\n", 1),
        (b"a: !!python/object/apply:os.system [ls]\n", 1),
        (b"a: !secret x\n", 1),
        (b"a: *nowhere\n", 1),
        (b"a: &a [*a]\n", 1),
        (b"a: 1\nb: 2\na: 3\n", 3),
        (b"a: {b: 1, b: 2}\n", 1),
        (b"[" * 5000, None),
        (b"[" * 100 + b"]" * 100, 1),
        (b"{a: " * 5000, None),
        (b"- x\n" * 20_001, None),
    ],
)
def test_what_is_no_such_file_is_refused_with_a_sentence(write, content, line):
    (fault,) = faults(load_yaml, write(content))
    assert fault.expected
    assert fault.found
    if line is not None:
        assert fault.line == line


def test_missing_files_and_folders(tmp_path):
    for path in (tmp_path / "none.yaml", tmp_path, tmp_path / "none" / "none.yaml", tmp_path / "a\0b"):
        (fault,) = faults(load_yaml, path)
        assert fault.file == str(path)


@pytest.mark.parametrize("width", [2, 9])
def test_aliases_that_grow_without_end_are_stopped(write, width):
    text = "a0: &a0 [x, x]\n" + "".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * width)}]\n" for n in range(1, 40))
    started = time.monotonic()
    (fault,) = faults(load_yaml, write(text))
    assert time.monotonic() - started < 2
    assert fault.expected


# Faults of presses and tickets -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("board: {caliper: 0,25 mm to 0,9 mm}", (4, "board.caliper", "0.25 mm to 0.9 mm")),
        ("board:\n  caliper: 0,25 mm to 0,9 mm", (5, "board.caliper", "0.25 mm to 0.9 mm")),
        ("edges: {gripper: 9,5 mm, tail: 6 mm}", (4, "edges.gripper", "9.5 mm")),
        ("edges: {tail: 6 mm, gripper: 9,5}", (4, "edges.gripper", "9.5")),
        ("edges: {gripper: 10 lb}", (4, "edges.gripper", "")),
        ("edges: {griper: 10 mm}", (4, "edges.griper", "gripper")),
        ("edges: [10 mm]", (4, "edges", "")),
        ("edges: 10 mm", (4, "edges", "")),  # three of its keys would take that
        ("board: 0.25 mm to 0.9 mm", (4, "board", "{caliper: 0.25 mm to 0.9 mm}")),
        ("board: uv", (4, "board", "")),
        ("cures: [uv, led]", (4, "cures[1]", "led-uv")),
        ("cures: [uv, oxidisng]", (4, "cures[1]", "oxidising")),
        ("catliper: 0.25 mm", (4, "catliper", "board.caliper")),
        ("top_sped: 14000 sheets/h", (4, "top_sped", "top_speed")),
        ("cures: [uv, [uv]]", (4, "cures[1]", "")),
        ("ink_keys: {count: 32}", (4, "ink_keys.pitch", "")),
        ("press: Twice", (4, "press", "")),
        ("line: [{unit: {}}]", (3, "units", "")),
    ],
)
def test_one_fault_each(write, text, expected):
    assert short(load_press, write(PRESS + text + "\n")) == [expected]


def test_what_is_missing_stands_at_the_mapping_around_it(write):
    assert short(load_press, write("press: P\nunits: [{}]\nsheet:\n  smallest: 5 x 5 mm\n")) == [
        (3, "sheet.largest", "")
    ]
    assert [key for _, key, _ in short(load_press, write("a: 1\n"))] == ["press", "sheet", "units", "a"]


@pytest.mark.parametrize("text", ["- press: P\n", "just words\n", "42\n"])
def test_a_press_is_a_mapping(write, text):
    (fault,) = faults(load_press, write(text))
    assert fault.key == ""


def test_thirty_faults_come_at_once_in_file_order(write):
    text = PRESS + "".join(f"no_such_key_{n}: 1\n" for n in range(30))
    lines = [line for line, _, _ in short(load_press, write(text))]
    assert lines == list(range(4, 34))


def test_faults_of_form_and_of_content_come_together(write):
    text = "press: P\npress: Q\nsheet: {largest: 10}\nunits: [{inks: metalic}]\nedges: {gripper: 9,5 mm}\n"
    assert [fault[:2] for fault in short(load_press, write(text))] == [
        (2, "press"),
        (3, "sheet.largest"),
        (4, "units[0].inks"),
        (5, "edges.gripper"),
    ]


def test_faults_of_a_table_come_in_the_order_of_its_lines(write):
    text = "kinds:\n  cut: {called: [a]}\n  cut:\n    called: !odd [b]\n"
    assert [line for line, _, _ in short(load_yaml, write(text))] == [3, 4]


def test_faults_of_two_files_stay_apart_and_in_order():
    told = [InputFault(file, line, "", "x", "y") for file, line in (("b", 9), ("a", 3), ("b", 2), ("a", 1))]
    raised = InvalidInput(told)
    assert [(fault.file, fault.line) for fault in raised.faults] == [("b", 2), ("b", 9), ("a", 1), ("a", 3)]
    assert str(raised).splitlines() == [str(fault) for fault in raised.faults]


def test_markup_and_control_characters_of_a_file_do_not_reach_the_screen(write):
    (fault,) = faults(load_press, write(PRESS + 'cures: "\\e[31mred\\a' + "x" * 500 + '"\n'))
    assert "\x1b" not in str(fault)
    assert "\a" not in str(fault)
    assert len(str(fault)) < 400


# Tickets and where they point --------------------------------------------------------------------------------------


@pytest.fixture
def job(write):
    write(PRESS, "press.yaml")
    write(b"%PDF-1.4\n", "sage-tea.pdf")
    return write


def test_a_ticket_and_its_press(job):
    ticket, press = load_job(job("artwork: sage-tea.pdf\npress: press.yaml\ntitle: NO\nticket: 072\n"))
    assert ticket.artwork is not None
    assert ticket.artwork.is_file()
    assert (ticket.title, ticket.ticket) == ("NO", "072")
    assert press is not None
    assert press.sheet.largest == Size(1000, 700)


def test_a_ticket_without_press_has_none(job):
    ticket, press = load_job(job("title: Sage\n"))
    assert (ticket.title, press) == ("Sage", None)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("title: T\nartwork: sage-tee.pdf\n", [(2, "artwork", "sage-tea.pdf")]),
        ("press: nowhere/press.yaml\n", [(1, "press", "")]),
        ("press: pres.yaml\nartwork: .\n", [(1, "press", "press.yaml"), (2, "artwork", "")]),
        ("artwork:\n  - {file: sage-tea.pdf}\n  - {file: b.pdf}\n", [(3, "artwork[1].file", "")]),
        ("artwork:\n  - sage-tea.pdf\n  - b.pdf\n", [(3, "artwork[1]", "")]),
        ("die: {file: d22.pdf}\n", [(1, "die.file", "")]),
        ("layout: {file: d22.dxf}\n", [(1, "layout.file", "")]),
        ('artwork: "a\\0b"\n', [(1, "artwork", "")]),
        ("artwork: [sage-tea.pdf\n", None),
        ("board: {caliper: 0,45 mm, weight: 295 g/m2}\n", [(1, "board.caliper", "0.45 mm")]),
        ("separations: {Shade 9: metalic}\n", [(1, "separations.Shade 9", "metallic")]),
        ("die: {lines: {cutt: x}}\n", [(1, "die.lines.cutt", "cut")]),
        ("sheet: 980 x 690 mm\n", [(1, "sheet", "{size: 980 x 690 mm}")]),
        ("sheet: large\n", [(1, "sheet", "")]),
        ("coating: uv\n", [(1, "coating", "")]),
        ("units: Copper\n", [(1, "units", "[Copper]")]),
        (
            'die: {lines: {cut: [Cutting, ]}}\nareas:\n  - is: code\n    box: [1, 2, "3,5", 9]\n',
            [(4, "areas[0].box[2]", "3.5")],
        ),
        ("coating: {kind: uv, aera: overall}\n", [(1, "coating.aera", "area")]),
        ("waivers:\n  - {rule: x, untill: 2030-01-31}\n", [(2, "waivers[0].untill", "until")]),
    ],
)
def test_faults_of_a_ticket(job, text, expected):
    got = short(load_ticket, job(text))
    assert got == expected if expected is not None else len(got) == 1


def test_faults_of_ticket_and_press_come_together(job):
    press = job(PRESS + "edges: {griper: 1 mm}\n", "bad.yaml")
    ticket = job("press: bad.yaml\nartwork: gone.pdf\nquantity: 40,000\n")
    got = [(fault.file, fault.line, fault.key) for fault in faults(load_job, ticket)]
    assert got == [
        (str(ticket), 2, "artwork"),
        (str(ticket), 3, "quantity"),
        (str(ticket.parent / "bad.yaml"), 4, "edges.griper"),
    ]
    assert press.is_file()


def test_what_the_command_line_gives_need_not_be_on_the_ticket(job):
    ticket = job("press: gone.yaml\nartwork: gone.pdf\n")
    assert [key for _, key, _ in short(load_job, ticket)] == ["press", "artwork"]
    read, press = load_job(ticket, press=ticket.parent / "press.yaml", given=["artwork"])
    assert press is not None
    assert load_ticket(ticket, given=["press", "artwork"]).title is read.title is None


def test_a_press_that_is_no_file_of_words(job):
    ticket = job("press: sage-tea.pdf\n")
    (fault,) = faults(load_job, ticket)
    assert fault.file.endswith("sage-tea.pdf")


# Where the rules are -----------------------------------------------------------------------------------------------


def test_the_rules_of_a_shop_win(tmp_path, monkeypatch):
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))
    assert rules_dir() == tmp_path
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path / "none"))
    with pytest.raises(InvalidInput):
        rules_dir()


def test_rules_come_with_the_package(monkeypatch):
    monkeypatch.delenv("PREFLIGHT_RULES", raising=False)
    assert (rules_dir() / "names.yaml").is_file()


# Whatever a file holds ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_damaged_files_are_refused_or_read_and_nothing_else(write, seed):
    """Bytes put in, taken out and doubled: each file is read, or refused with faults that have a sentence."""
    chance = random.Random(seed)
    marks = [
        b"{",
        b"}",
        b"[",
        b": ",
        b"- ",
        b"\n",
        b"&a ",
        b"*a",
        b"!!int ",
        b"0,45 mm",
        b"'",
        b"\t",
        b"? ",
        b"\xff",
        b"<<: *a",
    ]
    whole = PRESS.encode() + b"edges: {gripper: 10 mm, tail: 6 mm}\nboard: {caliper: 0.25 mm to 0.9 mm}\ncures: [uv]\n"
    for _ in range(100):
        damaged = bytearray(whole)
        for _ in range(chance.randint(1, 5)):
            at, to = chance.randrange(len(damaged)), chance.randrange(len(damaged))
            choice = chance.randrange(3)
            damaged[at : at + 9 * (choice == 1)] = [chance.choice(marks), b"", damaged[to : to + 20]][choice]
        said = []
        try:
            load_press(write(bytes(damaged)))
        except InvalidInput as refusal:
            said = refusal.faults
        assert all(fault.expected and fault.found for fault in said)


def test_a_press_for_a_ticket_and_the_reverse_are_one_fault(write):
    ticket = "artwork: a.pdf\npress: p.yaml\nunits: [Black]\nboard: {grade: GC2}\nquantity: 400\n"
    assert len(faults(load_press, write(ticket))) == 1
    press = PRESS + "edges: {gripper: 10 mm}\ncures: [uv]\n"
    assert len(faults(load_ticket, write(press))) == 1


def test_a_few_foreign_keys_are_named_one_by_one(write):
    text = "artwork: a.pdf\nticket: 4471\ncures: [uv]\n"
    assert [key for _, key, _ in short(load_ticket, write(text), given=["artwork", "press"])] == ["cures"]


def test_a_bracket_left_open_is_named_where_it_was_opened(write):
    fault = faults(load_yaml, write("press: x\nunits: [Black, Cyan\n"))[0]
    assert fault.line == 2
    assert "Cyan" in fault.found
    assert fault.found not in fault.expected
