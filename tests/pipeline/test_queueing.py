"""The kept order of the queue: pages of it, and that it is what a whole new ordering would give."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest
from tests_support import NOW

from triage.determinations import Statement
from triage.pipeline import correct, determine, edit, queueing, standing, undo
from triage.review_queue import QueueRules, Waiting, rank
from triage.store import derived_rules, queue_order
from triage.store.connection import Survey


def order(survey: Survey) -> list[tuple[str, str]]:
    return [(one.sighting.identifier, one.entry.turn) for one in queueing.queue(survey, now=NOW)]


def ordered_anew(survey: Survey) -> list[tuple[str, str]]:
    """As the pure function orders all that waits, from everything loaded."""
    stands = standing.standing(survey)
    rows = queueing.photos.load(survey)
    waiting: list[Waiting] = [
        queueing._waiting(row, stands.accepted[sighting], rows, NOW)
        for sighting, row in stands.rows.items()
        if stands.accepted[sighting].state in ("queued", "second opinion")
    ]
    rules = QueueRules(**survey.settings.queue.model_dump())
    return [
        (entry.sighting, entry.turn)
        for entry in rank(waiting, rules, done=queue_order.looks_done(survey))
    ]


def test_the_kept_order_is_that_of_everything_loaded(survey: Survey):
    assert order(survey) == ordered_anew(survey)
    assert order(survey)


@pytest.mark.parametrize("seed", range(3))
def test_after_any_actions_the_kept_order_is_still_that_of_everything(survey: Survey, seed: int):
    draw = random.Random(seed)
    for number in range(8):
        one = draw.choice(standing.sightings(survey))
        who = draw.choice(["Ida", "Bo"])
        at = NOW + timedelta(minutes=number)
        kind = draw.randrange(6)
        if kind == 0:
            said = Statement(cannot_tell=f"far {number}", second_opinion=draw.random() < 0.5)
            determine.determine(survey, one.identifier, said, by=who, now=at, new=True)
        elif kind == 1:
            edit.set_aside(survey, one.identifier, "drawn", by=who, now=at)
        elif kind == 2:
            view = draw.choice(["dorsal", "lateral", "other"])
            correct.correct(survey, one.photos[0], field="view", value=view, by=who, now=at)
        elif kind == 3 and len(one.photos) > 1:
            edit.split(survey, one.identifier, [one.photos[0]], by=who, now=at)
        elif kind == 4:
            edit.add_animal(survey, one.photos[0], by=who, now=at)
        elif undo.actions.newest_of(survey, who):
            undo.undo(survey, by=who, now=at)
        assert order(survey) == ordered_anew(survey)


def test_every_determination_brings_the_turn_of_the_longest_waiting_nearer(survey: Survey):
    every = survey.settings.queue.reserved_every
    turns = []
    for number in range(2 * every):
        first = queueing.queue(survey, now=NOW, limit=1)
        if not first:
            break
        turns.append(first[0].entry.turn)
        said = Statement(cannot_tell="far")
        at = NOW + timedelta(minutes=number)
        determine.determine(survey, first[0].sighting.identifier, said, by="Ida", now=at, new=True)
    assert turns[every - 1] == "longest waiting"
    assert turns[: every - 1] == ["best"] * (every - 1)


def test_the_order_is_the_same_at_any_moment(survey: Survey):
    first = [one.sighting.identifier for one in queueing.queue(survey, now=NOW)]
    later = queueing.queue(survey, now=NOW + timedelta(days=400))
    assert [one.sighting.identifier for one in later] == first


@pytest.mark.parametrize("length", [1, 2, 3, 100])
def test_pages_put_together_are_the_queue(survey: Survey, length: int):
    whole = queueing.queue(survey, now=NOW)
    pages = [
        one
        for offset in range(0, len(whole), length)
        for one in queueing.queue(survey, now=NOW, offset=offset, limit=length)
    ]
    assert pages == whole
    assert queueing.count_waiting(survey, now=NOW) == len(whole)


def test_who_has_had_a_sighting_is_not_shown_it_again(survey: Survey):
    first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    asked = Statement(cannot_tell="far", second_opinion=True)
    determine.determine(survey, first, asked, by="Ida", now=NOW, new=True)
    total = queueing.count_waiting(survey, now=NOW)
    assert queueing.count_waiting(survey, now=NOW, for_determiner="Ida") == total - 1
    assert first not in [
        one.sighting.identifier for one in queueing.queue(survey, now=NOW, for_determiner="ida")
    ]


def test_a_determination_places_only_its_sighting_anew(survey: Survey):
    first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    determine.determine(survey, first, Statement(cannot_tell="far"), by="Ida", now=NOW, new=True)
    assert derived_rules.due(survey, "queue_order") == [first]
    queueing.bring_up_to_date(survey, now=NOW)
    assert derived_rules.due(survey, "queue_order") == []


def test_looking_at_a_page_asks_no_more_of_a_longer_queue(survey: Survey):
    queueing.queue(survey, now=NOW)
    counts = []
    for limit in (1, 3):
        asked: list[str] = []
        survey.connection.set_trace_callback(asked.append)
        queueing.queue(survey, now=NOW, limit=limit)
        survey.connection.set_trace_callback(None)
        counts.append(len(asked))
    assert counts[0] == counts[1]
