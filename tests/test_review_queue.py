"""The order of the queue: laws of its formula (docs/queue.md), our own, no outside source."""

from __future__ import annotations

import random
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.quality import Measurement
from triage.review_queue import QueueRules, Waiting, days_waiting, rank, value_of

RULES = QueueRules()


Photo = tuple[str, Measurement]


def photo(name: str, usability: float, view: str = "dorsal") -> Photo:
    measured = Measurement(
        method="made",
        odonate=0.9,
        suborder="anisoptera",
        suborder_probability=0.9,
        box=(0.2, 0.2, 0.8, 0.8),
        view=view,  # type: ignore[arg-type]
        p_dorsal=0.2,
        p_lateral=0.2,
        p_anterior=0.2,
        p_oblique=0.2,
        p_other=0.2,
        focus=0.5,
        exposure=0.5,
        insect_px=300.0,
        usability=usability,
    )
    return name, measured


def waiting(name: str, *photos: Photo, observer: str = "", days: float = 0.0) -> Waiting:
    return Waiting(sighting=name, observer=observer or name, days=days, photos=dict(photos))


@pytest.mark.parametrize(
    ("received", "days"),
    [
        ("2026-06-14T12:00:00+00:00", 1.0),
        ("2026-06-14T14:00:00+02:00", 1.0),
        ("2026-06-15", 0.5),
        ("2026-06-14/2026-06-16", 1.5),
        ("2026-06-16T00:00:00+00:00", 0.0),
        ("", 0.0),
    ],
)
def test_days_are_counted_from_the_first_moment_known(received, days):
    assert days_waiting(received, datetime(2026, 6, 15, 12, tzinfo=UTC)) == days


def order(*entries: Waiting, rules: QueueRules = RULES) -> list[str]:
    return [entry.sighting for entry in rank(entries, rules)]


def test_a_good_photo_of_each_view_outranks_two_of_one_view():
    pair = waiting("pair", photo("a", 0.8), photo("b", 0.8, "lateral"))
    same = waiting("same", photo("c", 0.8), photo("d", 0.8))
    assert order(same, pair) == ["pair", "same"]


def test_sharp_outranks_blurred():
    assert order(waiting("blurred", photo("a", 0.2)), waiting("sharp", photo("b", 0.9))) == [
        "sharp",
        "blurred",
    ]


def test_old_entries_rise_above_the_best_new_one():
    perfect = waiting("new", photo("a", 1.0), photo("b", 1.0, "lateral"))
    poor = waiting("old", photo("c", 0.0), days=RULES.days_to_rise + 1)
    assert order(perfect, poor) == ["old", "new"]


def test_one_sender_cannot_fill_the_top():
    many = [waiting(f"many{i}", photo(f"m{i}", 0.9), observer="prolific") for i in range(10)]
    few = [waiting(f"few{i}", photo(f"f{i}", 0.7), observer=f"s{i}") for i in range(3)]
    top = order(*many, *few)[:5]
    assert sum(name.startswith("few") for name in top) == 3


def test_a_damped_entry_still_rises_with_time():
    rules = QueueRules(same_sender_damping=10.0)
    many = [
        waiting(f"m{i}", photo(f"p{i}", 0.9), observer="x", days=RULES.days_to_rise * 1.5)
        for i in range(5)
    ]
    assert order(waiting("new", photo("n", 1.0)), *many, rules=rules)[-1] == "new"


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 100), st.integers(0, 3)), max_size=12))
def test_the_input_order_changes_nothing(values: list[tuple[float, float, int]]):
    entries = [
        waiting(f"s{i}", photo(f"p{i}", u), observer=f"o{o}", days=d)
        for i, (u, d, o) in enumerate(values)
    ]
    shuffled = entries[:]
    random.Random(3).shuffle(shuffled)
    assert rank(entries, RULES) == rank(shuffled, RULES)


@given(st.lists(st.floats(0, 1), max_size=6))
def test_the_value_lies_between_0_and_1(usabilities: list[float]):
    views = ["dorsal", "lateral", "oblique"]
    shown = [photo(f"p{i}", u, views[i % 3]) for i, u in enumerate(usabilities)]
    assert 0.0 <= value_of([measured for _, measured in shown], RULES) <= 1.0


def test_the_reasons_name_views_numbers_and_waiting():
    entry = rank([waiting("s", photo("a", 0.8), photo("b", 0.6, "lateral"), days=3)], RULES)[0]
    assert entry.reasons[0] == "back and side seen (weaker one 0.60)"
    assert "waiting 3 days" in entry.reasons
    assert (entry.best_dorsal, entry.best_lateral, entry.best) == ("a", "b", "a")


def test_a_sighting_without_photos_has_no_value():
    assert value_of([], RULES) == 0.0
