"""What volunteers say about their photos, in batches read once before the rules were mended.

A grant may also be left to a person; whatever else is said never grants, and a refusal is one. The
likeness of a refusal is learned from these batches: each is read by weights that had not seen it.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import TypedDict

import pytest

from triage.mail.authorship import divide_text
from triage.mail.consent import Consent, read_consent, sentences_of
from triage.mail.likeness import FOLDS, is_like

FOLDER = Path(__file__).parent.parent / "data" / "mails"


class Said(TypedDict):
    """``said``: "yes", "no", "" where nothing may be granted, "nothing" if no use is spoken of."""

    text: str
    said: str


def mails(kind: str) -> list[tuple[int, dict[str, str]]]:
    """The mails of all batches of a kind, each with the fold of its batch."""
    return [
        (int(path.stem.rpartition("_")[2]) % FOLDS, mail)
        for path in sorted(FOLDER.glob(f"{kind}_*.toml"))
        for mail in tomllib.loads(path.read_text("utf-8"))["mails"]
    ]


MAILS = mails("consents")


@pytest.mark.parametrize("mail", [mail for _, mail in MAILS], ids=[m["text"] for _, m in MAILS])
def test_nothing_is_granted_that_was_not(mail: Said):
    found = read_consent(mail["text"])
    if mail["said"] == "nothing":
        assert replace(found, aside="") == Consent()
    elif mail["said"] != "no":
        assert found.publish == "unstated" or found.publish == mail["said"]


def is_like_one(text: str, fold: int) -> bool:
    """By weights that had not seen the batch."""
    return any(is_like(one, "refusal", without=fold) for one in sentences_of(text))


def ends_a_grant(text: str, fold: int) -> bool:
    """At once, or until a person has seen the words."""
    found = read_consent(text)
    return found.publish == "no" or bool(found.wording) or is_like_one(text, fold)


def said(kind: str) -> list[tuple[str, int]]:
    return [(mail["text"], fold) for fold, mail in MAILS if mail["said"] == kind]


def test_of_ten_refusals_in_unseen_batches_nine_end_a_grant():
    refusals = said("no")
    unheard = [text for text, fold in refusals if not ends_a_grant(text, fold)]
    assert len(refusals) == 233
    assert len(unheard) <= 22, unheard


def test_of_hard_sentences_that_speak_of_no_use_half_would_not_suspend_a_grant():
    neutral = said("nothing")
    assert len(neutral) == 156
    assert sum(ends_a_grant(text, fold) for text, fold in neutral) <= 75


def test_of_plain_grants_one_in_nine_is_left_to_a_person():
    plain = said("yes")
    asked = [text for text, _ in plain if read_consent(text).publish != "yes"]
    assert len(plain) == 101
    assert len(asked) <= len(plain) / 9, asked


def test_plain_mails_say_nothing_of_use_and_one_in_ten_would_suspend_a_grant():
    plain = [
        (f"{mail['subject']}\n\n{divide_text(mail['text'], subject=mail['subject'])[0].text}", fold)
        for fold, mail in mails("plain")
    ]
    assert len(plain) == 1180
    found = [read_consent(text) for text, _ in plain]
    assert sum(replace(one, aside="") != Consent() for one in found) <= 2
    assert sum(is_like_one(text, fold) for text, fold in plain) <= 1180 / 10
