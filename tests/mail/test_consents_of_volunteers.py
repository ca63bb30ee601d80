"""What volunteers say about their photos, in batches read once before the rules were mended.

A grant may also be left to a person; whatever else is said never grants, and a refusal is one.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import TypedDict

import pytest

from triage.mail.authorship import divide_text
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
def test_nothing_is_granted_that_was_not(mail: Said):
    found = read_consent(mail["text"])
    if mail["said"] == "nothing":
        assert replace(found, aside="") == Consent()
    elif mail["said"] != "no":
        assert found.publish == "unstated" or found.publish == mail["said"]


def ends_a_grant(text: str) -> bool:
    """At once, or until a person has seen the words."""
    found = read_consent(text)
    return found.publish == "no" or bool(found.wording) or bool(found.aside)


def test_of_sixty_refusals_all_but_one_end_a_grant():
    refusals = [mail["text"] for mail in MAILS if mail["said"] == "no"]
    unheard = [text for text in refusals if not ends_a_grant(text)]
    assert len(refusals) == 128
    assert len(unheard) <= 2, unheard


def test_of_three_hard_mails_that_speak_of_no_use_one_would_suspend_a_grant():
    neutral = [mail["text"] for mail in MAILS if mail["said"] == "nothing"]
    assert len(neutral) == 66
    assert sum(map(ends_a_grant, neutral)) <= 21


def test_of_plain_grants_one_in_seven_is_left_to_a_person():
    plain = [mail["text"] for mail in MAILS if mail["said"] == "yes"]
    asked = [text for text in plain if read_consent(text).publish != "yes"]
    assert len(plain) == 69
    assert len(asked) <= 10, asked


def test_plain_mails_are_read_as_saying_nothing_of_use():
    folder = Path(__file__).parent.parent / "data" / "mails"
    plain = [
        f"{mail['subject']}\n\n{divide_text(mail['text'], subject=mail['subject'])[0].text}"
        for path in sorted(folder.glob("plain_*.toml"))
        for mail in tomllib.loads(path.read_text("utf-8"))["mails"]
    ]
    assert len(plain) == 720
    found = [read_consent(text) for text in plain]
    assert [one for one in found if replace(one, aside="") != Consent()] == []
    assert sum(bool(one.aside) for one in found) <= 17
