"""Which determination is accepted: the rules of docs/determinations.md, case by case."""

from __future__ import annotations

from dataclasses import replace

import pytest

from triage.checklist import Checklist, Taxon
from triage.determinations import Accepted, Determination, accepted, care_needed, follow
from triage.determinations.accepting import MAY_BE_ONE
from triage.sightings import Facts

LINES = {
    "Aeshna mixta": [("species", "Aeshna mixta"), ("genus", "Aeshna"), ("family", "Aeshnidae")],
    "Aeshna cyanea": [("species", "Aeshna cyanea"), ("genus", "Aeshna"), ("family", "Aeshnidae")],
    "Aeshna": [("genus", "Aeshna"), ("family", "Aeshnidae")],
    "Lestes sponsa": [("species", "Lestes sponsa"), ("genus", "Lestes"), ("family", "Lestidae")],
}


def said(
    who: str, name: str = "", at: str = "2026-07-01T10:00:00Z", **more: object
) -> Determination:
    values: dict[str, object] = {
        "identifier": f"{who}{at}{name}",
        "sighting": "s",
        "outcome": "determined" if name else "cannot tell",
        "scientific_name": name,
        "identified_by": who,
        "date_identified": at,
    }
    return Determination(**{**values, **more})  # type: ignore[arg-type]


def stand(
    *determinations: Determination, needed: int = 1, care: str = "", unsure: str = ""
) -> Accepted:
    """``unsure`` are the letters of every two who may be one person."""
    return accepted(
        determinations,
        may_be_one=[frozenset(two) for two in unsure.split()],
        lineage=lambda name: LINES[name],
        needed=needed,
        extra_care=lambda name: care if name == "Aeshna mixta" else "",
    )


def test_nothing_said_is_queued():
    assert stand().state == "queued"


def test_one_determiner_settles_a_sighting():
    found = stand(said("A", "Aeshna mixta"))
    assert (found.state, found.scientific_name, found.taxon_rank) == (
        "determined",
        "Aeshna mixta",
        "species",
    )


def test_asking_for_a_second_opinion_keeps_it_open_until_another_looks():
    asked = said("A", "Aeshna mixta", second_opinion=True)
    assert stand(asked).state == "second opinion"
    assert stand(asked).scientific_name == "Aeshna mixta"
    assert stand(asked, said("B", "Aeshna mixta")).state == "determined"


def test_a_taxon_that_needs_care_needs_two():
    found = stand(said("A", "Aeshna mixta"), care="outside its season")
    assert (found.state, found.reason) == ("second opinion", "outside its season")
    both = stand(said("A", "Aeshna mixta"), said("B", "Aeshna mixta"), care="outside its season")
    assert both.state == "determined"


def test_a_survey_may_ask_for_two_of_everything():
    assert stand(said("A", "Aeshna mixta"), needed=2).state == "second opinion"
    assert stand(said("A", "Aeshna mixta"), said("B", "Aeshna mixta"), needed=2).state == (
        "determined"
    )


MIXTA, CYANEA = "Aeshna mixta", "Aeshna cyanea"


@pytest.mark.parametrize(
    ("names", "unsure", "needed", "state", "name"),
    [
        ({"A": MIXTA, "B": MIXTA}, "AB", 1, "determined", MIXTA),  # either of them would do
        ({"A": MIXTA, "B": MIXTA}, "AB", 2, "second opinion", MIXTA),
        ({"A": MIXTA, "B": MIXTA, "C": MIXTA}, "AB", 2, "determined", MIXTA),
        ({"A": MIXTA, "B": MIXTA, "C": MIXTA}, "AB BC", 2, "second opinion", MIXTA),
        ({"A": MIXTA, "B": MIXTA, "C": MIXTA}, "BC AB", 2, "second opinion", MIXTA),
        ({"A": MIXTA, "B": MIXTA, "C": MIXTA, "D": MIXTA}, "AB CD", 3, "second opinion", MIXTA),
        ({"A": MIXTA, "B": CYANEA}, "AB", 1, "second opinion", "Aeshna"),
        ({"A": MIXTA, "B": MIXTA, "C": CYANEA}, "AB", 1, "second opinion", "Aeshna"),
        ({"A": MIXTA, "B": MIXTA, "C": CYANEA}, "AC", 1, "second opinion", "Aeshna"),
        ({"A": MIXTA, "B": "Aeshna"}, "AB", 1, "second opinion", "Aeshna"),
        ({"A": "Aeshna", "B": MIXTA}, "AB", 1, "determined", MIXTA),
        ({"A": MIXTA, "B": ""}, "AB", 1, "second opinion", ""),
    ],
)
def test_two_who_may_be_one_person_settle_only_what_one_person_would(
    names: dict[str, str], unsure: str, needed: int, state: str, name: str
):
    made = [
        said(who, one, at=f"2026-07-0{n}T10:00:00Z")
        for n, (who, one) in enumerate(names.items(), 1)
    ]
    found = stand(*made, unsure=unsure, needed=needed)
    assert (found.state, found.scientific_name) == (state, name)
    assert found.state == "determined" or found.reason != "2 of 2 determiners"


def test_whoever_may_have_asked_answers_no_request_for_a_second_opinion():
    asked = said("A", MIXTA, second_opinion=True)
    answer = said("B", MIXTA, at="2026-07-02T10:00:00Z")
    assert stand(asked, answer).state == "determined"
    found = stand(asked, answer, unsure="AB")
    assert (found.state, found.reason) == ("second opinion", MAY_BE_ONE)


def test_disagreement_falls_back_to_the_common_coarser_name():
    found = stand(said("A", "Aeshna mixta"), said("B", "Aeshna cyanea"))
    assert (found.state, found.scientific_name, found.taxon_rank) == (
        "second opinion",
        "Aeshna",
        "genus",
    )
    assert found.agreed  # both gave the genus: it counts, and no species does


def test_a_name_that_one_person_gave_is_not_agreed_on_while_it_waits():
    assert not stand(said("A", "Aeshna mixta"), needed=2).agreed
    assert not stand(said("A", "Aeshna mixta", second_opinion=True)).agreed


def test_a_third_determiner_decides_a_disagreement():
    found = stand(said("A", "Aeshna mixta"), said("B", "Aeshna cyanea"), said("C", "Aeshna mixta"))
    assert (found.state, found.scientific_name) == ("determined", "Aeshna mixta")


def test_a_coarser_name_is_no_dissent():
    found = stand(said("A", "Aeshna mixta"), said("B", "Aeshna"))
    assert (found.state, found.scientific_name) == ("determined", "Aeshna mixta")


def test_half_of_the_determiners_decide_no_disagreement():
    mixta = [said(who, "Aeshna mixta") for who in "AB"]
    found = stand(*mixta, *[said(who, "Aeshna cyanea") for who in "CD"])
    assert (found.state, found.scientific_name) == ("second opinion", "Aeshna")


def test_where_two_are_needed_the_name_that_two_gave_stands():
    """One went to the species, the other to its genus only: two gave the genus."""
    found = stand(said("A", "Aeshna mixta"), said("B", "Aeshna"), needed=2)
    assert (found.state, found.scientific_name) == ("determined", "Aeshna")
    assert found.reason == "2 of 2 determiners"


def test_where_three_are_needed_two_against_one_settle_no_species():
    three = [said("A", "Aeshna mixta"), said("B", "Aeshna mixta"), said("C", "Aeshna cyanea")]
    found = stand(*three, needed=3)
    assert (found.state, found.scientific_name) == ("second opinion", "Aeshna")


def test_the_reason_says_how_many_gave_the_name():
    one, two = said("A", "Aeshna mixta"), said("B", "Aeshna mixta")
    assert stand(one).reason == "one determiner"
    assert stand(one, two).reason == "2 of 2 determiners"
    assert stand(one, two, said("C", "Aeshna cyanea")).reason == "2 of 3 determiners"


@pytest.mark.parametrize(
    ("sexes", "sex"),
    [(("male",), "male"), (("male", ""), "male"), (("male", "female"), ""), (("", ""), "")],
)
def test_a_sex_stands_that_nobody_contradicts(sexes: tuple[str, ...], sex: str):
    found = stand(*(said(who, "Aeshna mixta", sex=one) for who, one in enumerate(sexes)))
    assert found.sex == sex


def test_names_without_anything_in_common_leave_no_name():
    found = stand(said("A", "Aeshna mixta"), said("B", "Lestes sponsa"))
    assert (found.state, found.scientific_name) == ("second opinion", "")


def test_a_determiner_may_change_their_mind():
    found = stand(said("A", "Aeshna mixta"), said("A", "Aeshna cyanea", at="2026-07-02T10:00:00Z"))
    assert (found.state, found.scientific_name) == ("determined", "Aeshna cyanea")


def test_cannot_tell_makes_it_undeterminable_with_the_reason():
    found = stand(said("A", reason="wings folded"))
    assert (found.state, found.reason) == ("undeterminable", "wings folded")


def test_a_name_stands_beside_somebody_who_cannot_tell():
    assert stand(said("A", reason="too far"), said("B", "Aeshna mixta")).state == "determined"


def test_not_an_adult_sets_it_aside():
    found = stand(said("A", outcome="not an adult", reason="an exuvia"))
    assert (found.state, found.reason) == ("set aside", "not an adult: an exuvia")


def test_a_qualifier_stands_only_while_everybody_who_names_the_taxon_has_it():
    doubtful = said("A", "Aeshna mixta", qualifier="cf.")
    assert stand(doubtful).qualifier == "cf."
    assert stand(doubtful, said("B", "Aeshna mixta")).qualifier == ""


def test_the_order_of_the_determinations_changes_nothing():
    three = [said("A", "Aeshna mixta"), said("B", "Aeshna cyanea"), said("C", "Aeshna")]
    assert stand(*three) == stand(*reversed(three))


def test_naming_again_does_not_withdraw_the_wish_for_a_second_opinion():
    asked = said("A", "Aeshna mixta", second_opinion=True)
    again = said("A", "Aeshna mixta", at="2026-07-02T10:00:00Z")
    assert stand(asked, again).state == "second opinion"
    assert stand(asked, again, said("B", "Aeshna", at="2026-07-03T10:00:00Z")).state == "determined"


def test_only_a_later_look_of_somebody_else_answers_the_wish():
    first = said("B", "Aeshna mixta", at="2026-06-30T10:00:00Z")
    asked = said("A", "Aeshna mixta", second_opinion=True)
    assert stand(first, asked).state == "second opinion"
    again = said("B", "Aeshna mixta", at="2026-07-03T10:00:00Z")
    assert stand(first, asked, again).state == "determined"


def test_who_says_it_is_no_adult_may_ask_for_another_look():
    found = stand(said("A", outcome="not an adult", reason="an exuvia", second_opinion=True))
    assert found.state == "second opinion"


SPECIES = Taxon(
    scientific_name="Aeshna mixta",
    rank="species",
    family="Aeshnidae",
    suborder="anisoptera",
    season=(182, 305),
)
AREA = (53.0, 21.0, 55.0, 23.0)


@pytest.mark.parametrize(
    ("name", "marked", "facts", "reason"),
    [
        ("Aeshna mixta", False, {"event_date": "2026-08-01"}, ""),
        ("Aeshna mixta", False, {}, ""),
        ("Aeshna mixta", True, {"event_date": "2026-08-01"}, "marked as needing two"),
        ("Aeshna mixta", False, {"event_date": "2026-02-01"}, "outside the season"),
        ("Passer domesticus", False, {}, "not on the checklist"),
        ("Aeshna mixta", False, {"decimal_latitude": 54.0, "decimal_longitude": 22.0}, ""),
        (
            "Aeshna mixta",
            False,
            {"decimal_latitude": 52.0, "decimal_longitude": 22.0},
            "outside the survey's area",
        ),
    ],
)
def test_two_must_agree_where_one_may_err(name, marked, facts, reason):
    checklist = Checklist([replace(SPECIES, needs_two=marked)])
    found = care_needed(name, Facts(**facts), checklist, area=AREA)
    assert reason in found
    assert bool(found) == bool(reason)
    assert "mixta" not in found  # who looks second must not read what was said first


def test_determinations_follow_the_photos_they_were_made_on():
    made = {
        "new": [said("A", "Aeshna mixta", photos=("p",))],
        "old": [said("B", "Aeshna", photos=("p",)), said("C", "Aeshna", photos=("q",))],
    }
    assert [d.identified_by for d in follow("new", ["p"], made, ["old"])] == ["A", "B"]
    assert [d.identified_by for d in follow("new", ["p"], made, [])] == ["A"]
