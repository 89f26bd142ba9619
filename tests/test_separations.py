"""Kinds by name: rules/names.yaml, language by language, each with its look-alikes."""

from pathlib import Path

import pytest

from preflight.artwork.page.separations import PROCESS, Separation
from preflight.errors import InvalidInput
from preflight.inputs.kind_names import classify, fold, hints_at, load_names, process_ink_called
from preflight.inputs.loading import load_yaml, rules_dir
from preflight.kinds import KINDS, PRINTING_KINDS

NAMES = load_names()


def kind(name: str) -> str | None:
    found = classify(name, NAMES)
    return found[0] if found else None


ENGLISH = {
    "DIE_OUT": "cut", "Die_2": "cut", "Die_OUT_v2": "cut", "diecut_v3": "cut", "DIE-CUT ext": "cut", "KNIFE": "cut",
    "KEYLINE": "cut", "CAD lines": "cut", "CAD_Cut": "cut", "CUT-THROUGH": "cut", "Laser cut": "cut",
    "Steel-rule": "cut",
    "Die profile": "cut", "Cutting rule": "cut", "Cut Layout": "cut",
    "CutContour": "cut", "Cut_Contour": "cut", "CUT-LINE": "cut", "cut contour 2 pt": "cut", "Thru-cut": "cut",
    "Die": "cut", "DieLine": "cut", "DIE CUT": "cut", "Cutting": "cut", "Cutter guide": "cut", "Cut and crease": "cut",
    "Crease": "crease", "Creasing": "crease", "Fold lines": "crease", "2pt Score": "crease",
    "Perf": "perforate", "Perforation": "perforate", "Tear strip": "perforate",
    "Kiss-Cut": "half-cut", "Cut score": "half-cut", "HALF CUT": "half-cut",
    "Glue": "glue", "GlueFlap": "glue", "Glue area 1": "glue", "Window": "window", "Window patch": "window",
    "Emboss": "emboss", "Blind Deboss": "emboss", "Foil": "foil", "Gold Foil": "foil", "Hot foil stamping": "foil",
    "Braille": "braille", "Dimensions": "guide", "Legend": "guide", "Bleed": "guide", "Varnish free": "guide",
    "Don't Print": "ignore", "DO NOT PRINT": "ignore", "Non-printing": "ignore",
    "Varnish": "varnish", "Matt Varnish": "varnish", "Spot UV": "varnish", "Effect Matt": "varnish", "Gloss": "varnish",
    "Barn Door Overprint Varnish": "varnish", "Primer": "primer", "Brand Blue Varnish": "varnish",
    "Gold Varnish": "metallic", "Coupe": "cut",
    "White": "white", "Opaque White": "white", "White 2": "white", "UV White": "white", "Underprint white": "white",
    "Silver": "metallic", "Copper": "metallic", "Cask Gold": "metallic", "Copper Glow": "metallic",
    "Rose Gold": "metallic", "Metallic Blue": "metallic", "PANTONE 877 C": "metallic", "Pantone 8021C": "metallic",
}  # fmt: skip
GERMAN = {
    "STANZE_OUT": "cut", "OUT_Stanze": "cut", "Stanze_OUT_2": "cut", "Konturenstanzung": "cut", "Konturstanze": "cut",
    "Stanzform": "cut", "Stanzriß": "cut", "Messerlinie": "cut", "Schneidlinien": "cut", "Schnittkontur": "cut",
    "Stanzzeichnung neu": "cut", "Werkzeugkontur": "cut", "Werkzeug Stanze": "cut", "CAD-Stanze": "cut",
    "Außenkontur": "cut", "Aussenkontur": "cut", "Stanzkonturen": "cut",
    "RILL_OUT": "crease", "Perfo_OUT": "perforate", "Ritzung ext": "half-cut",
    "Stanze": "cut", "Stanzkontur": "cut", "Stanz-Kontur 22": "cut", "STANZLINIE": "cut", "Konturschnitt": "cut",
    "Rillung": "crease", "Rilllinien": "crease", "Falz": "crease", "Perforationslinie": "perforate",
    "Ritzung": "half-cut", "Klebefläche": "glue", "Klebeflaeche": "glue", "Leim": "glue", "Fenster": "window",
    "Prägung": "emboss", "Praegung": "emboss", "Blindprägung": "emboss", "Goldfolie": "foil", "Heißfolie": "foil",
    "Blindenschrift": "braille", "Bemaßung": "guide", "Lackfrei": "guide", "nicht druckend": "ignore",
    "Lack": "varnish", "UV-Lack partiell": "varnish", "Lack außen": "varnish", "Deckweiß": "white", "WEISS": "white",
    "Silber": "metallic", "Grundierung": "primer",
}  # fmt: skip
FRENCH = {
    "forme de découpe": "cut", "Découpe ext": "cut", "Outil de découpe": "cut", "Traits de coupe": "cut",
    "PLAN DECOUPE": "cut", "Filet coupant": "cut", "Découpe nouvelle": "cut",
    "Découpe": "cut", "DECOUPE": "cut", "Tracé de découpe": "cut", "Rainage": "crease", "Ligne de pli": "crease",
    "Ligne de perforation": "perforate", "Mi-chair": "half-cut", "Zone de colle": "glue", "Fenêtre": "window",
    "Gaufrage": "emboss", "Dorure à chaud": "foil", "Cotes": "guide", "Réserve de vernis": "guide",
    "Ne pas imprimer": "ignore", "Vernis sélectif": "varnish", "Blanc de soutien": "white", "Argent": "metallic",
    "Or": "metallic", "Primaire": "primer",
}  # fmt: skip
SPANISH = {
    "Plano de troquel": "cut", "Trazado troquel": "cut", "Troquel_nuevo": "cut", "Cuchillas": "cut", "Suaje": "cut",
    "Troquel": "cut", "Línea de corte": "cut", "Hendido": "crease", "Pliegues": "crease", "Perforado": "perforate",
    "Medio corte": "half-cut", "Zona de pegado": "glue", "Ventana": "window", "Gofrado": "emboss",
    "Estampación en caliente": "foil", "Cotas": "guide", "No imprimir": "ignore", "Barniz UV": "varnish",
    "Blanco cubriente": "white", "Plata": "metallic", "Oro": "metallic", "Imprimación": "primer",
}  # fmt: skip
ITALIAN = {
    "Linea fustella": "cut", "Fustella esterna": "cut", "Profilo fustella": "cut", "Sagoma fustella": "cut",
    "Filetto di taglio": "cut", "Fustella nuova": "cut",
    "Fustella": "cut", "Tracciato fustella": "cut", "Cordonatura": "crease", "Pieghe": "crease",
    "Perforazione": "perforate", "Mezzo taglio": "half-cut", "Zona colla": "glue", "Finestra": "window",
    "Rilievo a secco": "emboss", "Lamina oro": "foil", "Quotatura": "guide", "Non stampare": "ignore",
    "Vernice UV": "varnish", "Bianco coprente": "white", "Argento": "metallic", "Rame": "metallic",
}  # fmt: skip
PORTUGUESE = {
    "Linha de faca": "cut", "Faca_nova": "cut", "Molde de corte": "cut", "Cunho cortante": "cut",
    "Corte especial": "cut",
    "Faca": "cut", "Faca de corte": "cut", "Vinco": "crease", "Corte e vinco": "cut", "Picote": "perforate",
    "Meio corte": "half-cut", "Aba de cola": "glue", "Janela": "window", "Relevo seco": "emboss",
    "Estampagem a quente": "foil", "Sangramento": "guide", "Não imprimir": "ignore", "Verniz localizado": "varnish",
    "Calço branco": "white", "Prata": "metallic", "Ouro": "metallic",
}  # fmt: skip
DUTCH = {
    "Stansmes": "cut", "Stanstekening": "cut", "Stanscontouren": "cut", "Snijmes": "cut", "Contoursnijden": "cut",
    "Stans": "cut", "Stanslijn": "cut", "Snijlijnen": "cut", "Rillijn": "crease", "Vouwlijn": "crease",
    "Perforatie": "perforate", "Ritslijn": "half-cut", "Lijmvlak": "glue", "Venster": "window", "Preeg": "emboss",
    "Goudfolie": "foil", "Maatvoering": "guide", "Lakvrij": "guide", "Niet drukken": "ignore", "Lak": "varnish",
    "UV-lak": "varnish", "Dekwit": "white", "Zilver": "metallic",
}  # fmt: skip
POLISH = {
    "Wykrojnik_v2": "cut", "Linia wykrojnika": "cut", "Obrys wykrojnika": "cut", "Linia tnąca": "cut",
    "NOZE TNACE": "cut",
    "Wykrojnik": "cut", "Linia cięcia": "cut", "LINIA CIECIA": "cut", "Bigowanie": "crease", "Linia zgięcia": "crease",
    "Perforacja": "perforate", "Nacięcie": "half-cut", "Pole klejenia": "glue", "Okienko": "window",
    "Tłoczenie": "emboss", "Tloczenie": "emboss", "Złocenie": "foil", "Wymiary": "guide", "Nie drukować": "ignore",
    "Lakier wybiórczy": "varnish", "Biel kryjąca": "white", "Srebro": "metallic",
}  # fmt: skip
OTHERS = {
    "刀版": "cut", "抜き型": "cut", "刀型線": "cut", "Stanslinje": "cut", "Výsek": "cut", "Bıçak": "cut",
    "压痕": "crease", "烫金": "foil", "Guld": "metallic", "Täckvit": "white", "Lakk": "varnish",
}  # fmt: skip
LANGUAGES = {
    "English": ENGLISH, "German": GERMAN, "French": FRENCH, "Spanish": SPANISH, "Italian": ITALIAN,
    "Portuguese": PORTUGUESE, "Dutch": DUTCH, "Polish": POLISH, "others": OTHERS,
}  # fmt: skip


@pytest.mark.parametrize("language", LANGUAGES)
def test_names_are_recognised(language: str) -> None:
    expected = LANGUAGES[language]
    assert {name: kind(name) for name in expected} == expected


LOOK_ALIKES = {
    "English": [
        "Gold Shadow",
        "Golden Yellow",
        "Silver Grey",
        "Silver Birch",
        "Rose",
        "Shortcut Green",
        "Windows Blue",
        "Window Grey",
        "Snow White Rose",
        "White Tea",
        "Off White",
        "Paper White",
        "Cutlery Blue",
        "Cut Grass",
        "Fresh Cut",
        "Marigold",
        "Goldfinch",
        "Goldenrod",
        "Foil Green",
        "Foil Sample",
        "Fold Mountain",
        "Nut",
        "Crease Fox",
        "Varnish Brown",
        "Lacquer Red",
        "Glue Grey",
        "Diesel",
        "Diet Blue",
        "Creamy White Sauce",
        "Emboss Bay",
        "Big",
        "Cola",
        "Cola Red",
        "Perfume",
        "Scorecard Red",
        "Bleeding Heart",
        "Legendary Blue",
        "Guide Dog Yellow",
        "Punch",
        "PANTONE 485 C",
        "PANTONE 1877",
        "PANTONE 87 C",
        "877",
        "Mill Brown",
        "Deep Green",
        "Shade 9",
        "Ink",
        "Line 2",
        "CAD",
        "Layout",
        "Tool",
        "Outline",
        "Contour",
        "Profile",
        "Structure Blue",
        "White Out of Africa",
        "Cutlet",
        "Knife Steel Grey",
        "Die Hard Red",
        "Cadmium Red",
        "Cad Yellow",
        "Upper Cut Gold Shadow",
        "Key Lime",
        "Outback",
        "Layout Green",
        "Laser Lemon",
        "Plotter",
    ],
    "process in other languages": ["Schwarz", "Noir", "Gelb", "Cyan", "Jaune", "Nero", "Black", "All", "Registration"],
    "German": [
        "Schnittlauch",
        "Schnittlauchgrün",
        "Lackrot",
        "Lack Rot",
        "Goldgelb",
        "Gold Gelb",
        "Weißwein",
        "Weißer Tee",
        "Fensterblau",
        "Leimkraut",
        "Falzgrau",
        "Messing Braun",
        "Stanzerl",
        "Rillettes",
        "Silbergrau",
        "Prägnant",
        "Werkzeug",
        "Werkzeug_2",
        "Umriss",
        "Zuschnitt",
        "Stand",
        "Riss",
        "Messing",
        "Werkzeuggrau",
        "Konturgrau",
        "Stanzlauer Blau",
        "Messerblau",
    ],
    "French": [
        "Blanc cassé",
        "Or noir",
        "Coupe Glacée",
        "Colle Verde",
        "Découpe Rouge",
        "Pli Bleu",
        "Vernis rouge",
        "Argenterie",
        "Outil",
        "Couteau",
        "Poinçon",
        "Découpe Bleue Nuit",
    ],
    "Spanish": [
        "Blanco roto",
        "Corte Azul",
        "Oro negro",
        "Ventana Verde",
        "Plateresco",
        "Relieve Rojo",
        "Troquelito",
        "Contorno",
        "Perfil",
        "Molde",
        "Cuchillo Gris",
        "Corteza",
    ],
    "Italian": [
        "Bianco latte",
        "Piega Rossa",
        "Taglio Fresco",
        "Vernice Rosso",
        "Oro Nero",
        "Finestra sul mare",
        "Collina",
        "Sagoma",
        "Coltello",
        "Lama",
        "Profilo Verde",
    ],
    "Portuguese": [
        "Branco gelo",
        "Corte Fresco",
        "Janela Azul",
        "Sangria",
        "Dourado Pôr do Sol",
        "Facada",
        "Molde",
        "Cunho",
        "Recorte Azul",
        "Prata Cinza",
    ],
    "Dutch": [
        "Witbier",
        "Wit Bier",
        "Lakmoes",
        "Goudgeel",
        "Goudvis",
        "Rilpaars",
        "Vensterblauw",
        "Stans Blauw",
        "Mes",
        "Contour",
        "Messing",
        "Snijbloem",
    ],
    "Polish": [
        "Biały Ser",
        "Złota Jesień",
        "Nożyk",
        "Okno Niebieski",
        "Bigos",
        "Klejnot",
        "Lakier Czarny",
        "Obrys",
        "Siatka",
        "Kontur Czarny",
        "Wykrojony Ser",
    ],
    "odd": ["", " ", "1", "c", "---", "=1+1", "\\x00", "Ѕilver", "x" * 5000, "../../etc", "🂡"],
}


@pytest.mark.parametrize("language", LOOK_ALIKES)
def test_look_alikes_stay_spots(language: str) -> None:
    wrong = {name[:40]: kind(name) for name in LOOK_ALIKES[language] if kind(name)}
    assert wrong == {}


ASKED_ABOUT = [
    "Werkzeug", "Werkzeug_2", "WERKZEUG neu", "CAD", "Layout", "Tool line", "Umriss", "Umriß", "Outil", "Contorno",
    "Sagoma",
    "Molde", "Mes", "Obrys", "Bellmont Stanze", "Stanzkontrur", "Dielnie", "Fustela", "Wykrojnik Bellmont",
]  # fmt: skip
NOT_EVEN_ASKED_ABOUT = [
    "Mill Brown", "Layout Green", "Standard Blue", "Messing Braun", "Cadmium Red", "Toolbox Red", "Fresh Cut",
    "Forest", "",
    "Cutlery Blue", "Kupfer", "Schnittlauch", "1", "Diesel Blue",
]  # fmt: skip


@pytest.mark.parametrize("name", ASKED_ABOUT)
def test_words_that_may_mean_a_die_are_hints_and_stay_on_the_plates(name: str) -> None:
    assert hints_at(name, "cut", NAMES)
    assert kind(name) is None


@pytest.mark.parametrize("name", NOT_EVEN_ASKED_ABOUT)
def test_other_names_are_no_hints(name: str) -> None:
    assert not hints_at(name, "cut", NAMES)


def test_invisible_characters_and_encoding_marks_do_not_hide_a_name() -> None:
    assert kind("Silver\\u200b") == "metallic"
    assert kind("Lack außen (Latin-1)") == "varnish"
    assert kind("Stanzkontur (UTF-8)") == "cut"


def test_it_says_which_entry_it_was() -> None:
    found = classify("ACME Matt-Varnish", NAMES)
    assert found is not None
    assert "rules/names.yaml" in found[1]
    assert "matt varnish" in found[1]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("CutLine", ["cut", "line"]),
        ("DIELine2", ["die", "line", "2"]),
        ("Heißfolie_Größe", ["heissfolie", "grosse"]),
        ("łączenie", ["laczenie"]),
        ("Don’t-print", ["dont", "print"]),
        ("877C", ["877", "c"]),
    ],
)
def test_folding(name: str, words: list[str]) -> None:
    assert fold(name) == words


def test_every_phrase_of_the_table_is_found_by_itself() -> None:
    data = load_yaml(rules_dir() / "names.yaml").data["kinds"]
    lost = {}
    for wanted, entry in data.items():
        for key in ("called", "mentions", "coloured", "always"):
            for phrases in entry.get(key, {}).values():
                lost.update({phrase: (wanted, kind(phrase)) for phrase in phrases if kind(phrase) != wanted})
    assert lost == {}


def test_every_name_of_a_process_ink_is_found_and_is_of_no_kind() -> None:
    data = load_yaml(rules_dir() / "names.yaml").data["process"]
    assert set(data) == {"with", *PROCESS}
    for ink in PROCESS:
        for phrase in (phrase for phrases in data[ink].values() for phrase in phrases):
            assert process_ink_called(phrase, NAMES) == ink
            assert kind(phrase) is None


@pytest.mark.parametrize(
    ("name", "ink"),
    [
        ("SCHWARZ", "Black"), ("Prozess-Schwarz", "Black"), ("noir quadri", "Black"), ("Zolty", "Yellow"),
        ("ProcessCyan", "Cyan"), ("Process Cyan U", "Cyan"), ("4C_Magenta", "Magenta"), ("k", "Black"), ("", None),
        ("Process", None), ("Gelb 012", None), ("Gelb2", None), ("Warm Black", None), ("Yellow C", None),
        ("Black 6 C", None), ("Cyan Magenta", None), ("Blackberry", None), ("Ink 2", None), ("Kelly", None),
        (" K ", "Black"), ("(C)", None), ("C.", None), ("Process C", "Cyan"),
    ],
)  # fmt: skip
def test_names_of_process_inks_and_their_look_alikes(name: str, ink: str | None) -> None:
    assert process_ink_called(name, NAMES) == ink


def test_every_kind_but_process_and_spot_has_names() -> None:
    assert {names.kind for names in NAMES.kinds} == set(KINDS) - {"process", "spot"}


def test_plates_are_made_of_printing_kinds_only() -> None:
    for kind_ in KINDS:
        assert Separation("x", kind_, "").on_plate is (kind_ in PRINTING_KINDS)


def write(folder: Path, text: str) -> Path:
    (folder / "names.yaml").write_text(text, encoding="utf-8")
    return folder


def test_a_plant_may_have_its_own_table(tmp_path: Path) -> None:
    names = load_names(write(tmp_path, "silent: [job]\ncolours: [pink]\nkinds:\n  cut:\n    called: [Snipsnap]\n"))
    assert classify("SnipSnap job 12", names) == ("cut", "named in rules/names.yaml (Snipsnap)")
    assert classify("CutLine", names) is None
    again = load_names(write(tmp_path, "kinds:\n  crease:\n    called: [Snipsnap]\n#longer than before\n"))
    assert classify("snip-snap", again) == ("crease", "named in rules/names.yaml (Snipsnap)")


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("kinds:\n  cutt:\n    called: [x]\n", [("kinds.cutt", "cut")]),
        ("kind:\n  cut: {}\n", [("kind", "kinds")]),
        ("kinds:\n  cut:\n    caled: [x]\n", [("kinds.cut.caled", "called")]),
        ("kinds:\n  cut:\n    called: x\n", [("kinds.cut.called", "")]),
        ("kinds:\n  cut:\n    called: {en: [[x]]}\n", [("kinds.cut.called.en[0]", "")]),
        ("kinds:\n  cut:\n    called: ['--']\n", [("kinds.cut.called[0]", "")]),
        ("kinds:\n  metallic:\n    numbers: [871-877]\n", [("kinds.metallic.numbers[0]", "")]),
        ("kinds:\n  metallic:\n    numbers: [a 9-2]\n", [("kinds.metallic.numbers[0]", "")]),
        ("kinds: [cut]\n", [("kinds", "")]),
        ("- cut\n", [("", "")]),
        ("process:\n  Blak: [x]\n", [("process.Blak", "Black")]),
        ("process:\n  Black: x\n", [("process.Black", "")]),
        ("kinds:\n  cutt: {}\n  cut: {called: 5}\n", [("kinds.cutt", "cut"), ("kinds.cut.called", "")]),
    ],
)
def test_faults_of_the_table(text: str, faults: list[tuple[str, str]], tmp_path: Path) -> None:
    with pytest.raises(InvalidInput) as raised:
        load_names(write(tmp_path, text))
    assert [(fault.key, fault.suggestion) for fault in raised.value.faults] == faults
    assert all(fault.line for fault in raised.value.faults)


def test_a_folder_without_a_table(tmp_path: Path) -> None:
    with pytest.raises(InvalidInput):
        load_names(tmp_path)
