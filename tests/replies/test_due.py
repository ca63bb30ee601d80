"""Which sightings a letter tells of, who gets none, and which drafts say what no longer stands."""

from __future__ import annotations

import pytest
from test_telling import sighting

from triage.mail.kept import MessageRow
from triage.replies.drafted import addressee, is_for_all, season_of_all
from triage.replies.due import LetterRow, due_sightings, kind_of, reason_for_none, stale_drafts
from triage.sightings import Sighting

A = sighting("a", state="determined", scientific_name="Aeshna mixta")
B = sighting("b", state="undeterminable", scientific_name="")
QUEUED = sighting("c", state="queued", scientific_name="")
EARLIER = sighting(
    "d", state="determined", scientific_name="Lestes sponsa", event_date="2025-07-01"
)
SAID = {"a": "determined Aeshna mixta", "b": "undeterminable", "d": "determined Lestes sponsa"}


def letter(*told: str, year: int = 0, person: int = 1, **otherwise: str) -> LetterRow:
    said = {one: SAID[one] for one in told} | otherwise
    return LetterRow(person=person, kind=kind_of(year), year=year, draft_name="x.eml", said=said)


def due(drafted: list[LetterRow], year: int = 0) -> dict[int, list[str]]:
    all_of_them: list[Sighting] = [A, B, QUEUED, EARLIER]
    observers = {"a": 1, "b": 2, "c": 1, "d": 1}
    found = due_sightings(drafted, all_of_them, observers, year)
    return {person: [one.identifier for one in ones] for person, ones in found.items()}


@pytest.mark.parametrize(
    ("drafted", "year", "expected"),
    [
        ([], 0, {1: ["a", "d"], 2: ["b"]}),
        ([letter("a")], 0, {1: ["d"], 2: ["b"]}),
        ([letter("a"), letter("d"), letter("b", person=2)], 0, {}),
        ([letter(a="determined Aeshna grandis")], 0, {1: ["a", "d"], 2: ["b"]}),
        ([], 2026, {1: ["a"], 2: ["b"]}),
        ([letter("a", year=2026)], 2026, {2: ["b"]}),
        ([letter("a", year=2025)], 2026, {1: ["a"], 2: ["b"]}),
        ([letter(year=2026, a="determined Aeshna grandis")], 2026, {1: ["a"], 2: ["b"]}),
        ([letter("d", year=2025)], 2025, {}),
    ],
)
def test_what_is_settled_is_told_once_as_it_stands(drafted, year: int, expected):
    assert due(drafted, year) == expected


def test_a_sighting_of_nobody_is_told_to_nobody():
    assert due_sightings([], [A], {"a": None}, 0) == {}


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({}, ""),
        ({"addresses": ()}, "no address"),
        ({"wrote": False}, "no mail of their own"),
        ({"needs": ("place", "delete request")}, "deleted"),
        ({"texts": ("Thanks.", "No more letters please.")}, "no letters"),
    ],
)
def test_who_gets_no_letter_and_why(changes: dict[str, object], reason: str):
    said = {"addresses": ("a@example.org",), "wrote": True, "needs": (), "texts": ()} | changes
    found = reason_for_none(**said)  # type: ignore[arg-type]
    assert bool(found) == bool(reason)
    assert reason in found


def test_a_draft_is_stale_that_lies_there_and_says_what_no_longer_stands():
    right, wrong = letter("a"), letter("b", a="determined Aeshna grandis")
    [found] = stale_drafts([right, wrong], [A, B], {"x.eml"})
    assert found.startswith("x.eml: 1 determination in it")
    assert list(stale_drafts([wrong], [A, B], set())) == []
    assert len(list(stale_drafts([letter("d")], [A, B], ["x.eml"]))) == 1


def test_a_letter_to_everybody_is_known_by_what_it_is_called():
    assert is_for_all(season_of_all("2026"))
    assert not any(map(is_for_all, ("season-P-1A2B-3c4d", season_of_all("26"), "q-1a2b3c4d")))


def test_an_answer_goes_to_the_sender_in_the_thread_of_the_message():
    kept = MessageRow(
        row=1, identifier="m", message_id="two@example.org", sender=1, sender_name="Ada",
        sender_address="ada@example.org", sent_at="", received_at="", subject="Two damselflies",
        automatic="", distribution="", links=(), problems=(), origin="", in_reply_to="",
        references=("<one@example.org>",), state="open", state_reason="", state_by_hand=False,
    )  # fmt: skip
    to = addressee(kept)
    assert (to.address, to.name, to.subject) == ("ada@example.org", "Ada", "Two damselflies")
    assert (to.message_id, to.references) == ("<two@example.org>", ("<one@example.org>",))
