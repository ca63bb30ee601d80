"""What volunteers say about their photos, in batches read once before the rules were mended.

A grant may also be left to a person; whatever else is said never grants, and a refusal is one.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TypedDict

import pytest

from triage.mail.consent import Consent, read_consent


class Said(TypedDict):
    """``said``: "yes", "no", "" where nothing may be granted, "nothing" if no use is spoken of."""

    text: str
    said: str


MAILS: list[Said] = [
    mail
    for path in sorted((Path(__file__).parent.parent / "data" / "mails").glob("consents_*.toml"))
    for mail in tomllib.loads(path.read_text("utf-8"))["mails"]
]


@pytest.mark.parametrize("mail", MAILS, ids=[mail["text"] for mail in MAILS])
def test_nothing_is_granted_that_was_not_and_every_refusal_ends_a_grant(mail: Said):
    found = read_consent(mail["text"])
    if mail["said"] == "nothing":
        assert found == Consent()
    elif mail["said"] == "no":
        ended = found.publish == "unstated" and found.wording  # a person decides meanwhile
        assert found.publish == "no" or ended
    else:
        assert found.publish == "unstated" or found.publish == mail["said"]


def test_of_forty_three_plain_grants_seven_are_left_to_a_person():
    plain = [mail["text"] for mail in MAILS if mail["said"] == "yes"]
    asked = [text for text in plain if read_consent(text).publish != "yes"]
    assert len(plain) == 43
    assert len(asked) <= 7, asked


def test_plain_mails_are_read_as_saying_nothing_of_use():
    folder = Path(__file__).parent.parent / "data" / "mails"
    plain = [
        f"{mail['subject']}\n\n{mail['text']}"
        for path in sorted(folder.glob("plain_*.toml"))
        for mail in tomllib.loads(path.read_text("utf-8"))["mails"]
    ]
    assert len(plain) == 560
    assert [text for text in plain if read_consent(text) != Consent()] == []
