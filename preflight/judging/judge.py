"""The judge: readings held against rules become findings, waived findings, what passed and what was not checked.

Nothing here looks at the page. Each measure runs once for each set of parameters; one that breaks makes its rules
*not checked* and the rest goes on.
"""

from __future__ import annotations

import logging
import traceback
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import partial
from typing import Any

from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.errors import NotMeasured, WantOf
from preflight.findings import (
    Finding,
    Judgement,
    Measured,
    NotAsked,
    NotChecked,
    Place,
    Reading,
    SwitchedOff,
    Value,
    Verdict,
    Waived,
    listed,
)
from preflight.judging.conditions import why_not_asked
from preflight.judging.limits import Outcome, hold
from preflight.judging.phrases import Phrase, facts_of
from preflight.judging.references import is_guess, look_up
from preflight.judging.rulebook import Rule, Rulebook
from preflight.judging.waivers import Waivers
from preflight.measures import MEASURES, FromRules, Job
from preflight.measures.missing_places import beyond_open_cuts, seen, unseen_places
from preflight.measures.sheet_question import own_sheet

MOST_ALIKE, MOST_NAMED, MOST_PLACES = 20, 10, 100
"""Findings of one rule that are said one by one; names and places of the others that are said together."""
_log = logging.getLogger(__name__)


def judge(job: Job, rulebook: Rulebook, only: Collection[str] | None = None, today: date | None = None) -> Judgement:
    """Judge one page of a job.

    Args:
        job: artwork, die, press and ticket brought together.
        rulebook: the rules that apply.
        only: names of the rules to run; all where None, as in every check: tests ask for a few.
        today: the day that waivers are held against; the current one where None, and another one in tests.
    """
    rules = [rule for name, rule in rulebook.rules.items() if only is None or name in only]
    waivers = Waivers(job, rulebook, rules, today or datetime.now(UTC).date())
    runs = _MeasureRuns(job, rulebook.words)
    checks = [_RuleCheck(rule, job, runs, waivers) for rule in rules]
    for check in checks:
        check.decide()
    # What is wrong with ticket, press or file as such comes first: it may be the cause of what else is found.
    found = ((bool(MEASURES[check.rule.measure].rests_on), f) for check in checks for f in check.findings)
    findings = [f for _, f in sorted(found, key=lambda each: (each[1].order, each[0]))]
    not_checked = (*(item for check in checks for item in check.not_checked), *_undecided_keys(job))
    trials = {rule.rule for rule in rules if rule.trial}
    switched_off = tuple(SwitchedOff(name, why) for name, why in rulebook.off.items() if only is None or name in only)
    counted = [Verdict.PASS, *(f.verdict for f in findings if not f.trial)]
    counted += [item.counts_as for item in not_checked if item.rule not in trials]
    return Judgement(
        verdict=max(counted),
        findings=tuple(findings),
        waived=tuple(item for check in checks for item in check.waived),
        not_checked=not_checked,
        passed=tuple(check.rule.rule for check in checks if check.passed),
        not_asked=tuple(NotAsked(check.rule.rule, check.not_asked) for check in checks if check.not_asked),
        switched_off=switched_off,
        notes=(
            *job.notes,
            *waivers.notes(),
            *(note for check in checks for note in check.notes),
        ),
    )


def _undecided_keys(job: Job) -> Iterator[NotChecked]:
    """Keys of the ticket and the press that nothing is decided by yet; said once, on the first page."""
    if job.page.number != 1:
        return
    all_files = job.lay_on_sheet is not own_sheet  # somebody brings all pages of the ticket together
    undecided = {
        "job ticket": job.ticket.not_acted_on(all_files=all_files) if job.ticket else [],
        "press profile": job.press.not_acted_on() if job.press else [],
    }
    for file, keys in undecided.items():
        if keys:
            said = f"read, not used by any rule or by the set-up yet: {', '.join(keys)}"
            yield NotChecked(f"keys of the {file}", said, want_of="tool", needed=False)


@dataclass
class _MeasureRuns:
    """Runs each measure once for each set of parameters."""

    job: Job
    rule_words: Mapping[FromRules, frozenset[str]]
    kept: dict[str, Measured | Exception] = field(default_factory=dict)

    def measured(self, rule: Rule) -> Measured:
        """What the rule's measure gives; raises what the measure raised, as often as it is asked."""
        key = f"{rule.measure} {sorted(rule.parameters.items())!r}"
        if key not in self.kept:
            try:
                found = MEASURES[rule.measure].run(self.job, rule.parameters, self.rule_words)
                self.kept[key] = Measured([_plain(reading) for reading in found.readings], found.gaps)
            except Exception as error:  # one broken measure must not spoil the rest
                self.kept[key] = error
        result = self.kept[key]
        if isinstance(result, Exception):
            raise result
        return result


def _plain(reading: Reading) -> Reading:
    """The reading with Python's own numbers in place of numpy's."""
    value: Any = reading.value
    if isinstance(value, tuple):
        value = tuple(getattr(item, "item", lambda item=item: item)() for item in value)
    elif hasattr(value, "item"):
        value = value.item()
    return reading if value is reading.value else replace(reading, value=value)


@dataclass
class _Objection:
    """A reading that a limit objects to."""

    reading: Reading
    outcome: Outcome
    verdict: Verdict
    only_warns: str = ""
    """Why it warns where its limit fails; empty where it does not matter."""


@dataclass
class _RuleCheck:
    """One rule before the judge."""

    rule: Rule
    job: Job
    runs: _MeasureRuns
    waivers: Waivers
    findings: list[Finding] = field(default_factory=list)
    waived: list[Waived] = field(default_factory=list)
    not_checked: list[NotChecked] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    passed: bool = False
    not_asked: str = ""
    """Why it is not for this job; empty where it is."""
    guessed: str = ""

    def decide(self) -> None:
        """Decide the rule; what breaks on the way makes it not checked."""
        try:
            if not self._applies():
                return
            unseen = unseen_places(self.job, MEASURES[self.rule.measure])
            measured = self.runs.measured(self.rule)
            readings = seen(measured.readings, unseen)
            self._rule_on([o for reading in readings if (o := self._objection(reading))])
            for gap in measured.gaps:
                self._leave_open(gap.because, gap.would_help, gap.want_of, places=gap.places[:MOST_PLACES])
            self._leave_places_open(unseen)
            self._leave_open_beyond_cuts()
        except NotMeasured as reason:
            self._leave_open(reason.because, reason.would_help, reason.want_of)
        except MemoryError:
            self._leave_open("there was not enough memory", "a simpler file or more memory")
        except Exception as error:  # said in the report, and the exit status shows it
            _log.debug("rule %s broke", self.rule.rule, exc_info=True)
            because = f"internal error ({type(error).__name__}: {error})"
            where = "".join(traceback.format_exception(error))
            self._leave_open(
                because, "a corrected version of preflight; keep the file and the message", "tool", broke=where
            )
        self.passed = not (self.findings or self.waived or self.not_checked)

    def _applies(self) -> bool:
        """Whether all conditions hold; one that does not settles it, whatever the others are for want of."""
        missing: NotMeasured | None = None
        for reference, limit in self.rule.when:
            try:
                value = look_up(self.job, reference)
                holds = hold(value, limit, reference.unit, partial(look_up, self.job)).trips
            except NotMeasured as reason:
                missing = missing or reason
                continue
            if not holds:
                self.not_asked = why_not_asked(reference, limit, value, partial(look_up, self.job))
                return False
            if is_guess(self.job, reference):
                self.guessed = f"{reference.text.partition('.')[2]} ({value}) is a guess"
        if missing:
            raise missing
        return True

    def _objection(self, reading: Reading) -> _Objection | None:
        """What the limits say to a reading; fail first, then warn, then note."""
        measure = MEASURES[self.rule.measure]
        unit = reading.unit or measure.unit
        for verdict, limit in self.rule.limits(reading.case).items():
            if limit is None:
                continue
            try:
                outcome = hold(
                    reading.value, limit, unit, partial(look_up, self.job), measure.tolerance, reading.limit_cap
                )
            except NotMeasured as gap:  # the other limit may still be decided
                self._leave_open(gap.because, gap.would_help, gap.want_of)
                continue
            if outcome.trips:
                why = self._only_warns(reading) if verdict is Verdict.FAIL else ""
                words = self._limit_words(reading, outcome) if verdict is Verdict.FAIL and not why else outcome.words
                return _Objection(reading, replace(outcome, words=words), Verdict.WARN if why else verdict, why)
        return None

    def _limit_words(self, reading: Reading, outcome: Outcome) -> str:
        """The limit of a fault; where less already warns, what is wanted: ``minimum 3 mm, a fault below 2 mm``."""
        limits = self.rule.limits(reading.case)
        fails, warns = limits[Verdict.FAIL], limits[Verdict.WARN]
        if fails is None or warns is None or fails.comparison != warns.comparison or reading.limit_cap is not None:
            return outcome.words
        measure = MEASURES[self.rule.measure]
        try:
            aim = hold(reading.value, warns, reading.unit or measure.unit, partial(look_up, self.job))
        except NotMeasured:
            return outcome.words
        if not aim.words.startswith(("minimum ", "maximum ")) or aim.figure == outcome.figure:
            return outcome.words
        return f"{aim.words}, a fault {fails.comparison} {outcome.figure}"

    def _only_warns(self, reading: Reading) -> str:
        if reading.only_warns:
            return reading.only_warns
        return "it is based on a guess" if reading.known == "assumed" else self.guessed

    def _leave_open(
        self,
        because: str,
        would_help: str = "",
        want_of: WantOf = "file",
        *,
        broke: str = "",
        places: tuple[Place, ...] = (),
    ) -> None:
        counts_as = self.rule.if_not_checked
        left_untold = want_of in ("ticket", "press") and counts_as is Verdict.PASS
        item = NotChecked(
            self.rule.rule,
            because,
            would_help,
            counts_as,
            bool(broke),
            want_of,
            places,
            broke,
            needed=not (left_untold or self.rule.trial),
        )
        if item not in self.not_checked:
            self.not_checked.append(item)

    def _leave_places_open(self, unseen: Sequence[UncertainPlace]) -> None:
        """The rule was decided but for the places where something is missing: one entry a reason."""
        by_reason: dict[str, list[Place]] = {}
        for place in unseen:
            by_reason.setdefault(place.because, []).append(Place(place.box_mm, self.job.page.number))
        for because, places in by_reason.items():
            told = f"part of the page could not be checked: {because}; the rest was checked"
            self._leave_open(told, "a corrected or simpler file", places=tuple(places[:MOST_PLACES]))

    def _leave_open_beyond_cuts(self) -> None:
        """The rule was decided but for what lies beyond a cut that is not closed."""
        places = tuple(beyond_open_cuts(self.job, MEASURES[self.rule.measure]))
        if places:
            told = "the cut line is not closed, and what lies beyond the gap was not checked; the rest was checked"
            self._leave_open(told, "a die with a closed cut line", places=places)

    def _rule_on(self, objections: list[_Objection]) -> None:
        """One finding for each verdict, case and group, and apart from those what waivers cover.

        Where a rule objects to very many groups, the last of those that would be alike are one finding.
        """
        groups: dict[tuple[Verdict, str, str, int | None], list[_Objection]] = {}
        waivers = [self.waivers.covering(self.rule.rule, objection.reading) for objection in objections]
        open_ones = self._one_fault_each([o for o, waiver in zip(objections, waivers, strict=True) if waiver is None])
        for objection, waiver in zip(objections, waivers, strict=True):
            worst = objection if waiver is not None else next(open_ones)
            key = (worst.verdict, worst.reading.case, worst.reading.group, waiver)
            groups.setdefault(key, []).append(objection)
        alike: dict[tuple[Verdict, str], list[list[_Objection]]] = {}
        for (verdict, case, _, waiver), members in groups.items():
            if waiver is None:
                alike.setdefault((verdict, case), []).append(members)
            else:
                self.waived.append(self.waivers.waived(waiver, self._finding(members)))
        for several in alike.values():
            shown = several if len(several) <= MOST_ALIKE else several[: MOST_ALIKE - 1]
            self.findings += [self._finding(members) for members in shown]
            if len(shown) < len(several):
                self.findings.append(self._all_in_one(several[len(shown) :]))

    def _one_fault_each(self, objections: Sequence[_Objection]) -> Iterator[_Objection]:
        """For each objection the worst of those that are one fault with it; itself where the measure joins none."""
        fact = MEASURES[self.rule.measure].one_fault_by
        if not fact or len(objections) < 2:
            return iter(objections)
        from preflight.judging.one_fault import joined  # most rules and most artworks do without it

        faults = joined([objection.reading for objection in objections], fact)
        worst = dict[int, _Objection]()
        for fault, objection in zip(faults, objections, strict=True):
            worst[fault] = max(worst.get(fault, objection), objection, key=_badness)
        return iter([worst[fault] for fault in faults])

    def _all_in_one(self, several: list[list[_Objection]]) -> Finding:
        """The first of several findings that are alike, and the names and places of the others."""
        first = self._finding(several[0])
        named = [members[0].reading.group for members in several[1:]]
        more = f"{len(named):,} more: {listed(named, MOST_NAMED)}"
        places = tuple(dict.fromkeys(place for group in several for member in group for place in member.reading.places))
        units = sorted({number for group in several for member in group for number in member.reading.units})
        return replace(
            first,
            says=f"{first.says} The same applies to {more}.",
            places=places[:MOST_PLACES],
            units=tuple(units),
            customer=f"{first.customer} The same applies to {more}." if first.customer else "",
        )

    def _finding(self, members: list[_Objection]) -> Finding:
        members = sorted(members, key=_badness, reverse=True)
        worst, rule = members[0], self.rule
        reading = worst.reading
        unit = reading.unit or MEASURES[rule.measure].unit
        places = tuple(dict.fromkeys(place for member in members for place in member.reading.places))
        phrase = Phrase(facts_of([member.reading for member in members], unit, worst.outcome, places, self.job.die))
        says, why, do, customer = (phrase.fill(rule.words(reading.case, k)) for k in ("says", "why", "do", "customer"))
        if worst.only_warns:
            why = f"{why} It only warns, because {worst.only_warns}."
        self.notes += [
            f"the wording of {rule.rule} quotes {{{name}}}, which its measure does not give" for name in phrase.unknown
        ]
        return Finding(
            rule=rule.rule,
            verdict=worst.verdict,
            says=says,
            why=why,
            do=do,
            source=rule.source,
            customer="" if worst.verdict is Verdict.NOTE else customer,
            measured=(reading.value, unit),
            limit=_limit(worst.outcome, unit),
            limit_words=rule.allowed or worst.outcome.words,
            places=places,
            known=reading.known,
            case=reading.case,
            trial=rule.trial,
            units=tuple(sorted({number for member in members for number in member.reading.units})),
        )


def _badness(objection: _Objection) -> tuple[Verdict, bool, float]:
    """Which of several objections speaks for them all."""
    return objection.verdict, bool(objection.only_warns), objection.outcome.excess


def _limit(outcome: Outcome, unit: str) -> tuple[Value, str] | None:
    if outcome.limit is None:
        return None
    return outcome.limit, "" if isinstance(outcome.limit, str) else unit
