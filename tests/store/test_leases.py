"""A sighting is in one browser's hands at a time, and not for ever."""

from __future__ import annotations

from datetime import timedelta

from tests_support import NOW

from triage.store import queue_order
from triage.store.connection import Survey

SOON = NOW + timedelta(minutes=10)


def test_the_second_browser_does_not_get_it(empty: Survey):
    assert queue_order.take(empty, "s", "one", now=NOW, until=SOON)
    assert not queue_order.take(empty, "s", "two", now=NOW, until=SOON)
    assert queue_order.held_by_others(empty, "two", now=NOW) == {"s"}
    assert queue_order.held_by_others(empty, "one", now=NOW) == set()


def test_the_holder_may_hold_it_longer(empty: Survey):
    queue_order.take(empty, "s", "one", now=NOW, until=SOON)
    later = SOON + timedelta(minutes=10)
    assert queue_order.take(empty, "s", "one", now=NOW, until=later)
    assert not queue_order.take(empty, "s", "two", now=SOON, until=later)


def test_a_lease_ends_by_itself(empty: Survey):
    queue_order.take(empty, "s", "one", now=NOW, until=SOON)
    assert queue_order.held_by_others(empty, "two", now=SOON) == set()
    assert queue_order.take(empty, "s", "two", now=SOON, until=SOON + timedelta(minutes=10))


def test_a_browser_lets_go_of_all_but_what_it_keeps(empty: Survey):
    for sighting in "abc":
        queue_order.take(empty, sighting, "one", now=NOW, until=SOON)
    queue_order.let_go(empty, "one", keep=frozenset("b"))
    assert queue_order.held_by_others(empty, "two", now=NOW) == {"b"}
