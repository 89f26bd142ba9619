"""The change from one job to the next: its steps, the time of each, and how long it is in all.

Minutes come from the press profile (``times``, ``wash``), else from rules/run.yaml; a step that neither has minutes for
is left out and named.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from preflight.inputs.press import Press
from preflight.inputs.run_table import ChangeTable
from preflight.setup.plan_request import OnPress
from preflight.setup.press_plan import OnCoater, Pass, PressPlan, WashUp
from preflight.setup.step_schedule import Schedule, Step, Timed, schedule
from preflight.setup.wanted import wanted

PRESET_WHILE_WASHING: Final = ("ink_preset", "blanket_wash")
"""Ink is preset while blankets are washed, on any press that does both by itself."""


@dataclass(frozen=True)
class ChangeStep:
    """One bar of the drawing; times in minutes from the start of the change before its pass."""

    step: str
    unit: int | None
    minutes: float
    hands: int
    start_min: float
    end_min: float
    at_once_with: tuple[str, ...] = ()
    """Steps that go on at some time of it."""
    coater: int | None = None
    pass_number: int = 1


@dataclass(frozen=True)
class Changes:
    """The change before each pass, one after the other."""

    steps: tuple[ChangeStep, ...] = ()
    minutes: float = 0.0
    """Of all passes; what could not be timed is not in it."""
    longest_path: tuple[tuple[str, ...], ...] = ()
    """Of each pass: the steps that make the change as long as it is."""
    crew: int = 0
    timed_make_ready: bool = False
    """Whether minutes from the first pull to a good sheet are among them."""
    not_checked: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


def changes(plan: PressPlan, press: Press, table: ChangeTable, before: OnPress | None = None) -> Changes:
    """Steps, times and total of the change to this job."""
    crew = press.crew or table.crew
    at_once = (*press.times.at_once, PRESET_WHILE_WASHING)
    timed = [
        schedule(list(_steps(one, plan.wash_ups if not at else (), press, table, before)), crew, at_once)
        for at, one in enumerate(plan.passes)
    ]
    return Changes(
        tuple(step for at, one in enumerate(timed, 1) for step in _bars(one, at)),
        sum(one.minutes for one in timed),
        tuple(one.longest_path for one in timed),
        crew,
        press.times.make_ready is not None and bool(timed),
        tuple(_left_out(plan, press, table)),
        tuple(_taken(plan, press, table, before)),
    )


# Steps -------------------------------------------------------------------------------------------------------------


def _steps(
    one: Pass, wash_ups: Sequence[WashUp], press: Press, table: ChangeTable, before: OnPress | None
) -> Iterator[Step]:
    """All steps of the change before one pass; none of them twice."""
    units = frozenset(f"unit {unit.unit}" for unit in one.plates)
    by_press = {step for group in press.times.at_once for step in group}
    hands = {step: 0 if step in by_press else count for step, count in table.hands.items()}
    first = [
        *_washing(wash_ups, press, table, hands["wash_up"]),
        *_plates(one, press, table, hands["plate_change"]),
        *_coaters(one, press, table, hands["coater_change"], before),
    ]
    times = press.times
    if times.blanket_wash and units:
        first.append(Step("blanket_wash", times.blanket_wash, hands=hands["blanket_wash"], places=units))
    if times.ink_preset and units:
        washed = frozenset(step.key for step in first if step.step == "wash_up" and step.places & units)
        waits = frozenset() if _done_at_once(press, "wash_up", "ink_preset") else washed
        first.append(Step("ink_preset", times.ink_preset, hands=hands["ink_preset"], places=units, after=waits))
    yield from first
    if times.make_ready and units:
        places = units.union(*(step.places for step in first))
        before_it = frozenset(step.key for step in first)
        yield Step("make_ready", times.make_ready, hands=hands["make_ready"], places=places, after=before_it)


def _washing(wash_ups: Sequence[WashUp], press: Press, table: ChangeTable, hands: int) -> Iterator[Step]:
    """A step a unit; one for the whole press where it changes to another ink system."""
    in_one_go: set[str] = set()
    for wash in wash_ups:
        minutes, place = _minutes_to_wash(wash, press, table), f"unit {wash.unit}"
        if _of_system(wash):
            in_one_go.add(place)
        elif minutes:
            yield Step("wash_up", minutes, wash.unit, hands=hands, places=frozenset({place}))
    for_system = press.wash.ink_system if press.wash.ink_system is not None else table.ink_system
    if in_one_go and for_system:
        yield Step("wash_up", for_system, hands=hands, places=frozenset(in_one_go))


def _minutes_to_wash(wash: WashUp, press: Press, table: ChangeTable) -> float | None:
    """None where nothing says it for the unit."""
    if wash.minutes is not None:
        return wash.minutes
    if _of_system(wash):
        return press.wash.ink_system
    return press.times.wash_up if press.times.wash_up is not None else table.wash_up


def _plates(one: Pass, press: Press, table: ChangeTable, hands: int) -> Iterator[Step]:
    """All plates in one go as the profile says; by hand one unit after the other as hands are free."""
    numbers = [unit.unit for unit in one.plates]
    whole, each = press.times.plate_change, table.plate[table.plates]
    places = frozenset(f"unit {number}" for number in numbers)
    if whole is not None:
        if whole and numbers:
            yield Step("plate_change", whole, hands=hands, places=places)
    elif table.plates == "automatic":
        if each and numbers:
            yield Step("plate_change", each * len(numbers), places=places)
    elif each:
        for number in numbers:
            yield Step("plate_change", each, number, hands=hands, places=frozenset({f"unit {number}"}))


def _coaters(one: Pass, press: Press, table: ChangeTable, hands: int, before: OnPress | None) -> Iterator[Step]:
    minutes = press.times.coater_change if press.times.coater_change is not None else table.coater_change
    for coater in one.coaters if minutes else ():
        if coater.coating is not None and not _stays(coater, before):
            place = frozenset({f"coater {coater.coater}"})
            yield Step("coater_change", minutes or 0.0, coater=coater.coater, hands=hands, places=place)


def _stays(coater: OnCoater, before: OnPress | None) -> bool:
    """An overall coating that is in the first coater already; a plate or a cut blanket is each job's own."""
    known = before.coater if before is not None and coater.coater == 1 else None
    return known is not None and coater.lays == "overall" and coater.coating == known


def _of_system(wash: WashUp) -> bool:
    return "ink system" in wash.because


def _done_at_once(press: Press, one: str, other: str) -> bool:
    return any({one, other} <= set(group) for group in press.times.at_once)


# What is drawn, left out and taken ---------------------------------------------------------------------------------


def _bars(one: Schedule, number: int) -> Iterator[ChangeStep]:
    for timed in one.steps:
        step = timed.step
        others = dict.fromkeys(other.step.step for other in one.steps if other is not timed and _meet(timed, other))
        bar = ChangeStep(step.step, step.unit, step.minutes, timed.hands, timed.start, timed.end)
        yield replace(bar, at_once_with=tuple(others), coater=step.coater, pass_number=number)


def _meet(one: Timed, other: Timed) -> bool:
    return min(one.end, other.end) - max(one.start, other.start) > 1e-9


def _left_out(plan: PressPlan, press: Press, table: ChangeTable) -> Iterator[str]:
    if not plan.passes:
        yield "Changeover: not checked; there is no plan of the units."
        return
    for step, what in (
        ("blanket_wash", "Time of washing blankets"),
        ("ink_preset", "Time of presetting ink"),
        ("make_ready", "Time from the first pull to a good sheet"),
    ):
        if getattr(press.times, step) is None:
            yield wanted(what, f"times.{step}", "press profile")
    untimed = [wash for wash in plan.wash_ups if wash.minutes is None]
    if any(_of_system(wash) for wash in untimed) and (press.wash.ink_system, table.ink_system) == (None, None):
        yield wanted("Time to change the ink system", "wash: ink system", "press profile")
    if any(not _of_system(wash) for wash in untimed) and (press.times.wash_up, table.wash_up) == (None, None):
        yield wanted("Time of wash-ups", "times.wash_up", "press profile")
    coated = any(coater.coating for one in plan.passes for coater in one.coaters)
    if coated and press.times.coater_change is None and table.coater_change is None:
        yield wanted("Time to change the coater", "times.coater_change", "press profile")
    if len(plan.passes) > 1:
        yield "Wash-ups between the passes: not checked."


def _taken(plan: PressPlan, press: Press, table: ChangeTable, before: OnPress | None) -> Iterator[str]:
    if not plan.passes:
        return
    if press.crew is None:
        yield f"Hands at the press: {table.crew}, since the profile does not give crew."
    if press.times.plate_change is None:
        each = table.plate[table.plates]
        yield f"Plate change: {table.plates}, {each:g} min a plate (common practice, rules/run.yaml)."
    elif press.times.plate_change and min(len(one.plates) for one in plan.passes) < press.unit_count:
        whole = press.times.plate_change
        yield f"Plate change: {whole:g} min, which the profile gives for all plates of a job, few or many."
    untimed = [wash for wash in plan.wash_ups if wash.minutes is None]
    systems = [wash for wash in untimed if _of_system(wash)]
    if len(untimed) > len(systems) and press.times.wash_up is None and table.wash_up is not None:
        yield f"Wash-up: {table.wash_up:g} min a unit (common practice, rules/run.yaml)."
    if systems and press.wash.ink_system is None and table.ink_system is not None:
        yield f"Change of ink system: {table.ink_system:g} min for the press (common practice, rules/run.yaml)."
    used = [coater for one in plan.passes for coater in one.coaters if coater.coating]
    if used and press.times.coater_change is None and table.coater_change is not None:
        yield f"Coater change: {table.coater_change:g} min (common practice, rules/run.yaml)."
    if used and before is None:
        yield "The coater is changed, since it is not known what the job before had in it."
