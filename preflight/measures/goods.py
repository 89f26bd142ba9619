"""What the goods ask of the print: low migration, a clean press, one version of a medicine on a sheet."""

from __future__ import annotations

from typing import Annotated

from preflight.errors import NotMeasured
from preflight.findings import Reading, with_and
from preflight.inputs.fields import word
from preflight.inputs.ticket import Goods
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.registry import measure

GoodsKinds = tuple[Annotated[str, word("food", "medicine")], ...]
"""Lists of words under ``goods`` in rules/run.yaml."""


def _goods(job: Job, kinds: tuple[str, ...]) -> Goods | None:
    """What the ticket says of the goods, where they are of these kinds; None where they are not."""
    goods = needs.ticket(job, "goods").goods
    needs.said(goods.type, "goods: type")
    assert goods.type is not None
    return goods if _are(goods.type, kinds) else None


def _are(said: str, kinds: tuple[str, ...]) -> bool:
    """Whether goods are of these kinds; raises NotMeasured where no list of words has them."""
    from preflight.inputs.run_table import load_run_table  # most tickets name no goods

    known = load_run_table().goods.kinds_of(said)
    if not known:
        because = f"rules/run.yaml does not say what goods {said} are"
        raise NotMeasured(because, "a word in goods: type that its lists have, or this one added to them", "ticket")
    return not known.isdisjoint(kinds)


@measure(
    "inks-near-goods",
    unit="",
    rests_on=[],
    cases=("direct", "indirect", "behind a barrier"),
    words=("low-migration", "ordinary"),
    facts=("goods", "side"),
)
def inks_near_goods(job: Job, *, goods: GoodsKinds) -> list[Reading]:
    """Whether the set of inks on a food or medicine carton is low in migration.

    ``goods`` are the kinds that count, by the words of rules/run.yaml. Case ``direct``: print on the side that touches
    the goods; ``indirect``: nothing is between but board and air; ``behind a barrier``: nothing gets through, or
    nothing touches.
    """
    told = _goods(job, goods)
    if told is None:
        return []
    case = _way_to_goods(told)
    if case != "behind a barrier":
        needs.said(told.low_migration, "goods: low_migration")
    value = "low-migration" if told.low_migration else "ordinary"
    side = "inside" if case == "direct" else told.printed_side or "outside"  # what is on both sides touches with one
    return [Reading(value, known="stated", case=case, facts={"goods": str(told.type), "side": side})]


def _way_to_goods(goods: Goods) -> str:
    """How goods meet the print; raises NotMeasured where the ticket does not say."""
    if goods.contact == "direct" and goods.printed_side in ("inside", "both"):
        return "direct"
    if goods.barrier or goods.contact == "none":
        return "behind a barrier"
    needs.said(goods.contact, "goods: contact")
    return "indirect"


@measure("line-clearances-missing", unit="clearances", rests_on=[], facts=("goods", "before"))
def line_clearances_missing(job: Job, *, goods: GoodsKinds) -> list[Reading]:
    """Line clearances that a food or medicine carton lacks after a job for other goods.

    Raises:
        NotMeasured: nobody says what was on the press, or somebody has signed: paper shows no clean rollers.
    """
    told = _goods(job, goods)
    if told is None:
        return []
    if job.before is None or job.before.goods is None:
        raise NotMeasured("what was printed before is not known", "the job before, with goods: type", "ticket")
    if _are(job.before.goods, goods):
        return []
    if told.line_clearance:
        because = f"{told.line_clearance} has signed the line clearance; the press itself cannot be seen from here"
        raise NotMeasured(because, "a look at ducts, rollers and blankets", "ticket")
    return [Reading(1.0, "clearances", known="stated", facts={"goods": str(told.type), "before": job.before.goods})]


@measure("versions-on-sheet", unit="versions", rests_on=[], facts=("goods", "versions"))
def versions_on_sheet(job: Job, *, goods: GoodsKinds) -> list[Reading]:
    """Versions of a medicine that the ticket puts on one sheet, where nobody in quality has agreed to it."""
    ticket = needs.ticket(job, "goods")
    told = _goods(job, goods)
    versions = list(dict.fromkeys([*(e.version for e in ticket.artwork_list if e.version), *ticket.quantities]))
    if told is None or told.versions_agreed or not versions:
        return []
    facts = {"goods": str(told.type), "versions": with_and(versions)}
    return [Reading(float(len(versions)), "versions", known="stated", facts=facts)]
