"""The rulebook: rules read from YAML, layered, and checked against what they refer to.

Layers are laid over each other rule by rule and key by key: the house rules, then each further file in the order
given. Loading stops, with every fault at once, on a measure, parameter, reference or placeholder that does not exist.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Final, get_args, get_origin

from preflight.errors import InputFault, InvalidInput, NotUnderstood
from preflight.findings import Verdict
from preflight.inputs.fields import Parsed, yes_or_no
from preflight.inputs.loading import read_table, rules_dir, shipped_rules_dir
from preflight.inputs.yaml_table import KeyPath, Table, build
from preflight.judging.conditions import of_measure, of_reference
from preflight.judging.limits import Limit
from preflight.judging.references import Reference
from preflight.judging.rule_keys import ALWAYS_QUOTED, WORDED, CaseKeys, RuleKeys, quoted
from preflight.measures import MEASURES, FromRules, Measure
from preflight.quantities import count, in_own_unit, in_unit
from preflight.suggest import SLIP, nearest

FULL_RULE: Final = ("asks", "measure", "says", "why", "do", "source")
LIMITS: Final = ("fail", "warn", "note")
"""Keys of a rule or case that hold a limit."""
UNIT_SUFFIXES: Final = {
    "_mm": "mm",
    "_mm2": "mm2",
    "_percent": "%",
    "_pt": "pt",
    "_ppi": "ppi",
    "_min": "min",
    "_kg": "kg",
}
TRADE_TABLES: Final = (
    *("boards.yaml", "checks.yaml", "drying.yaml", "ink_systems.yaml", "inks.yaml", "key_curves.yaml", "layout.yaml"),
    *("names.yaml", "run.yaml", "unit_order.yaml"),
)
"""Files of a folder of rules that hold no rules and are read by whoever needs them."""


@dataclass(frozen=True)
class Case:
    """Limits and words for the readings of one case; None falls back on the rule's own."""

    fail: Limit | None = None
    warn: Limit | None = None
    note: Limit | None = None
    says: str | None = None
    why: str | None = None
    do: str | None = None
    customer: str | None = None


@dataclass(frozen=True)
class Rule:
    """A rule, complete and checked."""

    rule: str
    asks: str
    measure: str
    says: str
    why: str
    do: str
    source: str
    parameters: Mapping[str, object] = field(default_factory=dict)
    """Keyword arguments of the measure, typed; ``with:`` in YAML."""
    with_as_written: Mapping[str, str | tuple[str, ...]] = field(default_factory=dict)
    """The same as the files give them, each with its unit."""
    when: tuple[tuple[Reference, Limit], ...] = ()
    fail: Limit | None = None
    warn: Limit | None = None
    note: Limit | None = None
    cases: Mapping[str, Case] = field(default_factory=dict)
    allowed: str = ""
    """``none`` where the limit only allows for what is too little to matter."""
    customer: str = ""
    covers: tuple[str, ...] = ()
    since: str = ""
    status: str = "active"
    if_not_checked: Verdict = Verdict.PASS
    file: str = ""
    """The last file that had a say in it."""

    @property
    def trial(self) -> bool:
        """Reports, and never changes the verdict."""
        return self.status == "trial"

    def limits(self, case: str) -> dict[Verdict, Limit | None]:
        """Limits of a case by what they say, the worst first; a case with any limit of its own has no others."""
        own = self.cases.get(case)
        holder = own if own and (own.fail or own.warn or own.note) else self
        return {Verdict.FAIL: holder.fail, Verdict.WARN: holder.warn, Verdict.NOTE: holder.note}

    def words(self, case: str, key: str) -> str:
        """``says``, ``why``, ``do`` or ``customer`` of a case."""
        own = getattr(self.cases[case], key) if case in self.cases else None
        return str(getattr(self, key) if own is None else own)


@dataclass(frozen=True)
class Rulebook:
    """All rules that apply, in the order in which they were read."""

    rules: Mapping[str, Rule]
    off: Mapping[str, str] = field(default_factory=dict)
    """Rules that a file switched off, and its reason."""
    off_covers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Rows of the catalogue that those would decide."""
    retired: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Rules that are kept for the record, and the rows that they decided."""
    files: tuple[str, ...] = ()

    @cached_property
    def words(self) -> dict[FromRules, frozenset[str]]:
        """What measures that hold the ticket against the rules are handed."""
        areas = (word for rule in self.rules.values() for word in rule.with_as_written.get("areas", ()))
        return {
            "area_words": frozenset(areas),
            "rule_names": frozenset([*self.rules, *self.off, *self.retired]),
        }


def load_rules(extra: str | Path | Sequence[str | Path] = ()) -> Rulebook:
    """Read the house rules and lay a further file (or folder of files) over them, or several in their order.

    Raises:
        InvalidInput: with every fault of every file.
    """
    further = (extra,) if isinstance(extra, str | Path) else extra
    layers = [_tables_of(Path(path)) for path in (rules_dir(), *further)]
    faults: list[InputFault] = []
    drafts: dict[str, _Draft] = {}
    for tables in layers:
        seen: dict[str, str] = {}
        for table in tables:
            faults += _lay(table, drafts, seen)
    rules = {name: rule for name, draft in drafts.items() if (rule := draft.finished(faults, list(drafts)))}
    faults += _unknown_rows(drafts.values())
    files = [table.file for tables in layers for table in tables]
    if faults:
        raise InvalidInput(_in_file_order(faults, files))
    running = {name: rule for name, rule in rules.items() if rule.status != "retired" and not drafts[name].off}
    return Rulebook(
        running,
        {name: draft.off for name, draft in drafts.items() if draft.off},
        {name: draft.keys.get("covers", ()) for name, draft in drafts.items() if draft.off},
        {name: draft.keys.get("covers", ()) for name, draft in drafts.items() if draft.retired},
        tuple(files),
    )


def _in_file_order(faults: list[InputFault], files: list[str]) -> list[InputFault]:
    """Faults file by file as they were read, each file's by line; those of other files (the catalogue) last."""
    order = {file: place for place, file in reversed(list(enumerate(files)))}
    return sorted(faults, key=lambda fault: (order.get(fault.file, len(files)), fault.line))


# Files and layers --------------------------------------------------------------------------------------------------


def _tables_of(path: Path) -> list[Table]:
    """A file, or the files of rules of a folder: all its YAML files but the trade tables, which are known by name."""
    if not path.is_dir():
        return [read_table(path)]
    files = sorted(file for file in path.iterdir() if file.suffix in (".yaml", ".yml"))
    tables = [read_table(file) for file in files if not (file.name in TRADE_TABLES and not _names_rules(file))]
    nothing = InputFault(str(path), 0, "", "a folder without rules", "files of rules, *.yaml")
    return tables or [Table(str(path), None, faults=[nothing])]


def _names_rules(file: Path) -> bool:
    """Whether a file that bears the name of a trade table holds rules all the same, which must not vanish unseen."""
    data = read_table(file).data
    return isinstance(data, list) and any(isinstance(entry, dict) and "rule" in entry for entry in data)


def _lay(table: Table, drafts: dict[str, _Draft], seen: dict[str, str]) -> list[InputFault]:
    """Lay the rules of one file over the drafts; ``seen`` are the rules of the same layer."""
    faults = list(table.faults)
    if not isinstance(table.data, list):
        return faults or [_no_rules(table)]
    table.called = {
        place: entry["rule"]
        for place, entry in enumerate(table.data)
        if isinstance(entry, dict) and isinstance(entry.get("rule"), str)
    }
    faults = table.with_names(faults)
    for place in range(len(table.data)):
        keys, more = build(RuleKeys, table, at=(place,))
        faults += more
        name = table.called.get(place)
        if name is None:
            continue
        if name in seen:
            faults.append(table.fault((place, "rule"), name, f"each rule once in a layer (it is in {seen[name]} too)"))
            continue
        seen[name] = table.file
        faults += drafts.setdefault(name, _Draft(name)).lay(keys, table, place)
    return faults


def _no_rules(table: Table) -> InputFault:
    """A file that holds something else than a list of rules; a mapping may be a trade table of another name."""
    expected = "a list of rules, each beginning with - rule:"
    if not isinstance(table.data, dict):
        return table.fault((), table.data, expected)
    stem = nearest(Path(table.file).stem, [Path(name).stem for name in TRADE_TABLES], at_least=SLIP)
    expected = f"{expected} (trade tables are {', '.join(TRADE_TABLES)})"
    return table.fault((), table.data, expected, f"{stem}.yaml" if stem else "")


def _unknown_rows(drafts: Collection[_Draft]) -> Iterator[InputFault]:
    """Rows under ``covers`` that the catalogue does not have, or what is wrong with the catalogue.

    Those of the shipped rules are held to it by the tests: reading it takes longer than all else here.
    """
    own = [draft for draft in drafts if "covers" in draft.origins and not draft.is_shipped("covers")]
    if not own:
        return
    from preflight.judging.catalogue import load_catalogue  # most runs have the shipped rules alone

    try:
        catalogue = load_catalogue()
    except InvalidInput as wrong:
        yield from wrong.faults
        return
    for draft in own:
        for number, row in enumerate(draft.keys.get("covers", ())):
            if row not in catalogue.rows:
                table, path = draft.origins["covers"]
                near = nearest(row, catalogue.rows)
                yield table.fault((*path, number), row, "a row of the catalogue of checks", near)


@dataclass
class _Draft:
    """A rule while layers are being laid over each other; remembers which file each key came from."""

    name: str
    keys: dict[str, Any] = field(default_factory=dict)
    origins: dict[str, tuple[Table, KeyPath]] = field(default_factory=dict)
    files: list[Table] = field(default_factory=list)
    """Those that had a say in it, the last one last."""
    place: int = 0
    """Its number in the last one."""
    broken: bool = False
    """One of its files gave something unreadable, which is said already."""

    def lay(self, keys: RuleKeys | None, table: Table, place: int) -> list[InputFault]:
        """Lay the keys that this file gives over those below; an empty key takes one away.

        Returns faults: an empty case that is to take away what is not there.
        """
        self.files.append(table)
        self.place = place
        self.broken = self.broken or keys is None
        if keys is None:
            return []
        below = list(self.keys.get("cases", {}))
        faults = [
            table.fault(
                (place, "cases", name),
                None,
                f"keys with values, or a case further down to take away ({name} is none)",
                nearest(name, below),
            )
            for name, case in (keys.cases or {}).items()
            if case is None and name not in below
        ]
        for field_name in keys.model_fields_set - {"rule"}:
            key = field_name.rstrip("_")
            value = getattr(keys, field_name)
            self.origins[key] = (table, (place, key))
            if value is None:
                self.keys.pop(key, None)
            else:
                self.keys[key] = _merged(self.keys.get(key, {}), value) if key in ("with", "cases") else value
            for inner in value if isinstance(value, Mapping) else ():
                name = inner.text if isinstance(inner, Reference) else str(inner)
                self.origins[f"{key}.{name}"] = (table, (place, key, name))
        return faults

    def is_shipped(self, key: str) -> bool:
        """Whether a key was given by a file that comes with the package."""
        return Path(self.origins[key][0].file).parent == shipped_rules_dir()

    @property
    def off(self) -> str:
        return str(self.keys.get("off", ""))

    @property
    def retired(self) -> bool:
        return self.keys.get("status") == "retired"

    def fault(self, key: str, found: object, expected: str, suggestion: str = "") -> InputFault:
        """A fault at the line that gave the key, or at the rule's last mention."""
        known, rest = key, list[str]()
        while known and known not in self.origins:
            known, _, last = known.rpartition(".")
            rest.insert(0, last)
        table, path = self.origins.get(known) or (self.files[-1], (self.place,))
        return table.fault((*path, *rest), found, expected, suggestion)

    def finished(self, faults: list[InputFault], names: list[str]) -> Rule | None:
        """The rule, or None with what is wrong with it added to the faults."""
        if self.broken:
            return None
        if self.retired:
            self._conditions(faults)
            return None
        mine = [*self._incomplete(names), *self._limits_missing(), *self._from_memory()]
        when = self._conditions(mine)
        measure, parameters = MEASURES.get(str(self.keys.get("measure"))), dict[str, object]()
        if measure is None and "measure" in self.keys:
            name = self.keys["measure"]
            mine.append(self.fault("measure", name, "a measure that exists", nearest(name, MEASURES)))
        if measure is not None:
            self._fit_limits(measure, mine)
            mine += [*self._undeclared_cases(measure), *self._undeclared_facts(measure)]
            parameters = self._parameters(measure, mine)
        faults += mine
        return None if mine else self._rule(when, parameters)

    def _incomplete(self, names: list[str]) -> Iterator[InputFault]:
        missing = [key for key in FULL_RULE if key not in self.keys]
        if missing:
            near = nearest(self.name, [name for name in names if name != self.name])
            expected = f"a rule that exists, or a full rule (without {', '.join(missing)} it is none)"
            yield self.fault("", self.name, expected, near)

    def _limits_missing(self) -> Iterator[InputFault]:
        if not any(limit for _, limit in self._all_limits()):
            yield self.fault("", self.name, "a fail, warn or note limit")

    def _from_memory(self) -> Iterator[InputFault]:
        if not str(self.keys.get("source", "")).lower().startswith("from memory"):
            return
        for key, limit in self._all_limits():
            if limit is not None and key.endswith("fail"):
                yield self.fault(key, str(limit), "no fail limit in a rule whose source is from memory; it may warn")

    def _all_limits(self) -> Iterator[tuple[str, Limit | None]]:
        yield from ((verdict, self.keys.get(verdict)) for verdict in LIMITS)
        for name, case in self.keys.get("cases", {}).items():
            yield from ((f"cases.{name}.{verdict}", getattr(case, verdict)) for verdict in LIMITS)

    def _conditions(self, faults: list[InputFault]) -> tuple[tuple[Reference, Limit], ...]:
        """``when:`` with the words that are used everywhere; a condition that can never hold is a fault."""
        fitted = []
        for ref, limit in self.keys.get("when", {}).items():
            try:
                fitted.append((ref, of_reference(limit, ref)))
            except NotUnderstood as wrong:
                faults.append(self.fault(f"when.{ref.text}", str(limit), wrong.expected, wrong.suggestion))
        return tuple(fitted)

    def _fit_limits(self, measure: Measure, faults: list[InputFault]) -> None:
        """Limits as the measure's readings can be held against them; one that never can be is a fault."""
        cases = dict(self.keys.get("cases", {}))
        for key, limit in self._all_limits():
            try:
                fitted = of_measure(limit, measure) if limit else None
            except NotUnderstood as wrong:
                faults.append(self.fault(key, str(limit), wrong.expected, wrong.suggestion))
                continue
            *of_case, verdict = key.removeprefix("cases.").rsplit(".", 1)
            if of_case:
                cases[of_case[0]] = cases[of_case[0]].model_copy(update={verdict: fitted})
            elif fitted:
                self.keys[verdict] = fitted
        self.keys |= {"cases": cases} if cases else {}

    def _undeclared_cases(self, measure: Measure) -> Iterator[InputFault]:
        for name in self.keys.get("cases", {}):
            if name not in measure.cases:
                expected = f"a case of {measure.name} ({', '.join(measure.cases) or 'it has none'})"
                yield self.fault(f"cases.{name}", name, expected, nearest(name, measure.cases))

    def _undeclared_facts(self, measure: Measure) -> Iterator[InputFault]:
        known = (*ALWAYS_QUOTED, *measure.facts)
        wordings = [(key, self.keys.get(key)) for key in WORDED]
        for name, case in self.keys.get("cases", {}).items():
            wordings += [(f"cases.{name}.{key}", getattr(case, key)) for key in WORDED]
        for key, text in wordings:
            for fact in dict.fromkeys(quoted(text or "")):
                if fact not in known:
                    expected = f"a fact of {measure.name} ({', '.join(known)})"
                    yield self.fault(key, f"{{{fact}}}", expected, nearest(fact, known))

    def _parameters(self, measure: Measure, faults: list[InputFault]) -> dict[str, object]:
        """``with:`` typed by what the measure declares of its parameters."""
        typed = dict[str, object]()
        written = {_written(one.name): one for one in measure.parameters} | {
            one.name: one for one in measure.parameters
        }
        for key, text in self.keys.get("with", {}).items():
            known = written.get(key)
            if known is None or known.name in typed:
                names = ", ".join(_written(one.name) for one in measure.parameters) or "it takes none"
                expected = f"a parameter of {measure.name} ({names}), given once"
                faults.append(self.fault(f"with.{key}", key, expected, nearest(key, written)))
                continue
            try:
                typed[known.name] = parameter(text, known.name, known.kind)
            except NotUnderstood as wrong:
                wrong_one = _first_wrong(text, known.name, known.kind)
                faults.append(self.fault(f"with.{key}", wrong_one, wrong.expected, wrong.suggestion))
        left = [_written(one.name) for one in measure.parameters if one.required and one.name not in typed]
        if left and not any(fault.key.endswith(tuple(left)) for fault in faults):
            faults.append(self.fault("with", None, f"with: {{{', '.join(f'{name}: …' for name in left)}}}"))
        return typed

    def _rule(self, when: tuple[tuple[Reference, Limit], ...], parameters: dict[str, object]) -> Rule:
        taken = {k: v for k, v in self.keys.items() if k not in ("with", "cases", "off", "if_not_checked", "when")}
        counts = {"note": Verdict.PASS, "warn": Verdict.WARN, "fail": Verdict.FAIL}
        fields = CaseKeys.model_fields
        cases = {
            name: Case(**{key: getattr(case, key) for key in fields})
            for name, case in self.keys.get("cases", {}).items()
        }
        return Rule(
            rule=self.name,
            parameters=parameters,
            with_as_written=self.keys.get("with", {}),
            cases=cases,
            when=when,
            if_not_checked=counts[self.keys.get("if_not_checked", "note")],
            file=self.files[-1].file,
            **taken,
        )


def parameter(text: object, name: str, kind: Any) -> object:
    """A parameter of a measure, typed by its annotation.

    An annotation that says how it is read (``Kinds``) is followed. A float has the unit that its name ends in
    (``area_mm2``); where the name has none, lengths come in mm, areas in mm2, and ``%``, ``pt`` (1/72 in), ``ppi``,
    minutes and bare numbers as they are.

    Raises:
        NotUnderstood: the text is no such value.
    """
    if get_origin(kind) in (list, tuple):
        items = text if isinstance(text, list | tuple) else [text]
        made = [parameter(item, name, get_args(kind)[0]) for item in items]
        return made if get_origin(kind) is list else tuple(made)
    if isinstance(text, list | tuple):
        raise NotUnderstood("one value, not a list")
    if get_origin(kind) is Annotated:
        return next(note for note in get_args(kind) if isinstance(note, Parsed)).parse(text)
    if kind is float:
        unit = next((unit for suffix, unit in UNIT_SUFFIXES.items() if name.endswith(suffix)), None)
        return in_unit(text, unit) if unit else in_own_unit(text)
    if kind is int:
        return count(text)
    return yes_or_no(text) if kind is bool else str(text)


def _first_wrong(text: object, name: str, kind: Any) -> object:
    """The item of a list that is no such value; what was given, where each would do on its own."""
    for item in text if isinstance(text, list | tuple) else ():
        try:
            parameter(item, name, kind)
        except NotUnderstood:
            return item
    return text


def _written(name: str) -> str:
    """A parameter's name in YAML: without its unit, which the value carries."""
    return next((name.removesuffix(suffix) for suffix in UNIT_SUFFIXES if name.endswith(suffix)), name)


def _merged(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """Cases are laid over each other key by key, parameters one by one."""
    out = dict(below)
    for name, value in above.items():
        if isinstance(value, CaseKeys) and isinstance(out.get(name), CaseKeys):
            given = {key: getattr(value, key) for key in value.model_fields_set}
            out[name] = out[name].model_copy(update=given)
        elif value is None:
            out.pop(name, None)
        else:
            out[name] = value
    return out
