"""The order of the queue: laws of its formula (docs/queue.md), our own, no outside source."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime
from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pictures_made import MEASURED

from triage.quality import Measurement
from triage.review_queue import QueueRules, Waiting, days_waiting, in_turn, rank, value_of

RULES = QueueRules()


Photo = tuple[str, Measurement]


def photo(name: str, usability: float, view: str = "dorsal") -> Photo:
    return name, replace(MEASURED, view=view, usability=usability)  # type: ignore[arg-type]


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


@pytest.mark.parametrize(
    ("photos", "value"),
    [
        ([], 0.0),
        ([photo("a", 0.6)], 0.6),
        ([photo("a", 0.6), photo("b", 0.6)], 0.6),
        ([photo("a", 0.6), photo("b", 0.4, "lateral")], 0.6 + 0.4 * 0.5 * 0.4),
        ([photo("a", 0.4), photo("b", 0.6, "lateral")], 0.6 + 0.4 * 0.5 * 0.4),
        ([photo("a", 0.6), photo("b", 0.4, "oblique")], 0.6),
        ([photo("a", 0.2), photo("b", 0.6), photo("c", 0.4, "lateral")], 0.6 + 0.4 * 0.5 * 0.4),
    ],
)
def test_the_value_is_the_formula_of_the_docs(photos: list[Photo], value: float):
    """docs/queue.md: best + (1 - best) x g x min(dorsal, lateral), g = 0.5; worked out by hand."""
    assert value_of([measured for _, measured in photos], RULES) == pytest.approx(value)


def test_the_second_view_never_adds_more_than_what_the_best_leaves_open():
    both = [measured for _, measured in (photo("a", 0.5), photo("b", 0.5, "lateral"))]
    assert value_of(both, QueueRules(both_views_gain=9.0)) == pytest.approx(0.5 + 0.5 * 0.5)


def test_sightings_of_unknown_observers_share_no_quarter():
    """Each stands for itself: nobody knows that one person sent them all."""
    unknown = [Waiting(sighting=f"s{n}", observer="", days=0.0, photos={}) for n in range(9)]
    rules = QueueRules(sitting=8, reserved_every=100, sender_share=0.25)
    line = [one.sighting for one in rank(unknown, rules)]
    assert line == sorted(line)
    known = [replace(one, observer="ida") for one in unknown[:6]]
    mixed = [one.sighting for one in rank([*known, *unknown[6:]], rules)]
    assert mixed[:5] == ["s0", "s1", "s6", "s7", "s8"]


def test_an_entry_names_the_best_photo_of_each_view_and_says_why_it_stands_there():
    one = Waiting(
        sighting="s",
        observer="ida",
        days=3.4,
        photos=dict([photo("a", 0.5), photo("b", 0.8), photo("c", 0.6, "lateral")]),
        note="a second look is wanted",
    )
    (entry,) = rank([one], RULES)
    assert (entry.best_dorsal, entry.best_lateral, entry.best) == ("b", "c", "b")
    assert entry.score == pytest.approx(0.8 + 0.2 * 0.5 * 0.6)
    assert entry.reasons == (
        "waiting 3 days",
        "back and side seen (weaker one 0.60)",
        "best photo 0.80",
        "a second look is wanted",
    )
    (turned,) = rank([one], QueueRules(reserved_every=2), done=1)
    assert turned.reasons[0] == "its turn as the longest waiting (3 days)"


def test_sharp_outranks_blurred():
    assert order(waiting("blurred", photo("a", 0.2)), waiting("sharp", photo("b", 0.9))) == [
        "sharp",
        "blurred",
    ]


def line(*names: str) -> list[tuple[str, str]]:
    return [(name, name.partition("-")[0]) for name in names]


lines = st.lists(st.tuples(st.integers(0, 4), st.integers(0, 9)), max_size=40).map(
    lambda found: [(f"s{n}", f"o{sender}") for n, (sender, _) in enumerate(found)]
)
some_rules = st.builds(
    QueueRules,
    sitting=st.integers(1, 12),
    reserved_every=st.integers(2, 6),
    sender_share=st.floats(0.05, 1.0),
)


@given(lines, st.randoms(use_true_random=False), some_rules, st.integers(0, 30))
def test_everybody_who_waits_has_one_turn(best, random_, rules, done):
    longest = random_.sample(best, len(best))
    found = [name for name, _ in in_turn(best, longest, rules, done=done)]
    assert sorted(found) == sorted(name for name, _ in best)


@given(lines, st.randoms(use_true_random=False), some_rules, st.integers(0, 30))
def test_the_nth_longest_waiting_is_looked_at_by_its_nth_reserved_look(best, random_, rules, done):
    longest = random_.sample(best, len(best))
    found = [name for name, _ in in_turn(best, longest, rules, done=done)]
    for number, (name, _) in enumerate(longest, 1):
        assert found.index(name) + 1 <= number * rules.reserved_every


@given(lines, st.randoms(use_true_random=False), some_rules)
def test_no_sender_fills_a_sitting_while_anybody_else_waits(best, random_, rules):
    longest = random_.sample(best, len(best))
    most = max(1, round(rules.sender_share * rules.sitting))
    sender_of = dict(best)
    turns = list(in_turn(best, longest, rules))
    for start in range(0, len(turns), rules.sitting):
        had: Counter[str] = Counter()
        for at, (name, turn) in enumerate(turns[start : start + rules.sitting], start):
            if turn == "longest waiting":
                continue
            if had[sender_of[name]] >= most:
                rest = {sender_of[other] for other, _ in turns[at:]}
                assert all(had[sender] >= most for sender in rest)
            had[sender_of[name]] += 1


@given(lines, some_rules)
def test_the_best_of_a_sender_comes_before_the_sender_s_others(best, rules):
    turns = [(name, turn) for name, turn in in_turn(best, best, rules)]
    senders = dict(best)
    for sender in set(senders.values()):
        own = [name for name, _ in turns if senders[name] == sender]
        assert own == [name for name, _ in best if senders[name] == sender]


def test_the_lines_are_read_no_further_than_the_page():
    read: list[str] = []

    def long_line():
        for number in range(100_000):
            read.append(f"s{number}")
            yield f"s{number}", f"o{number}"

    assert len(list(islice(in_turn(long_line(), iter(()), RULES), 8))) == 8
    assert len(read) <= 9


def test_best_first_with_every_fourth_look_for_the_longest_waiting():
    best = line(*(f"{letter}-1" for letter in "abcdefgh"))
    found = list(in_turn(best, best[::-1], RULES))
    assert [name for name, _ in found] == [f"{letter}-1" for letter in "abchdefg"]
    assert [turn for _, turn in found].count("longest waiting") == 2


def test_a_prolific_sender_stands_aside_when_the_sitting_is_full_of_theirs():
    rules = QueueRules(sitting=4, reserved_every=100, sender_share=0.5)
    best = line("x-1", "x-2", "x-3", "x-4", "y-1", "z-1")
    found = [name for name, _ in in_turn(best, best, rules)]
    assert found == ["x-1", "x-2", "y-1", "z-1", "x-3", "x-4"]


def test_a_crisp_photo_of_a_prolific_sender_is_not_held_back_for_a_poor_one_forever():
    many = [waiting(f"many{i:02}", photo(f"m{i}", 0.9), observer="prolific") for i in range(10)]
    few = [waiting(f"few{i:02}", photo(f"f{i}", 0.1), observer=f"s{i}") for i in range(60)]
    found = order(*many, *few)
    assert [name[:4] for name in found[:3]] == ["many"] * 3
    assert max(found.index(one.sighting) for one in many) < 2 * RULES.sitting


def test_what_stands_behind_a_worse_one_for_its_sender_says_so():
    rules = QueueRules(sitting=8, sender_share=0.25, reserved_every=1000)
    many = [
        waiting(f"many{i}", photo(f"m{i}", 0.9 - i / 100), observer="prolific") for i in range(4)
    ]
    few = [waiting(f"few{i}", photo(f"f{i}", 0.5 - i / 100), observer=f"s{i}") for i in range(7)]
    said = "others came first: its sender had had a full share of the sitting"
    entries = rank([*many, *few], rules)
    assert [one.sighting for one in entries][:3] == ["many0", "many1", "few0"]
    assert {one.sighting for one in entries if said in one.reasons} == {"many2", "many3"}
    assert {one.sighting for one in entries if one.turn == "stood aside"} == {"many2", "many3"}


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 2)), max_size=14), st.integers(2, 6))
def test_nobody_stood_aside_but_behind_a_worse_one(values: list[tuple[float, int]], sitting: int):
    rules = QueueRules(sitting=sitting, reserved_every=1000)
    entries = rank(
        [
            waiting(f"s{i:02}", photo(f"p{i}", u / 10), observer=f"o{o}")
            for i, (u, o) in enumerate(values)
        ],
        rules,
    )
    for place, one in enumerate(entries):
        best_first = (-one.score, one.sighting)
        overtaken = any((-other.score, other.sighting) > best_first for other in entries[:place])
        assert (one.turn == "stood aside") is overtaken


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
    assert entry.reasons[:2] == ("waiting 3 days", "back and side seen (weaker one 0.60)")
    assert "best photo 0.80" in entry.reasons
    assert (entry.best_dorsal, entry.best_lateral, entry.best) == ("a", "b", "a")


def test_the_reasons_are_those_of_the_best_photo_and_no_view_it_does_not_show():
    name, measured = photo("face", 0.4, "anterior")
    face = replace(measured, reasons=("seen from the front (90%)",))
    back = photo("back", 0.1)
    entry = rank([waiting("s", (name, face), back)], RULES)[0]
    assert "seen from the front (90%)" in entry.reasons
    assert not any("back" in reason for reason in entry.reasons)


def test_who_has_waited_longest_is_told_that_it_is_its_turn():
    rules = QueueRules(reserved_every=2)
    entries = [waiting("a", photo("p", 0.9)), waiting("b", photo("q", 0.2), days=41.0)]
    assert rank(entries, rules)[1].reasons[0] == "its turn as the longest waiting (41 days)"
    assert rank(entries, rules, done=1)[0].sighting == "b"


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_second_view_never_takes_away(back: float, side: float):
    one, two = photo("a", back), photo("b", side, "lateral")
    alone = max(back, side)
    assert alone - 1e-12 <= value_of([one[1], two[1]], RULES) <= 1.0


def test_a_sighting_without_photos_has_no_value():
    assert value_of([], RULES) == 0.0
