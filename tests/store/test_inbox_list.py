"""The list of unsettled messages: counted whole, read in pieces, the same however it is read."""

from __future__ import annotations

import random

import pytest
import records_made as made

from triage.inbox.listing import Heap, Listed
from triage.store import messages, people
from triage.store.connection import Survey

STATES = ("", "open", "waiting", "settled", "set aside")
REASONS = ("place", "place, date", "clock, place", "")


@pytest.fixture(params=range(4))
def full(request: pytest.FixtureRequest, empty: Survey) -> Survey:
    """Forty messages of four senders and of nobody, in any state."""
    draw = random.Random(request.param)
    senders = [None, *(people.by_address(empty, f"{n}@example.org", name=n) for n in "abc")]
    senders.append(people.by_address(empty, "nameless@example.org"))
    for number in range(40):
        made.message(
            empty,
            number,
            sender_id=draw.choice(senders),
            sent_at=draw.choice([None, f"2026-07-{draw.randint(1, 9):02d}T10:00:00+02:00"]),
            subject=f"subject {number}",
            state=draw.choice(STATES),
            state_reason=draw.choice(REASONS),
        )
    return empty


def unsettled(survey: Survey) -> list[tuple[str, str, str, int | None, str]]:
    """Identifier, state, first need, sender, and the moment that orders them."""
    rows = survey.connection.execute("select * from messages")
    return [
        (
            row["identifier"],
            row["state"],
            row["state_reason"].partition(", ")[0],
            row["sender_id"],
            row["sent_at"] or "",
        )
        for row in rows
        if row["state"] in ("", "open", "waiting")
    ]


def of_heap(survey: Survey, heap: Heap) -> list[str]:
    """The messages of a heap, the earliest sent first, told by Python alone."""
    wanted = (heap.state, heap.need, heap.sender)
    found = [(sent, one) for one, *what, sent in unsettled(survey) if tuple(what) == wanted]
    return [one for _, one in sorted(found)]


def test_every_unsettled_message_lies_in_one_heap(full: Survey):
    heaps = messages.heaps(full)
    assert sum(heap.count for heap in heaps) == len(unsettled(full))
    for heap in heaps:
        members = of_heap(full, heap)
        assert heap.count == len(members) > 0
        for one in members:
            assert messages.heap_of(full, one) == (heap.state, heap.need, heap.sender)


def test_a_heap_read_in_pieces_is_the_heap_read_whole(full: Survey):
    for heap in messages.heaps(full):
        whole = messages.listed(full, [heap], offset=0, limit=99)
        assert [one.identifier for one in whole] == of_heap(full, heap)
        pieces: list[Listed] = []
        while len(pieces) < heap.count:
            pieces += messages.listed(full, [heap], offset=len(pieces), limit=2)
        assert pieces == whole


def test_several_heaps_are_read_as_one_list(full: Survey):
    heaps = messages.heaps(full)
    whole = messages.listed(full, heaps, offset=0, limit=99)
    sent = {one: moment for one, *_, moment in unsettled(full)}
    assert [one.identifier for one in whole] == sorted(sent, key=lambda one: (sent[one], one))
    for place, one in enumerate(whole):
        assert messages.count_before(full, heaps, one.identifier) == place


def test_a_sender_is_shown_by_name_or_else_by_address(full: Survey):
    shown = {(h.sender_name, h.sender_address) for h in messages.heaps(full)}
    assert shown <= {("a", ""), ("b", ""), ("c", ""), ("", "nameless@example.org"), ("", "")}
    assert len(shown) > 2


def test_only_what_needs_somebody_is_still_open(full: Survey):
    every = [row[0] for row in full.connection.execute("select identifier from messages")]
    wanted = {one for one, state, *_ in unsettled(full) if state != "waiting"}
    assert messages.still_open(full, every) == wanted
    assert messages.still_open(full, []) == set()


def test_a_settled_message_lies_in_no_heap(empty: Survey):
    made.message(empty, 1, state="settled", state_reason="accepted as it is")
    assert messages.heaps(empty) == []
    assert messages.heap_of(empty, f"{1:032x}") is None
    assert messages.heap_of(empty, "nothing") is None
