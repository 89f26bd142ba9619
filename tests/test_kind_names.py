"""How names are taken apart and which phrase of a table fits, on a table as small as it can be."""

from __future__ import annotations

import pytest

from preflight.inputs.kind_names import LONGEST_NAME, classify, fold, load_names, process_ink_called

TABLE = """\
silent: {en: [line, the job]}
colours: [pink, dark green, grün]
process:
  with: [process]
  Black: {en: [black, k], de: [schwarz]}
  Cyan: [cyan, c]
kinds:
  cut:
    called: {en: [cut, cut line, cut and fold, one two three four five six, one two three four five six seven]}
    with: [outer edge]
  crease: {called: [fold]}
  half-cut: {called: [fold cut, cut score deep]}
  varnish:
    called: [gloss]
    coloured: [varnish]
    not_with: [free]
  metallic:
    mentions: [gold, rose gold]
    always: [metallic]
    not_with: [leaf]
    numbers: [library 871-877, 'acme ink 8000 - 8099']
"""


@pytest.fixture
def names(tmp_path):
    (tmp_path / "names.yaml").write_text(TABLE, "utf-8")
    return load_names(tmp_path)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        # called: the whole name, but for what says nothing
        ("Cut", "cut"), ("cut 12", "cut"), ("Cut x", "cut"), ("cut job", "cut"), ("Cut xy", None),
        ("Cut outer edge", None), ("Cut outeredge", "cut"), ("Gloss cut", None), ("cut gloss", None),
        ("gloss outeredge", None),
        # beside a non-printing phrase other non-printing ones
        ("Cut fold", "cut"), ("fold cut", "half-cut"), ("Cut line fold", "cut"), ("cut and fold", "cut"),
        ("one two three four five six", "cut"), ("one two three four five six seven", None),
        # a phrase explains more of the name than another
        ("Cut score deep", "half-cut"),
        # mentions: anywhere, but not beside a colour
        ("Gold", "metallic"), ("Old Gold Fern", "metallic"), ("Gold Pink", None), ("Dark green gold", None),
        ("Gold Gruen", None), ("Gold leaf", None), ("leaf gold", None),
        # coloured: at the end, a colour before it
        ("Pink varnish", "varnish"), ("Varnish pink", None), ("free varnish", None), ("Varnish", "varnish"),
        ("Varnish varnish", "varnish"),
        # always
        ("Metallic pink", "metallic"), ("leaf metallic", "metallic"),
        # numbers
        ("Library 871", "metallic"), ("LIBRARY877", "metallic"), ("library 870", None), ("library 878", None),
        ("library 8710000", None), ("871", None), ("871 library", None), ("other 874", None),
        ("my library 874 C", "metallic"), ("library x 874", None), ("AcmeInk 8000", None),
        ("", None), ("12", None),
    ],
)  # fmt: skip
def test_which_kind_a_name_is(names, name, kind):
    found = classify(name, names)
    assert (found and found[0]) == kind


@pytest.mark.parametrize(
    ("name", "entry"),
    [
        ("Rose Gold", "rose gold"),
        ("gold rose gold", "rose gold"),
        ("library 874", "library 871-877"),
        ("Cut line fold", "cut line"),
        ("metallic gold", "metallic"),
    ],
)
def test_the_longest_phrase_is_named(names, name, entry):
    found = classify(name, names)
    assert found is not None
    assert found[1].endswith(f"({entry})")


@pytest.mark.parametrize(
    ("name", "ink"),
    [
        ("Black", "Black"),
        ("SCHWARZ", "Black"),
        ("Process Black", "Black"),
        ("Process Black C", "Black"),
        ("Black C", None),
        ("Process Black 2", None),
        ("Process Black CU", None),
        ("Process C U", "Cyan"),
        ("k", "Black"),
        ("(k)", None),
        ("Process (k)", "Black"),
        ("Process", None),
        ("cyan black", None),
    ],
)
def test_the_process_ink_that_a_name_means(names, name, ink):
    assert process_ink_called(name, names) == ink


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("cutLINEBox2b", ["cut", "line", "box", "2", "b"]),
        ("a_b-c.d", ["a", "b", "c", "d"]),
        ("Größe ØL", ["grosse", "ol"]),
        ("d'or l’or", ["dor", "lor"]),
        ("Gold\\u200bLeaf\\x0a", ["gold", "leaf"]),
        ("x" * 201, ["x" * LONGEST_NAME]),
        ("", []),
    ],
)
def test_names_are_taken_apart_into_words(name, words):
    assert fold(name) == words


def test_a_changed_list_does_not_change_what_is_kept():
    fold("Cut line").append("more")
    assert fold("Cut line") == ["cut", "line"]


def test_phrases_with_and_without_umlauts(tmp_path):
    (tmp_path / "names.yaml").write_text("kinds:\n  cut: {called: [Übergröße]}\n", "utf-8")
    names = load_names(tmp_path)
    for name in ("übergröße", "Uebergroesse", "ubergrosse"):
        assert classify(name, names) is not None


def test_of_two_kinds_that_fit_alike_the_one_further_up_counts(tmp_path):
    (tmp_path / "names.yaml").write_text("kinds:\n  crease: {called: [edge]}\n  cut: {called: [edge]}\n", "utf-8")
    found = classify("Edge", load_names(tmp_path))
    assert found is not None
    assert found[0] == "crease"
