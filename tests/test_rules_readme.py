"""rules/README.md: its examples load, and it has every key that may be written."""

import re

import pytest

from preflight import kinds
from preflight.inputs import drying_table, key_curves_table, press, run_table, ticket
from preflight.inputs.fields import ClosedKeys
from preflight.inputs.loading import load_yaml, rules_dir
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.inputs.yaml_table import build
from preflight.judging.catalogue import RowKeys, SectionKeys
from preflight.judging.rule_keys import CaseKeys, RuleKeys

TEXT = (rules_dir() / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"```yaml\n(.*?)```", TEXT, re.DOTALL)


def parts_of(module):
    return [kind for kind in vars(module).values() if isinstance(kind, type) and issubclass(kind, ClosedKeys)]


@pytest.mark.parametrize(
    ("block", "model"),
    [(0, tuple[RuleKeys, ...]), (1, tuple[RuleKeys, ...]), (2, Press), (3, Ticket), (4, tuple[SectionKeys, ...])],
    ids=["rule", "layer", "press", "ticket", "catalogue"],
)
def test_examples_load(tmp_path, block, model):
    path = tmp_path / "example.yaml"
    path.write_text(BLOCKS[block], "utf-8")
    read, faults = build(model, load_yaml(path))
    assert read is not None
    assert faults == []
    assert len(BLOCKS) == 5


def test_every_key_is_there():
    parts = {
        *parts_of(press),
        *parts_of(ticket),
        *parts_of(run_table),
        *parts_of(drying_table),
        *parts_of(key_curves_table),
        RuleKeys,
        CaseKeys,
        SectionKeys,
        RowKeys,
    }
    keys = {info.alias or name for part in parts for name, info in part.model_fields.items()}
    assert {key for key in keys if not re.search(rf"(?<![\w-]){key}(?![\w-])", TEXT)} == set()


def test_every_word_of_the_closed_lists_is_there():
    words = {*kinds.KINDS, *kinds.INK_SYSTEMS, *kinds.COATINGS, *kinds.DRYERS, *press.LAYS, *ticket.SURFACES}
    assert {word for word in words if word not in TEXT} == set()
