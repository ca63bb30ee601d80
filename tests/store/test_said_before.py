"""What was said before: the newest word that holds, and whether anything was said of it since."""

from __future__ import annotations

import random

import pytest
from tests_support import NOW

from triage.store import actions
from triage.store.connection import Survey

SUBJECTS = ("time a", "place a", "time b", "state m")


def say(survey: Survey, digest: str, *subjects: str, stands: str = "x") -> int:
    action = actions.record(survey, "settle", "x", by="Ida", now=NOW)
    actions.add_statement(survey, digest, subjects, stands=stands, action=action)
    return action


@pytest.mark.parametrize("seed", range(4))
def test_what_was_said_since_is_what_later_actions_that_hold_share(empty: Survey, seed: int):
    draw = random.Random(seed)
    said: dict[int, tuple[str, set[str]]] = {}
    for _ in range(10):
        about = set(draw.sample(SUBJECTS, draw.randint(1, 2)))
        digest = draw.choice("pq")
        said[say(empty, digest, *about)] = (digest, about)
    gone = draw.sample(sorted(said), 3)
    for number in gone:
        actions.undo(empty, by="Ida", now=NOW, number=number)
    holds = [number for number in said if number not in gone]
    for number, (_, about) in said.items():
        later = [n for n in holds if n > number and said[n][1] & about]
        assert actions.spoken_of_since(empty, number) == bool(later)
        assert actions.subjects_of(empty, number) == sorted(about)
    for digest in "pq":
        mine = [number for number in holds if said[number][0] == digest]
        newest = actions.newest_statement(empty, digest)
        assert (newest[0] if newest else None) == max(mine, default=None)


def test_how_it_stood_is_kept_with_each_time_it_was_said(empty: Survey):
    say(empty, "d", "time a", stands="before")
    second = say(empty, "d", "time a", stands="after")
    assert actions.newest_statement(empty, "d") == (second, "after")
    actions.undo(empty, by="Ida", now=NOW)
    assert actions.newest_statement(empty, "d") == (second - 1, "before")
    assert actions.newest_statement(empty, "other") is None


def test_a_subject_named_twice_is_one(empty: Survey):
    assert actions.subjects_of(empty, say(empty, "d", "time a", "time a")) == ["time a"]
