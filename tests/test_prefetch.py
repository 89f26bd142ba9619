"""Items made ahead: the same, in order, one at a time ahead, with their faults, and with no thread left behind."""

import threading

import pytest

from preflight.artwork.pdf.structure.prefetch import made_ahead


def test_the_items_come_in_order_and_none_is_lost():
    assert list(made_ahead(iter(range(50)))) == list(range(50))
    assert list(made_ahead(iter([]))) == []
    assert list(made_ahead(iter([None, 0, False]))) == [None, 0, False]


def test_no_more_than_one_is_made_ahead():
    made = []

    def items():
        for number in range(5):
            made.append(number)
            yield number

    for number in made_ahead(items()):
        assert len(made) <= number + 2


def test_a_fault_is_raised_where_its_item_is_asked_for():
    def items():
        yield 1
        raise ValueError("broken")

    coming = made_ahead(items())
    assert next(coming) == 1
    with pytest.raises(ValueError, match="broken"):
        next(coming)


def test_no_thread_is_left_when_nobody_asks_on():
    before = threading.active_count()
    coming = made_ahead(iter(range(50)))
    assert next(coming) == 0
    coming.close()
    assert threading.active_count() == before
