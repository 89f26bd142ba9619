"""Optional content and ISO 19593-1 processing steps: which layer something is on, and whether it prints."""

from __future__ import annotations

from typing import Any, Final

import pikepdf

from preflight.artwork.page.page import Layer
from preflight.artwork.pdf.structure.values import identity, items, lookup, name_bytes, spelt, text
from preflight.inputs.kind_names import NamesTable, classify
from preflight.suggest import nearest

LISTED_TYPES: Final = frozenset(
    [
        *("Cutting", "PartialCutting", "ReversePartialCutting", "Creasing", "ReverseCreasing", "Folding"),
        *("CuttingCreasing", "ReverseCuttingCreasing", "PartialCuttingCreasing", "ReversePartialCuttingCreasing"),
        *("Drilling", "Punching", "Perforating", "Stapling", "Gluing", "Bleed"),
        *("FoilStamping", "ColdFoilStamping", "Embossing", "Debossing", "VarnishFree", "InkFree", "InkVarnishFree"),
        *("Hologram", "Barcode", "ContentArea", "CodingMarking", "Imprinting"),
        *("StationInfo", "PlateStamping", "OverstepArea"),
    ]
)
TYPES: Final[dict[str, frozenset[str]]] = {
    # Which of the two groups a type belongs to is from memory, so either group takes either's types.
    "Structural": LISTED_TYPES,
    "Positions": LISTED_TYPES,
    "PlateMaking": frozenset({"Cutting", "Bleed", "NoMark"}),
    "Dimensions": frozenset(),
    "Braille": frozenset(),
    "Legend": frozenset(),
    "White": frozenset(),
    "Varnish": frozenset(),
    "Primer": frozenset(),
}
"""Groups and types of ISO 19593-1:2018 and of its revision under way; a group without types has none to give."""

GROUP_KINDS: Final = {
    "Dimensions": "guide",
    "Legend": "guide",
    "PlateMaking": "guide",
    "Positions": "guide",
    "Braille": "braille",
    "White": "white",
    "Varnish": "varnish",
    "Primer": "primer",
}
TYPE_KINDS: Final = {
    "Cutting": "cut",
    "Drilling": "cut",
    "Punching": "cut",
    "PartialCutting": "half-cut",
    "ReversePartialCutting": "half-cut",
    "Creasing": "crease",
    "ReverseCreasing": "crease",
    "Folding": "crease",
    "PartialCuttingCreasing": "crease",
    "ReversePartialCuttingCreasing": "crease",
    "CuttingCreasing": "perforate",
    "ReverseCuttingCreasing": "perforate",
    "Perforating": "perforate",
    "Gluing": "glue",
    "FoilStamping": "foil",
    "ColdFoilStamping": "foil",
    "Embossing": "emboss",
    "Debossing": "emboss",
}
"""Cut-and-crease lines fold like a perforation; partly cut ones like a crease. All other types are guides."""
AREAS: Final = {
    "Gluing": "glue flap",
    "InkFree": "ink free",
    "VarnishFree": "varnish free",
    "InkVarnishFree": "ink and varnish free",
    "Barcode": "bar code",
    "CodingMarking": "code",
    "ContentArea": "content",
    "Imprinting": "imprint",
    "Hologram": "hologram",
}
MOST_NESTED: Final = 32
MOST_MEMBERS: Final = 2000
NO_LAYER: Final = -1


def step_kind(layer: Layer) -> str | None:
    """Kind (``cut``, ``crease`` …) that a layer's processing step says; None where it says none."""
    if layer.step_group in ("Structural", "Positions"):
        if layer.step_type in TYPE_KINDS:
            return TYPE_KINDS[layer.step_type]
        return "guide" if layer.step_type in TYPES[layer.step_group] else None
    return GROUP_KINDS.get(layer.step_group)


def step_area(layer: Layer) -> str | None:
    """Kind of area that a layer's step outlines (``glue flap``, ``ink free``, ``code`` …); else None."""
    return AREAS.get(layer.step_type) if layer.step_group in ("Structural", "Positions") else None


def kind_by_name(layer: Layer, table: NamesTable) -> tuple[str, str] | None:
    """Kind that a layer's name tells through rules/names.yaml, and where that comes from; else None."""
    return classify(layer.name, table)


class LayerReader:
    """Reads the layers of one file in its default configuration, as printed (ISO 32000-2, 8.11.4).

    ``layers`` grows as content asks for the state of what it is painted in.
    """

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self.layers: list[Layer] = []
        properties = lookup(pdf.Root, "OCProperties")
        config = lookup(properties, "D")
        self._base_on = name_bytes(lookup(config, "BaseState")) != b"OFF"
        self._on = {identity(group) for group in items(lookup(config, "ON"), MOST_MEMBERS)}
        self._off = {identity(group) for group in items(lookup(config, "OFF"), MOST_MEMBERS)}
        self._intents = _intents(lookup(config, "Intent"))
        self._print_states, self._view_states = (_states(lookup(config, "AS"), b) for b in ("Print", "View"))
        self._groups: dict[object, tuple[int, bool]] = {}
        self._memberships: dict[object, tuple[int, bool]] = {}

    def state(self, oc: Any) -> tuple[int, bool]:
        """Index into ``layers`` (-1 where it cannot be read) and whether what is painted in it prints.

        ``oc`` is an optional-content group or membership dictionary. A membership has the index of its first
        group with a processing step, else of its first group; whether it prints is its own affair.
        """
        if not isinstance(oc, pikepdf.Dictionary):
            return NO_LAYER, True
        if name_bytes(lookup(oc, "Type")) == b"OCMD" or (lookup(oc, "Name") is None and lookup(oc, "OCGs") is not None):
            key = identity(oc)
            if key not in self._memberships:
                self._memberships[key] = self._membership(oc)
            return self._memberships[key]
        if name_bytes(lookup(oc, "Type")) != b"OCG" and lookup(oc, "Name") is None:
            return NO_LAYER, True
        return self._group(oc)

    def _group(self, group: pikepdf.Dictionary) -> tuple[int, bool]:
        key = identity(group)
        if key not in self._groups:
            switched_on = self._switched_on(group, key)
            prints, seen, remark = self._prints(group, key, switched_on)
            step_group, step_type, step_remark = _read_step(group)
            remarks = "; ".join(filter(None, [remark, step_remark]))
            name = text(lookup(group, "Name"))
            self.layers.append(Layer(name, prints, step_group, step_type, remarks, switched_on, seen))
            self._groups[key] = len(self.layers) - 1, prints
        return self._groups[key]

    def _has_a_say(self, group: pikepdf.Dictionary) -> bool:
        """Whether the configuration has a say in a group: not where that is of another intent."""
        return bool(_intents(lookup(group, "Intent")) & self._intents) or b"All" in self._intents

    def _switched_on(self, group: pikepdf.Dictionary, key: object) -> bool:
        on, off = key in self._on, key in self._off
        return not self._has_a_say(group) or ((on or self._base_on) and (not off or (on and not self._base_on)))

    def _prints(self, group: pikepdf.Dictionary, key: object, shown: bool) -> tuple[bool, bool, str]:
        """Whether a group is printed, whether it is seen on screen, and what is odd about that."""
        if not self._has_a_say(group):
            return True, True, ""
        printed, seen = self._print_states.get(key, shown), self._view_states.get(key, shown)
        if printed == seen:
            idle = key not in self._print_states and shown and _state(group, "Print") is False
            words = "says that it is not to be printed, but the file does not put that into effect"
            return printed, seen, words if idle else ""
        return printed, seen, "hidden on screen, printed" if printed else "shown on screen, hidden for printing"

    def _membership(self, oc: pikepdf.Dictionary) -> tuple[int, bool]:
        listed = lookup(oc, "OCGs")
        groups = [listed] if isinstance(listed, pikepdf.Dictionary) else items(listed, MOST_MEMBERS)
        expression = lookup(oc, "VE")
        states = [self._group(group) for group in groups if isinstance(group, pikepdf.Dictionary)]  # null: ignored
        if isinstance(expression, pikepdf.Array):
            seen: list[tuple[int, bool]] = []
            prints = self._expression(expression, seen, 0)
            states = states or seen
        else:
            prints = _policy(name_bytes(lookup(oc, "P")), [shown for _, shown in states])
        indices = [index for index, _ in states]
        with_step = [index for index in indices if self.layers[index].step_group]
        return next(iter([*with_step, *indices]), NO_LAYER), prints

    def _expression(self, value: Any, seen: list[tuple[int, bool]], depth: int) -> bool:
        """Visibility expression; what is too deep, too long or wrong counts as shown."""
        if isinstance(value, pikepdf.Dictionary):
            seen.append(self._group(value))
            return seen[-1][1]
        members = items(value, MOST_MEMBERS)
        if depth > MOST_NESTED or len(seen) > MOST_MEMBERS or len(members) < 2:
            return True
        results = [self._expression(member, seen, depth + 1) for member in members[1:]]
        operator = name_bytes(members[0])
        if operator == b"Not":
            return not results[0]
        return any(results) if operator == b"Or" else all(results)


def _policy(policy: bytes | None, shown: list[bool]) -> bool:
    """ISO 32000-2, table 97; AnyOn is the default, and nothing to go by means shown."""
    if not shown:
        return True
    if policy == b"AllOn":
        return all(shown)
    if policy == b"AnyOff":
        return not all(shown)
    if policy == b"AllOff":
        return not any(shown)
    return any(shown)


def _intents(value: Any) -> frozenset[bytes]:
    names = [value] if isinstance(value, pikepdf.Name) else items(value, MOST_MEMBERS)
    return frozenset(name for name in map(name_bytes, names) if name is not None) or frozenset({b"View"})


def _states(applications: Any, event: str) -> dict[object, bool]:
    """Layers that the automatic states (AS) of an event, ``Print`` or ``View``, switch by their usage dictionaries.

    Usage/Print/PrintState and Usage/View/ViewState, ISO 32000-2, 8.11.4.4 and 8.11.4.5.
    """
    states: dict[object, bool] = {}
    for application in items(applications, MOST_MEMBERS):
        categories = [name_bytes(name) for name in items(lookup(application, "Category"), MOST_MEMBERS)]
        if name_bytes(lookup(application, "Event")) != event.encode() or event.encode() not in categories:
            continue
        for group in items(lookup(application, "OCGs"), MOST_MEMBERS):
            state = _state(group, event)
            if state is not None:
                states[identity(group)] = state
    return states


def _state(group: Any, event: str) -> bool | None:
    state = name_bytes(lookup(lookup(lookup(group, "Usage"), event), f"{event}State"))
    return state == b"ON" if state in (b"ON", b"OFF") else None


def _read_step(group: pikepdf.Dictionary) -> tuple[str, str, str]:
    """Processing-step group, type and what is odd about them, from GTS_Metadata or from the layer itself."""
    remarks = []
    metadata = lookup(group, "GTS_Metadata")
    if lookup(metadata, "GTS_ProcStepsGroup") is None and lookup(metadata, "GTS_ProcStepsType") is None:
        metadata = group
        remarks.append("the processing step is on the layer itself, not under GTS_Metadata")
    step_group, step_type = (_word(lookup(metadata, key)) for key in ("GTS_ProcStepsGroup", "GTS_ProcStepsType"))
    if not step_group and not step_type:
        return "", "", ""
    if not step_group:
        remarks.append("a processing step has a type but no group")
    elif step_group not in TYPES:
        remarks.append(_unlisted("group", step_group, TYPES))
    elif not step_type:
        remarks.append(f"{step_group} needs a type, and none is given" if TYPES[step_group] else "")
    elif not TYPES[step_group]:
        remarks.append(f"{step_group} takes no type, and {step_type} is given")
    elif step_type not in TYPES[step_group]:
        remarks.append(_unlisted("type", step_type, TYPES[step_group]))
    return step_group, step_type, "; ".join(filter(None, remarks))


def _word(value: Any) -> str:
    if isinstance(value, pikepdf.Name):
        return spelt(bytes(value)[1:])
    return text(value)


def _unlisted(what: str, word: str, known: Any) -> str:
    if len(word) > 5 and word[3:5] == "__" or word[4:5] == "_":
        return f"{word} is a {what} of somebody's own"
    near = nearest(word, sorted(known))
    return f"{word} is no processing-step {what} of ISO 19593-1" + (f"; {near}, perhaps" if near else "")
