"""How like what is said around a name is to mails whose photo is from there, and the fit."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from triage.bench.training.likeness import axes_of
from triage.bench.training.mentions import Mention, fitted, read, sites_of
from triage.mail.likeness import FOLDS
from triage.mail.meaning import products_on
from triage.metadata.mentions import (
    BUCKETS,
    MENTIONED,
    REACH,
    Mentioned,
    features,
    likeness,
    meaning,
    said_around,
)
from triage.metadata.text_places import find_sites

pytestmark = pytest.mark.xdist_group("mentions of volunteers")

FOLDER = Path(__file__).parent.parent / "data" / "mails"
WATERS = sites_of(FOLDER)


@cache  # several tests look at them
def mentions_of_batches(kind: Mentioned) -> list[Mention]:
    return list(read(FOLDER, kind))


def like(text: str) -> float:
    at = text.index("Teal Pool")
    return likeness(text, [(at, at + len("Teal Pool"))], "place", [])


@pytest.mark.parametrize(
    ("here", "elsewhere"),
    [
        ("We sat at Teal Pool all morning and saw this.", "We sold our boat at Teal Pool."),
        ("Gestern am Teal Pool gesehen.", "Statt zum Teal Pool fuhren wir in den Zoo."),
        ("Wczoraj nad Teal Pool.", "Nie znad Teal Pool, tylko z balkonu."),
        ("Vue hier au bord du Teal Pool.", "Nous voulions aller à Teal Pool, mais non."),
    ],
)
def test_what_is_from_there_is_liker_than_what_is_from_elsewhere(here: str, elsewhere: str):
    assert like(here) > like(elsewhere)


def test_features_know_the_name_by_its_place_alone_and_read_a_bounded_text():
    near = "At X yesterday."
    assert (
        features(near, [(3, 4)], []).tolist()
        == features("At Abc yesterday.", [(3, 6)], []).tolist()
    )
    long = f"{'a ' * REACH}{near}"
    spans = [(2 * REACH + 3, 2 * REACH + 4)]
    assert features(f"so {long}", [(a + 3, b + 3) for a, b in spans], []).tolist() == (
        features(long, spans, []).tolist()
    )
    assert likeness("", [], "place", []) == likeness("", [], "place", [], without=None)


def test_a_mail_in_no_known_form_stands_where_it_is_like_plain_ones():
    plain = (
        "We sat by the water at Teal Pool with our flask yesterday and this beauty came down on me."
    )
    (claim,), questions, _ = find_sites(plain, WATERS)
    assert (claim.location_id, claim.doubts, questions) == ("Teal Pool", (), [])


def test_what_denies_the_name_itself_is_asked_however_plain_the_mail():
    text = "Hello, yesterday I took this lovely male by the water, not at Teal Pool. Thanks, Jo"
    (claim,), _, _ = find_sites(text, WATERS)
    assert claim.doubts


def test_two_sites_are_asked_however_plain_the_mail():
    claims, questions, _ = find_sites("Seen at Teal Pool and at Alder Carr yesterday.", WATERS)
    assert len(claims) == 2
    assert all(claim.doubts for claim in claims)
    assert questions


@pytest.mark.parametrize("kind", MENTIONED)
def test_both_kinds_of_mentions_are_in_every_fold(kind: Mentioned):
    mentions = mentions_of_batches(kind)
    for own in (True, False):
        folds = {one.fold for one in mentions if one.own == own}
        assert folds == {-1, *range(FOLDS)}


def test_a_fit_has_a_row_for_all_and_one_without_each_fold():
    mentions = [one for one in mentions_of_batches("place") if len(one.text) < 60]
    vectors = meaning([said_around(one.text, one.spans, "place") for one in mentions])
    meant = products_on(vectors, axes_of(vectors))
    weights, meanings, bias = fitted(mentions, meant, 1.0)
    assert weights.shape == (FOLDS + 1, BUCKETS)
    assert meanings.shape == (FOLDS + 1, meant.shape[1])
    assert bias.shape == (FOLDS + 1,)
    found = [features(one.text, one.spans, one.signs) for one in mentions]
    said = [weights[0, buckets].sum() / len(buckets) ** 0.5 for buckets in found]
    right = [
        (words + meanings[0] @ row + bias[0] > 0) == one.own
        for words, row, one in zip(said, meant, mentions, strict=True)
    ]
    assert sum(right) > 0.95 * len(right)  # of what it was fitted on: that it learns at all
