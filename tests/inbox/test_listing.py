"""The list of messages in windows: piles in their order, portions of which the list is made."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.inbox.listing import Heap, Listed, grouped, in_piles, pile_with, window


def heap(need: str, name: str, count: int = 1, *, state: str = "open", sender: int = 1) -> Heap:
    return Heap(
        state=state, need=need, sender=sender, sender_name=name, sender_address="", count=count
    )


def listed(name: str) -> Listed:
    return Listed(
        identifier=name,
        subject="",
        sender_name="",
        sender_address="",
        sent_at="",
        state="open",
        state_reason="",
    )


def test_the_worst_need_comes_first_then_names_and_the_asked_last():
    given_so = [
        heap("place", "Bo", state="waiting"),
        heap("a word of an older version", "Al"),
        heap("date", "bo"),
        heap("date", "Al"),
        heap("place", "Zoe"),
        heap("date", "AL", sender=2),
    ]
    piles = [[(one.need, one.sender_name) for one in pile] for pile in in_piles(given_so)]
    assert piles == [
        [("place", "Zoe")],
        [("date", "Al"), ("date", "AL")],
        [("date", "bo")],
        [("a word of an older version", "Al")],
        [("place", "Bo")],
    ]


def test_a_heap_is_found_in_its_pile_with_what_comes_before():
    piles = in_piles([heap("place", "Al", 3), heap("date", "Bo", 4, sender=2)])
    assert pile_with(piles, ("open", "date", 2)) == (piles[1], 3)
    assert pile_with(piles, ("open", "date", 9)) == ((), 0)
    assert pile_with(piles, None) == ((), 0)


@pytest.mark.parametrize(
    ("place", "most", "shown"),
    [
        (0, None, [(0, 4), (0, 5)]),
        (0, 3, [(0, 3)]),
        (5, 3, [(0, 0), (0, 3)]),
        (4, 6, [(2, 2), (0, 4)]),
        (8, 3, [(0, 0), (2, 3)]),
        (0, 20, [(0, 4), (0, 5)]),
    ],
)
def test_a_window_has_a_third_before_its_place(place: int, most: int | None, shown):
    piles = in_piles([heap("place", "Al", 4), heap("date", "Bo", 5)])
    found = {id(one.pile): (one.offset, one.count) for one in window(piles, place=place, most=most)}
    assert [found.get(id(pile), (0, 0)) for pile in piles[: len(shown)]] == shown


@given(st.lists(st.integers(1, 6), min_size=1, max_size=6), st.integers(0, 40), st.integers(1, 12))
def test_a_window_holds_its_place_and_no_more_than_asked(counts, place, most):
    piles = [[heap("date", f"{n:02d}", count, sender=n)] for n, count in enumerate(counts)]
    total = sum(counts)
    place = min(place, total - 1)
    starts = [sum(counts[:n]) for n in range(len(counts))]
    held = [
        starts[piles.index(one.pile)] + one.offset + step
        for one in window(piles, place=place, most=most)
        for step in range(one.count)
    ]
    assert held == list(range(held[0], held[0] + min(most, total)))
    assert place in held


def test_a_group_counts_all_its_messages_and_shows_those_that_were_read():
    piles = in_piles([heap("date", "Al", 2), heap("date", "", 5, sender=2), heap("link", "Bo")])
    read = [(one, [listed("m")]) for one in window(piles, place=0, most=6)]
    groups = grouped(piles, read)
    assert [(g.need, g.count, [s.name for s in g.senders]) for g in groups] == [
        ("date", 7, ["no sender", "Al"])
    ]
