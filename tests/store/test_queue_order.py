"""The lines of the queue: in the order of what was kept, without what a person has had."""

from __future__ import annotations

import random

import pytest
import records_made as made
from tests_support import NOW

from triage.determinations import Determination
from triage.store import actions, derived_rules, determinations, people, queue_order
from triage.store.connection import Survey
from triage.store.queue_order import Kept

PEOPLE = (1, 2, 3)


def some(seed: int, count: int = 12) -> list[Kept]:
    draw = random.Random(seed)
    return [
        Kept(
            sighting=f"s{number:02d}",
            observer=draw.choice("abc"),
            value=draw.choice([0.1, 0.5, 0.9]),
            since=draw.choice([10.0, 20.0, 30.0]),
            had=tuple(draw.sample(PEOPLE, draw.randint(0, 2))),
        )
        for number in range(count)
    ]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("person", [None, *PEOPLE])
def test_a_line_is_all_that_a_person_has_not_had_in_its_order(empty: Survey, seed: int, person):
    kept = some(seed)
    derived_rules.replace(empty, "queue_order", [], kept)
    left = [one for one in kept if person not in one.had]
    best = sorted(left, key=lambda one: (-one.value, one.sighting))
    longest = sorted(left, key=lambda one: (one.since, one.sighting))
    found = list(queue_order.in_line(empty, "value desc, sighting", person=person))
    assert found == [(one.sighting, one.observer) for one in best]
    found = list(queue_order.in_line(empty, "since, sighting", person=person))
    assert found == [(one.sighting, one.observer) for one in longest]
    assert queue_order.count(empty, person=person) == len(left)


@pytest.mark.parametrize("seed", range(3))
def test_what_is_placed_anew_stands_for_what_was_kept_of_it(empty: Survey, seed: int):
    before, after = some(seed), {one.sighting: one for one in some(seed + 9)}
    derived_rules.replace(empty, "queue_order", [], before)
    placed = [one.sighting for one in before[::2]]
    waits = [after[one] for one in placed[::2]]
    derived_rules.make_due(empty, "queue_order", placed)
    derived_rules.replace(empty, "queue_order", placed, waits)
    wanted = {one.sighting: one for one in before[1::2]} | {one.sighting: one for one in waits}
    assert dict(queue_order.in_line(empty, "value desc, sighting", person=None)) == {
        name: one.observer for name, one in wanted.items()
    }
    for name in placed:
        assert queue_order.holds(empty, name) == (name in wanted)
    assert empty.connection.execute("select count(*) from queue_due").fetchone()[0] == 0


def test_looks_are_counted_while_their_action_holds(empty: Survey):
    made.sighting(empty, "s", made.photo(empty, 1))
    person = people.add(empty, "Ida Kvist")
    for number in range(3):
        action = actions.record(empty, "determine", "x", by="Ida", now=NOW)
        said: Determination = made.determination(f"s-{number}", sighting="s", photos=("a",))
        determinations.add(empty, said, person=person, action=action)
        assert queue_order.looks_done(empty) == number + 1
    actions.undo(empty, by="Ida", now=NOW)
    assert queue_order.looks_done(empty) == 2
