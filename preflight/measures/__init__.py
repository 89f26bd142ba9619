"""The registry of measures. Modules are listed by name at the end, so a reader sees what runs.

A measure is a function of the job that returns readings::

    @measure("ink-past-cut", unit="mm", tolerance=0.1, cases=("slot",), facts=("separations", "where"))
    def ink_past_cut(job: Job, *, ink_from: float) -> list[Reading]:
        \"\"\"How far ink carries on past each stretch of cut line that it touches, in mm.\"\"\"

It declares the unit of its readings, the cases and facts that they may have and, where they are words, the list of
them: rules are held against that when they are loaded, and readings in the tests. Keyword parameters are given by the
rule's ``with:`` and typed by their annotation; of many a ``record`` is made, a frozen dataclass.

An empty list means: looked, and there is nothing of the kind. What was not looked at is said together with what was
found, ``Measured(readings, gaps)``; a measure that can say nothing at all raises ``NotMeasured``.
"""

from __future__ import annotations

from preflight.job import Job
from preflight.measures.registry import MEASURES, FromRules, Kinds, Measure, Zone, declared, measure

__all__ = ["MEASURES", "FromRules", "Job", "Kinds", "Measure", "Zone", "declared", "measure"]

# The measures: one module a topic, called as its file of rules is where that has one module (but for
# printed_annotations: ``annotations`` is taken by the import above); each is proved both ways
# in tests/test_house_rules.py.
from preflight.measures import (  # noqa: F401
    areas,
    blending,
    clear_areas,
    creases,
    die_knocking_out,
    die_layers,
    die_lines,
    files,
    finishes,
    fonts,
    goods,
    grain,
    gutters,
    ink_keys,
    ink_total,
    layers,
    live_matter,
    metallics,
    neighbours,
    one_up,
    overprint,
    pages,
    passes,
    pictures,
    plate_pages,
    press_fit,
    printed_annotations,
    screened,
    separations,
    sheet,
    sheet_cells,
    sheet_layout,
    sheet_marks,
    sheet_sides,
    sheet_waste,
    spot_definitions,
    standing_die,
    ticket_statements,
    type_and_line,
    unit_sequence,
    units,
)
from preflight.measures.bleed import ink_past_cut  # noqa: F401
