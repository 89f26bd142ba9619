"""What a file is that is no PDF, by its first bytes."""

import pytest

from preflight.artwork.pdf.structure.file_type import SIGNATURES, looks_like

KNOWN = "an unknown kind of file"


@pytest.mark.parametrize(("signature", "words"), SIGNATURES, ids=[repr(signature) for signature, _ in SIGNATURES])
def test_every_signature_is_told_at_the_beginning_and_nowhere_else(signature, words):
    rest = bytes(range(128, 256))
    assert looks_like(signature + rest) == words
    assert looks_like(b" \n" + signature + rest) == words
    assert looks_like(b"\xef\xbb\xbf" + signature + rest) == words
    assert looks_like(b"\x80\x81" + signature + rest) == KNOWN


@pytest.mark.parametrize(
    ("head", "words"),
    [
        (b"junk %PDF-1.7 \x80", "a damaged PDF"),
        (b"\xff\xd8\xff %PDF-1.7", "a damaged PDF"),
        (b"", "nothing but zeros"),
        (b"\0\0", "nothing but zeros"),
        (b"\0\0a", "unknown kind"),
        (b"<?xml version='1.0'?><SVG width='1'>", "SVG"),
        (b"<p><HTML>", "web page"),
        (b"<!DOCTYPE html>", "web page"),
        (b"<?XML version='1.0'?><a/>", "XML"),
        (b"a <?xml version='1.0'?>", "text"),
        (b"Received: from here", "e-mail"),
        (b"RETURN-PATH: <a>", "e-mail"),
        (b"MIME-Version: 1.0", "e-mail"),
        (b"dear received:", "text"),
        (b"Gr\xc3\xbc\xc3\x9fe\r\n\tfrom\f here", "text"),
    ],
)
def test_other_kinds_by_what_stands_in_them(head, words):
    assert words in looks_like(head)


@pytest.mark.parametrize(
    ("head", "is_text"),
    [
        (b"a" * 10 + b"\x01", True),  # one is always forgiven
        (b"a" * 10 + b"\x01\x02", False),
        (b"a" * 147 + b"\x01" * 3, True),  # one in fifty
        (b"a" * 146 + b"\x01" * 3, False),
        (b"a" * 10 + b"\xff\xfe", False),
        (b"a" * 10 + b"\xff", True),
    ],
)
def test_a_text_has_few_characters_that_are_none(head, is_text):
    assert ("text" in looks_like(head)) is is_text
