"""What volunteers say about their photos, in batches read once before the rules were mended.

A grant may also be left to a person; whatever else is said never grants, and a refusal is one. The
likeness of a refusal is learned from these batches: each is read by weights that had not seen it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypedDict

import pytest
from mails_written import mails, own_words

from triage.mail.consent import Consent, read_consent, sentences_of
from triage.mail.likeness import is_like


class Said(TypedDict):
    """``said``: "yes", "no", "" where nothing may be granted, "nothing" if no use is spoken of."""

    text: str
    said: str


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


def test_of_eight_refusals_in_unseen_batches_seven_end_a_grant():
    refusals = said("no")
    unheard = [text for text, fold in refusals if not ends_a_grant(text, fold)]
    assert len(refusals) == 244
    assert len(unheard) <= 29, unheard


def test_of_ten_hard_sentences_that_speak_of_no_use_seven_would_not_suspend_a_grant():
    neutral = said("nothing")
    assert len(neutral) == 167
    assert sum(ends_a_grant(text, fold) for text, fold in neutral) <= 50


def test_of_plain_grants_one_in_seven_is_left_to_a_person():
    plain = said("yes")
    asked = [text for text, _ in plain if read_consent(text).publish != "yes"]
    assert len(plain) == 107
    assert len(asked) <= len(plain) / 7, asked


def test_plain_mails_say_nothing_of_use_and_one_in_twelve_would_suspend_a_grant():
    plain = [(own_words(mail), fold) for fold, mail in mails("plain")]
    assert len(plain) == 1180
    found = [read_consent(text) for text, _ in plain]
    assert sum(replace(one, aside="") != Consent() for one in found) <= 2
    assert sum(is_like_one(text, fold) for text, fold in plain) <= 1180 / 12


@pytest.mark.parametrize(
    "text",
    [
        "You published my photo without asking.",
        "Sie haben mein Foto ohne zu fragen veröffentlicht.",
        "Opublikowaliście moje zdjęcie bez pytania.",
        "Vous avez publié ma photo sans me demander.",
        "My photo was used without asking me.",
    ],
)
def test_to_have_been_asked_for_nothing_grants_nothing(text: str):
    found = read_consent(text)
    assert (found.publish, found.held) == ("unstated", True)


@pytest.mark.parametrize(
    "text",
    [
        "Bitte nicht veröffentlichen, wo genau.",
        "Please do not publish where it was.",
        "Proszę nie publikować, gdzie to jest.",
        "Ne publiez pas où exactement.",
    ],
)
def test_a_place_that_is_not_to_be_published_refuses_no_photo(text: str):
    found = read_consent(text)
    assert (found.publish, found.held) == ("unstated", True)


@pytest.mark.parametrize(
    "text",
    [
        "(c) all rights reserved.",
        "Alle Rechte vorbehalten.",
        "Wszelkie prawa zastrzeżone.",
        "Tous droits réservés.",
        "Not to be reproduced in any form.",
        "Strictly for the records.",
        "For verification purposes.",
        "keep em offline yeah",
    ],
)
def test_rights_that_are_kept_and_purposes_that_are_named_are_held(text: str):
    found = read_consent(text)
    assert found.publish == "no" or found.held


@pytest.mark.parametrize(
    "text",
    [
        "Nothing with my name, please.",
        "Bitte nichts mit meinem Namen.",
        "Nic z moim nazwiskiem, proszę.",
        "Rien avec mon nom, merci.",
    ],
)
def test_nothing_with_a_name_shows_no_name(text: str):
    assert read_consent(text).name_shown == "no"


@pytest.mark.parametrize(
    "text",
    [
        "Under my name you will find older records.",
        "My wife is called Ann, with my name she gets letters.",
        "Mit meinem Namen finden Sie ältere Meldungen.",
    ],
)
def test_a_name_that_is_only_spoken_of_is_not_shown(text: str):
    assert read_consent(text).name_shown == "unstated"
