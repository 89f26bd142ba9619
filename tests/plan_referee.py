"""Referee of the unit planner: every order of a small job is tried, on every unit, with every lamp lit or not.

It shares nothing with the planner but the records and the trade tables. A way of printing is a list of (plate, unit) as
the sheet meets them, the units behind which a lamp is lit, the coater and the ink system of the pass.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations, permutations, product

from preflight.inputs.ink_names import needs_adhesive
from preflight.inputs.ink_systems import load_ink_systems
from preflight.inputs.press import Coater
from preflight.inputs.unit_order_table import load_unit_order
from preflight.setup.plan_request import PlanRequest, PlateToPlace

RULES = [
    *["unit-takes", "unit-never", "units-fixed", "one-ink-system", "white-under", "varnish-last", "effect-before-coat"],
    *["coater-takes", "coater-lays", "primer-first", "opaque-by-overlap", "metallic-by-overlap", "cure-between"],
    *["side-of-turn", "foil-adhesive", "one-unit-each"],
]
INKS = ("process", "spot", "metallic")


Set = frozenset[tuple[str, str]]
Run = tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Way:
    run: Run
    lit: frozenset[int]
    coater: Coater | None
    system: str | None


class Referee:
    def __init__(self, request: PlanRequest) -> None:
        self.request, self.press = request, request.press
        self.order, self.systems = load_unit_order(), load_ink_systems()
        self.units = [unit.number for unit in self.press.units]
        self.plates = request.plates
        cures = self.press.cures or ()
        self.job_system = request.ink_system or (cures[0] if len(cures) == 1 else None)
        self.lamps = {
            lamp.after_unit: lamp.kind
            for lamp in self.press.lamps
            if lamp.where == "interdeck" and lamp.after_unit < len(self.units)
        }
        self.usable = [
            unit
            for unit, kind in self.lamps.items()
            if any(self.cures(self.system(plate), kind) for plate in self.plates)
        ]
        self.known = self.demands_there_are()

    # Facts

    def system(self, plate: PlateToPlace) -> str | None:
        return plate.ink_system or self.job_system

    def cures(self, system: str | None, kind: str) -> bool:
        return system is not None and self.systems.lamps.get(system, {}).get(kind, "no") != "no"

    def cured(self, plate: PlateToPlace, unit: int, unit_behind: int, lit: frozenset[int]) -> bool:
        """Whether a lit lamp between two units cures what the first one prints."""
        return any(unit <= lamp < unit_behind and self.cures(self.system(plate), self.lamps[lamp]) for lamp in lit)

    def overlap(self, one: PlateToPlace, other: PlateToPlace) -> float:
        if one.overall or other.overall:
            return 1e9
        return self.request.overlap_mm2.get((min(one.name, other.name), max(one.name, other.name)), 0.0)

    def share(self, metallic: PlateToPlace, other: PlateToPlace) -> float:
        if other.overall:
            return 1.0
        return self.overlap(metallic, other) / metallic.area_mm2 if metallic.area_mm2 else 0.0

    def adhesive(self, plate: PlateToPlace) -> bool:
        return plate.kind == "foil" or needs_adhesive(plate.name)

    def coating_name(self) -> str:
        coating = self.request.coating
        assert coating is not None
        return coating.separation or (f"{coating.kind} coating" if coating.kind else "coating")

    def prints_on_metallic(self, metallic: PlateToPlace, other: PlateToPlace) -> bool:
        if other.kind not in ("process", "spot") or other.side != metallic.side or self.adhesive(other):
            return False
        return self.share(metallic, other) > (0 if metallic.printed_over else self.order.metallic_overlap / 100)

    # Ways of printing

    def pass_systems(self) -> set[str | None]:
        return {self.job_system, *(self.system(plate) for plate in self.plates)} - {None} or {None}

    def lits(self) -> list[frozenset[int]]:
        return [frozenset(lit) for n in range(len(self.usable) + 1) for lit in combinations(self.usable, n)]

    def ways(self) -> Iterator[Way]:
        coaters = (self.press.coaters if self.request.coating else ()) or (None,)
        lits = self.lits()
        for run in self.runs(sharing=False):
            for coater in coaters:
                if not self.by_coater(run, coater):
                    for lit, system in product(lits, self.pass_systems()):
                        yield Way(run, lit, coater, system)

    def runs(self, sharing: bool) -> Iterator[Run]:
        count = len(self.plates)
        for order in permutations(range(count)):
            hits = [(self.plates[n].name, self.plates[n].hit) for n in order]
            if any(a[0] == b[0] and a[1] > b[1] for a, b in combinations(hits, 2)):
                continue
            for units in combinations(range(len(self.units) + (count - 1 if sharing else 0)), count):
                on = [unit - place for place, unit in enumerate(units)] if sharing else list(units)
                yield tuple((plate, self.units[unit]) for plate, unit in zip(order, on, strict=True))

    # Hard demands

    def demands_there_are(self) -> list[tuple[str, str]]:
        names = [*([self.coating_name()] if self.request.coating else []), *(plate.name for plate in self.plates)]
        return [(rule, name) for rule in RULES for name in dict.fromkeys(names)]

    def broken(self, way: Way) -> Set:
        """All demands that a way of printing breaks, but for one-unit-each."""
        return self.by_run(way.run, way.lit) | self.by_coater(way.run, way.coater) | self.by_system(way.system)

    @cache  # noqa: B019 - one referee a job
    def by_system(self, system: str | None) -> Set:
        return frozenset(
            ("one-ink-system", plate.name)
            for plate in self.plates
            if (own := self.system(plate)) is not None and system is not None and not self.runs_with(plate, own, system)
        )

    def by_coater(self, run: Run, coater: Coater | None) -> Set:
        found = set(self.broken_by_coating(max(unit for _, unit in run), coater))
        for at, (number, _) in enumerate(run):
            plate = self.plates[number]
            if plate.kind == "varnish" and plate.effect and self.parted(run, at, coater):
                found.add(("effect-before-coat", plate.name))
        return frozenset(found)

    def by_run(self, run: Run, lit: frozenset[int]) -> Set:
        found: Set = frozenset()
        for at, (number, unit) in enumerate(run):
            found |= self.alone(number, unit)
            if self.misses_foil(run, at):
                found |= {("foil-adhesive", self.plates[number].name)}
            for behind, unit_behind in run[at + 1 :]:
                cured = self.cured(self.plates[number], unit, unit_behind, lit) or unit == unit_behind
                found |= self.pair(number, behind, cured)
        return found

    @cache  # noqa: B019 - one referee a job
    def alone(self, number: int, unit: int) -> Set:
        plate = self.plates[number]
        return frozenset((rule, plate.name) for rule in self.broken_alone(plate, unit))

    @cache  # noqa: B019 - one referee a job
    def pair(self, number: int, behind: int, cured: bool) -> Set:
        one, other = self.plates[number], self.plates[behind]
        alike = one.side == other.side and one.name != other.name
        return frozenset(self.broken_by_pair(one, other, cured)) if alike else frozenset()

    def broken_alone(self, plate: PlateToPlace, unit: int) -> Iterator[str]:
        station = self.press.units[unit - 1]
        if station.inks is not None and plate.kind not in station.inks:
            yield "unit-takes"
        if plate.kind in station.never:
            yield "unit-never"
        if self.request.fixed and self.request.wished is not None:
            listed = [n for n, name in enumerate(self.request.wished, 1) if name == plate.name and n in self.units]
            if unit not in listed or len(listed) < sum(each.name == plate.name for each in self.plates):
                yield "units-fixed"
        if {each.side for each in self.plates} == {"front", "back"}:
            turned = [turn.after_unit for turn in self.press.turns]
            if not turned and plate.side == "back":
                yield "side-of-turn"
            if turned and (unit > turned[0]) != (plate.side == "front"):
                yield "side-of-turn"
        if self.adhesive(plate) and not self.press.foils and self.press.line_keys is not None:
            yield "foil-adhesive"

    def runs_with(self, plate: PlateToPlace, system: str, other: str) -> bool:
        cures = self.press.cures
        if cures is not None and system not in cures and not any(self.cures(system, kind) for kind in cures):
            return False
        mix = self.systems.mix
        if system == other or other in mix.get(system, ()) or system in mix.get(other, ()):
            return True
        apart = self.systems.apart
        if self.adhesive(plate):
            return other in apart.foil_adhesive.get(system, ())
        if plate.kind == "primer":
            return other in apart.primer.get(system, ())
        return plate.kind == "varnish" and plate.effect and other in apart.effect_varnish.get(system, ())

    def broken_by_pair(self, plate: PlateToPlace, behind: PlateToPlace, cured: bool) -> Iterator[tuple[str, str]]:
        over = self.overlap(plate, behind) > 0
        kept_so = self.request.surface == "white" and self.request.fixed and self.request.wished is not None
        carries = behind.kind == "white" and not behind.on_solids and not kept_so
        if carries and over and plate.kind not in ("white", "primer"):
            yield "white-under", behind.name
        if plate.kind == "white" and plate.on_solids and over and behind.kind in INKS:
            yield "opaque-by-overlap", plate.name
        varnish = plate.kind == "varnish" and not self.adhesive(plate)
        if varnish and (behind.kind != "varnish" or self.adhesive(behind)):
            yield "varnish-last", plate.name
        if behind.kind == "primer" and plate.kind != "primer":
            yield "primer-first", behind.name
        if behind.kind == "metallic" and self.prints_on_metallic(behind, plate):
            yield "metallic-by-overlap", behind.name
        both = behind.kind == plate.kind == "metallic"
        if both and over and behind.printed_over and not plate.printed_over:
            yield "opaque-by-overlap", behind.name
        if self.adhesive(behind) and over and plate.kind not in ("white", "primer"):
            yield "opaque-by-overlap", behind.name
        lamps = [lamp for lamp in self.lamps.values() if self.cures(self.system(plate), lamp)]
        if plate.kind in self.order.cure_needed and over and lamps and not cured:
            yield "cure-between", plate.name

    def ends(self, run: Run, at: int) -> int:
        """The unit on which another ink is printed behind a plate."""
        own, unit = self.plates[run[at][0]].name, run[at][1]
        return min((on for each, on in run[at + 1 :] if self.plates[each].name != own and on != unit), default=99)

    def parted(self, run: Run, at: int, coater: Coater | None) -> bool:
        coating = self.request.coating
        if coating is None or coating.area != "overall" or coater is None:
            return True
        if coater.lays is not None and "overall" not in coater.lays:
            return True
        return not run[at][1] <= coater.after_unit < self.ends(run, at)

    def misses_foil(self, run: Run, at: int) -> bool:
        foils = [foil.after_unit for foil in self.press.foils]
        if not self.adhesive(self.plates[run[at][0]]) or not foils:
            return False
        return not any(run[at][1] <= foil < self.ends(run, at) for foil in foils)

    def broken_by_coating(self, last_unit: int, coater: Coater | None) -> Iterator[tuple[str, str]]:
        coating = self.request.coating
        if coating is None:
            return
        name = self.coating_name()
        if coater is None:
            yield "coater-takes", name
            return
        if coater.takes is not None and coating.kind is not None and coating.kind not in coater.takes:
            yield "coater-takes", name
        if not self.can_lay(coater, coating.area) or last_unit > coater.after_unit:
            yield "coater-lays", name
        wants = [
            plate
            for plate in self.plates
            if plate.side == "front"
            and not (plate.kind == "varnish" and plate.effect)
            and self.systems.coatings.get(self.system(plate) or "", {}).get(coating.kind or "") == "primer"
        ]
        primers = [
            each
            for each in self.press.coaters
            if each.number < coater.number and each.after_unit == coater.after_unit
            and (each.takes is None or "primer" in each.takes) and self.can_lay(each, "overall")
        ]  # fmt: skip
        if wants and not primers:
            yield "primer-first", name

    @staticmethod
    def can_lay(coater: Coater, area: str) -> bool:
        return coater.lays is None or area in coater.lays or (area == "plate" and "cut blanket" in coater.lays)

    # Wishes

    def cost(self, way: Way) -> int:
        weights = self.order.weights
        total = weights.lamp * len(way.lit)
        for at, (number, unit) in enumerate(way.run):
            total += self.cost_of_unit(self.plates[number], unit)
            for behind, _ in way.run[at + 1 :]:
                total += self.cost_of_pair(self.plates[number], self.plates[behind])
        for (one, unit), (other, unit_behind) in zip(way.run, way.run[1:], strict=False):
            lit = self.cured(self.plates[one], unit, unit_behind, way.lit)
            total += 0 if lit else self.cost_of_neighbours(self.plates[one], self.plates[other])
        return total + weights.double_hit_rule * self.double_hits(way)

    def cost_of_unit(self, plate: PlateToPlace, unit: int) -> int:
        before, weights = self.request.before, self.order.weights
        system = self.system(plate)
        lamps = [
            lamp.after_unit for lamp in self.press.lamps if lamp.where == "interdeck" and self.cures(system, lamp.kind)
        ]
        wet = self.request.coating is not None and not plate.effect and lamps and unit > max(lamps)
        total = weights.cure_before_coat if wet else 0
        ink = before.units[unit - 1] if before and unit <= len(before.units) else None
        if before and before.ink_system and system and not self.systems.run_together(before.ink_system, system):
            total += weights.wash_up.ink_system
            ink_system_changes = True
        else:
            ink_system_changes = False
        if before is None or ink is None:
            return total
        pictures = any(p.name == ink and p.kind == "process" and p.in_pictures for p in self.plates)
        total += weights.spot_out_of_process if pictures and plate.kind != "process" else 0
        if ink_system_changes:
            return total
        if ink == plate.name:
            return total
        if before.kinds.get(ink) == "metallic":
            return total + weights.wash_up.after_metallic
        if before.kinds.get(ink) == "white":
            return total + weights.wash_up.after_white
        was = before.darkness.get(ink, self.order.darkness.get(ink))
        now = self.order.darkness.get(plate.name) if plate.darkness is None else plate.darkness
        if was is None or now is None:
            return total + weights.wash_up.not_known
        return total + (weights.wash_up.dark_to_light if was > now else weights.wash_up.light_to_dark)

    def cost_of_pair(self, plate: PlateToPlace, behind: PlateToPlace) -> int:
        if plate.side != behind.side or plate.name == behind.name:
            return 0
        weights, chain = self.order.weights, list(self.order.chain)
        total = 0
        if plate.kind == behind.kind == "process" and plate.name in chain and behind.name in chain:
            total += weights.process_chain if chain.index(plate.name) > chain.index(behind.name) else 0
        if behind.kind == "metallic" and plate.kind in ("process", "spot") and self.school(behind) == "first":
            total += weights.metallic
        if plate.kind == "metallic" and behind.kind in ("process", "spot") and self.school(plate) == "last":
            total += weights.metallic
        return total

    def school(self, metallic: PlateToPlace) -> str:
        if self.order.metallic != "by overlap":
            return self.order.metallic
        return "first" if any(self.prints_on_metallic(metallic, other) for other in self.plates) else "last"

    def cost_of_neighbours(self, plate: PlateToPlace, behind: PlateToPlace) -> int:
        if plate.side != behind.side or plate.name == behind.name:
            return 0
        weights, total = self.order.weights, 0
        inks = plate.kind in INKS and behind.kind in INKS and not plate.kind == behind.kind == "process"
        if inks and (plate.cover - behind.cover) * 100 > self.order.lighter_by:
            total += weights.light_before_heavy
        heavy = plate.kind in INKS and plate.cover * 100 > self.order.heavy
        wishes = (heavy or plate.kind in self.order.cure_wished) and self.overlap(plate, behind) > 0
        if wishes or (behind.kind == "varnish" and behind.effect):
            total += weights.cure_between
        return total

    def double_hits(self, way: Way) -> int:
        """How many further plates are not where the plant's rule has them."""
        found = 0
        for at, (number, unit) in enumerate(way.run):
            plate = self.plates[number]
            earlier = [
                place
                for place, (each, _) in enumerate(way.run)
                if self.plates[each].name == plate.name and self.plates[each].hit < plate.hit
            ]
            if plate.hit == 1 or not earlier:
                continue
            lit = self.cured(plate, way.run[earlier[-1]][1], unit, way.lit)
            rule = self.order.double_hit
            next_to_it = earlier[-1] == at - 1
            kept = {"adjacent": next_to_it, "apart": not next_to_it, "lamp between": lit}[rule]
            found += not kept
        return found

    # Answers

    def cheapest(self) -> int | None:
        return min((self.cost(way) for way in self.ways() if not self.broken(way)), default=None)

    def fewest_demands(self) -> list[tuple[str, str]]:
        """The smallest set of demands that has one in common with what every way of printing breaks."""
        by_run: set[tuple[Set, ...]] = set()
        coaters = (self.press.coaters if self.request.coating else ()) or (None,)
        for run in self.runs(sharing=True):
            ways = [(self.by_coater(run, coater), relaxed) for coater in coaters for relaxed in self.relaxed(run)]
            for lit in self.lits():
                own = self.by_run(run, lit)
                by_run |= {(own, *way) for way in ways}
        breaks = {frozenset().union(*parts, self.by_system(each)) for parts in by_run for each in self.pass_systems()}
        least = [each for each in breaks if not any(other < each for other in breaks)]
        used = [demand for demand in self.known if any(demand in each for each in least)]
        for size in range(len(used) + 1):
            for chosen in combinations(used, size):
                if all(each & set(chosen) for each in least):
                    return list(chosen)
        raise AssertionError("an order breaks nothing")

    def relaxed(self, run: Run) -> Iterator[Set]:
        """Of plates that share a unit all but one have to do without one of their own, whichever."""
        on = [[self.plates[number].name for number, at in run if at == unit] for unit in {unit for _, unit in run}]
        for keeps in product(*(range(len(names)) for names in on)):
            yield frozenset(
                ("one-unit-each", name)
                for names, kept in zip(on, keeps, strict=True)
                for place, name in enumerate(names)
                if place != kept
            )
