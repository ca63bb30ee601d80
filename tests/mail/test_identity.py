"""The same mail has one identifier, however it came; another mail has another."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.mail.identity import (
    IDENTIFIER_DIGITS,
    canonical_text,
    file_identifier,
    mail_identifier,
    text_digest,
)
from triage.standards.digests import is_digest

SENT = datetime(2026, 6, 14, 18, 5, tzinfo=timezone(timedelta(hours=2)))


def named(**changes: object) -> str:
    given_facts: dict[str, object] = {
        "message_id": "<1@example.org>",
        "sender": "ida@example.org",
        "sent_at": SENT,
        "digests": ("a" * 64, "b" * 64),
    }
    return mail_identifier(**(given_facts | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Seen at\r\nAlder Pool", "Seen at\nAlder Pool"),
        ("Seen  at\tAlder Pool \n", "Seen at Alder Pool"),
        (">From the bridge", "From the bridge"),
        (">>From the bridge", "From the bridge"),
        ("Hello\n" + "_" * 40 + "\nPond list\nhttps://lists.example.org\n", "Hello"),
    ],
)
def test_what_a_way_adds_to_a_text_is_no_part_of_it(one: str, other: str):
    assert canonical_text(one) == canonical_text(other)
    assert text_digest(one) == text_digest(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Seen at Alder Pool", "seen at Alder Pool"),
        ("> From the bridge", "From the bridge"),  # somebody quoted that
        ("Hello\n" + "_" * 29 + "\nfoot", "Hello"),  # too short a line for a list's
        ("Hello\n" + "_" * 40 + "\n" + "line\n" * 9, "Hello"),  # too long for a footer
    ],
)
def test_what_somebody_wrote_is(one: str, other: str):
    assert text_digest(one) != text_digest(other)


@given(st.text(max_size=80))
def test_a_canonical_text_stays_as_it_is_and_only_an_empty_one_has_no_digest(text: str):
    once = canonical_text(text)
    assert canonical_text(once) == once
    assert is_digest(text_digest(text)) == bool(once)


def test_a_mail_is_named_by_its_message_id_and_content():
    assert len(named()) == IDENTIFIER_DIGITS
    assert named() == named(sender="bo@example.org", sent_at=None)  # trace that a way may change
    assert named() == named(digests=("a" * 64, "", "b" * 64))  # an empty text says nothing
    others = [
        named(message_id="<2@example.org>"),
        named(digests=("a" * 64,)),
        named(digests=("b" * 64, "a" * 64)),
    ]
    assert len({named(), *others}) == 4


def test_without_a_message_id_sender_and_moment_stand_for_it():
    bare = named(message_id="")
    assert bare == named(message_id="", sender="Ida@Example.org")
    assert bare == named(message_id="", sent_at=SENT.astimezone(UTC))
    others = [
        named(message_id="", sender="bo@example.org"),
        named(message_id="", sent_at=SENT + timedelta(seconds=1)),
        named(message_id="", sent_at=None),
        named(message_id="", sent_at=SENT.replace(tzinfo=None)),
    ]
    assert len({bare, named(), *others}) == 6


TEXTS = st.lists(st.text(max_size=5), max_size=4)


@given(TEXTS, TEXTS)
def test_no_two_contents_run_into_one(one: list[str], other: list[str]):
    """Lengths keep ("ab", "c") and ("a", "bc") apart, and a separator within a text as well."""
    same = [text for text in one if text] == [text for text in other if text]
    assert (named(digests=one) == named(digests=other)) == same


def test_a_loose_file_is_named_by_its_name_and_content_and_is_no_mail():
    first = file_identifier(name="a.jpg", content_digest="a" * 64)
    assert first == file_identifier(name="a.jpg", content_digest="a" * 64)
    assert first != file_identifier(name="b.jpg", content_digest="a" * 64)
    assert first != file_identifier(name="a.jpg", content_digest="b" * 64)
    assert first != named(message_id="a.jpg", digests=("a" * 64,))
