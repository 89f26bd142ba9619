"""A page of the report taken apart: elements with their attributes, text, names of controls, what stands in what."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"meta", "input", "br", "img", "link"}
NAMED = {"button", "a", "summary", "label"}


class ReportPage(HTMLParser):
    """Elements with their attributes, and the text outside style and script."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self.raw: dict[str, str] = {"style": "", "script": ""}
        self.named: list[tuple[str, str]] = []
        """Links, controls and labels, each with its name."""
        self.nested: list[tuple[str, str]] = []
        """Each element with what it stands in, that first."""
        self._open: list[tuple[str, int | None]] = []
        self.feed(html)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {key: value or "" for key, value in attrs}
        self.elements.append((tag, attributes))
        self.nested.append((self._open[-1][0] if self._open else "", tag))
        if tag in NAMED:
            self.named.append((tag, attributes.get("aria-label", "")))
        if tag not in VOID:
            self._open.append((tag, len(self.named) - 1 if tag in NAMED else None))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop()[0] == tag, self.getpos()

    def handle_data(self, data: str) -> None:
        tags = [tag for tag, _ in self._open]
        if tags and tags[-1] in self.raw:
            self.raw[tags[-1]] += data
            return
        self.text += data
        for _, number in self._open:
            if number is not None:
                tag, name = self.named[number]
                self.named[number] = (tag, name + data.strip())

    def ids(self) -> list[str]:
        return [a["id"] for _, a in self.elements if "id" in a]

    def having(self, **wanted: str) -> list[dict[str, str]]:
        return [a for _, a in self.elements if all(w in a.get(k.rstrip("_"), "").split() for k, w in wanted.items())]

    def children_of(self, tag: str) -> list[str]:
        return [child for parent, child in self.nested if parent == tag]
