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
from triage.mail.likeness import Kind, alike
from triage.mail.use_words import speaks_of_use

pytestmark = pytest.mark.xdist_group("sentences of volunteers")


class Said(TypedDict):
    """``said``: "yes", "no", "" where nothing may be granted, "nothing" if no use is spoken of."""

    text: str
    said: str


MAILS = mails("consents")


@pytest.mark.parametrize("mail", [mail for _, mail in MAILS], ids=[m["text"] for _, m in MAILS])
def test_nothing_is_granted_that_was_not(mail: Said):
    found = read_consent(mail["text"])
    assert found.publish == "unstated" or found.publish == mail["said"] or found.publish == "no"


def is_like_one(text: str, fold: int, kind: Kind = "refusal") -> bool:
    """By weights that had not seen the batch."""
    return bool(alike(sentences_of(text), kind, without=fold))


def ends_a_grant(text: str, fold: int) -> bool:
    """At once, or until a person has seen the words."""
    found = read_consent(text)
    stated = found.publish == "no" or (found.wording and not only_like_a_grant(found))
    return stated or is_like_one(text, fold) or is_like_one(text, fold, "grant")


def only_like_a_grant(found: Consent) -> bool:
    """Whether words were kept by weights that may have seen them, and by nothing else."""
    return found.held and not any(speaks_of_use(one) for one in sentences_of(found.wording))


def said(kind: str) -> list[tuple[str, int]]:
    return [(mail["text"], fold) for fold, mail in MAILS if mail["said"] == kind]


def test_of_fourteen_refusals_in_unseen_batches_thirteen_end_a_grant():
    refusals = said("no")
    unheard = [text for text, fold in refusals if not ends_a_grant(text, fold)]
    assert len(refusals) == 362
    assert len(unheard) <= 362 / 14, unheard


def test_of_hard_mails_that_speak_of_no_use_most_are_left_alone():
    neutral = said("nothing")
    assert len(neutral) == 284
    read = [read_consent(text) for text, _ in neutral]
    assert sum(replace(one, aside="") != Consent() for one in read) <= 38
    assert sum(one.publish == "no" for one in read) <= 3
    assert sum(ends_a_grant(text, fold) for text, fold in neutral) <= 106


def test_plain_grants_are_read_or_left_to_a_person():
    plain = said("yes")
    unread = [text for text, fold in plain if not ends_a_grant(text, fold) and not granted(text)]
    refused = [text for text, _ in plain if read_consent(text).publish == "no"]
    assert len(plain) == 201
    assert len(unread) <= 20, unread
    assert refused == []


def granted(text: str) -> bool:
    return read_consent(text).publish == "yes"


def test_plain_mails_say_nothing_of_use_and_one_in_twelve_would_suspend_a_grant():
    plain = [(own_words(mail), fold) for fold, mail in mails("plain")]
    assert len(plain) == 1180
    found = [read_consent(text) for text, _ in plain]
    assert sum(replace(one, aside="") != Consent() for one in found) <= 3
    assert sum(is_like_one(text, fold) for text, fold in plain) <= 1180 / 12
    assert sum(is_like_one(text, fold, "grant") for text, fold in plain) <= 2
    later = [(own_words(mail), fold) for fold, mail in mails("mention")]
    assert len(later) == 1190
    assert sum(is_like_one(text, fold) for text, fold in later) <= 1190 / 10
    assert sum(is_like_one(text, fold, "grant") for text, fold in later) <= 1190 / 90


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
