"""Whom a typed name means, what a sighting has been called, and when an answer is out of date."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_made import determination

from triage.determinations import Accepted, Determination
from triage.determinations.determiners import (
    KnownPerson,
    ask_about,
    of_known_family,
    recognise,
)
from triage.determinations.following import follow, sighting_of
from triage.errors import UnknownError
from triage.packets import Asked, Now, conflict
from triage.sightings import Facts

IDA = KnownPerson(
    row=1, code="P-1", name="Ida Kvist", short_names=("IK",), addresses=("ida@example.org",)
)
BO = KnownPerson(row=2, code="P-2", name="Bo Wren", addresses=("bo@example.org",))
OTHER_BO = KnownPerson(row=3, code="P-3", name="Bo Wren", short_names=("BW",))


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("Ida Kvist", IDA),
        ("ida  kvist", IDA),
        ("ik", IDA),
        ("p-1", IDA),
        ("IDA@example.org", IDA),
        ("bw", OTHER_BO),
        ("P-2", BO),
        ("Ida", None),
        ("Ruth Fenner", None),
        ("", None),
    ],
)
def test_a_name_a_short_name_a_code_and_an_address_mean_their_person(typed, meant):
    assert recognise(typed, [IDA, BO, OTHER_BO]) == meant


def test_a_name_of_two_people_is_asked_about_with_their_codes():
    with pytest.raises(UnknownError) as refused:
        recognise("Bo Wren", [IDA, BO, OTHER_BO])
    assert "2 people" in refused.value.what
    assert "P-2, P-3" in refused.value.next_step


def test_somebody_without_a_name_is_meant_by_nobody_s():
    nameless = KnownPerson(row=4, code="P-4", name="")
    assert recognise("", [nameless]) is None
    assert recognise("P-4", [nameless]) == nameless


def test_a_slip_of_a_name_is_asked_about_and_a_stranger_may_be_added():
    near = ask_about("Ida Kwist", [IDA, BO])
    assert "Ida Kvist" in near.what
    assert "--new" in near.next_step
    far = ask_about("Ruth Fenner", [IDA, BO, KnownPerson(row=4, code="P-4", name="")])
    assert "Ida" not in far.what
    assert "--new" in far.next_step
    family = ask_about("Kvist, Mange", [IDA, BO])
    assert "Ida Kvist of a like family name may be meant" in family.what


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        ("?", "nobody's name"),
        ("12", "nobody's name"),
        ("N.N.", "nobody's name"),
        ("unbekannt", "nobody's name"),
        ("ditto", "nobody's name"),
        ("ich", "nobody's name"),
        ("Ruth Fenner & Ida Kvist", "several people"),
        ("I. u. M. Kvist", "several people"),
    ],
)
def test_what_is_nobodys_name_or_several_peoples_is_refused_before_anybody_is_asked_about(
    typed, what
):
    with pytest.raises(UnknownError) as refused:
        ask_about(typed, [IDA, BO])
    assert what in refused.value.what


def test_of_a_person_who_was_added_it_is_said_whom_the_name_is_like():
    near = of_known_family("I Kvis", [IDA, BO])
    assert "I Kvis is new here, and Ida Kvist has a like name" in near
    assert "'triage inbox' asks" in near
    assert "has a like family name" in of_known_family("Mads Kvist", [IDA, BO])
    assert of_known_family("Ruth Fenner", [IDA, BO]) == ""


def said(identifier: str, photos: str, **more: object) -> Determination:
    return determination(identifier, photos=tuple(photos), **more)


def test_determinations_follow_the_photos_they_were_made_on():
    own, of_a, of_b, of_both = said("1", "a"), said("2", "a"), said("3", "b"), said("4", "ab")
    made = {"new": [own], "old": [of_a, of_b], "older": [of_both]}
    assert follow("new", ["a"], made, ["old", "older"]) == [own, of_a, of_both]
    assert follow("new", ["b"], made, ["old"]) == [own, of_b]
    assert follow("new", ["c"], made, ["old", "older", "unknown"]) == [own]
    assert follow("none", ["a"], made, []) == []


@given(st.sets(st.sampled_from("abcd"), min_size=1), st.sets(st.sampled_from("abcd"), min_size=1))
def test_what_was_said_of_a_photo_stands_wherever_the_photo_is(one: set[str], other: set[str]):
    """A split in two: each half has what was said of any of its photos, and nothing is lost."""
    made = {"old": [said(str(n), photo) for n, photo in enumerate(sorted(one | other))]}
    first = follow("x", sorted(one), made, ["old"])
    second = follow("y", sorted(other), made, ["old"])
    assert {d.photos[0] for d in first} == one
    assert {d.photos[0] for d in second} == other


def test_a_sighting_has_what_determiners_saw_beside_the_name():
    facts = Facts(event_date="2026-06-14", locality="Heron Mere", best_dorsal="a")
    stands = Accepted(
        state="determined", scientific_name="Aeshna mixta", taxon_rank="species", sex="male"
    )
    made = [
        said("1", "a", behavior="perched", life_stage="teneral"),
        said("2", "a", behavior="tandem"),
        said("3", "a", behavior="perched", life_stage="adult"),
    ]
    found = sighting_of(
        facts, stands, made, identifier="s", observer="P-9", photos=("a",), frozen=True
    )
    assert (found.behavior, found.life_stage) == ("perched | tandem", "adult")
    assert (found.scientific_name, found.sex, found.state) == ("Aeshna mixta", "male", "determined")
    assert (found.event_date, found.locality, found.best_dorsal) == (
        "2026-06-14",
        "Heron Mere",
        "a",
    )
    assert (found.identifier, found.observer, found.photos, found.frozen) == (
        "s",
        "P-9",
        ("a",),
        True,
    )
    bare = sighting_of(facts, stands, [], identifier="s", observer="", photos=(), frozen=False)
    assert (bare.behavior, bare.life_stage) == ("", "adult")


ASKED = Asked(
    packet="7f3a2c10", number=7, person=1, sighting="s", action=4, photos=frozenset({"a", "b"})
)


@pytest.mark.parametrize(
    ("photos", "state", "others", "why"),
    [
        ("ab", "queued", False, ""),
        ("abc", "queued", False, ""),
        ("ab", "second opinion", True, ""),
        ("ab", "determined", False, ""),  # by another answer of this packet
        ("ab", "determined", True, "it stands as Aeshna mixta"),
        ("ab", "undeterminable", True, "it stands as undeterminable"),
        ("a", "queued", False, "taken out"),
        ("cd", "queued", False, "taken out"),
        ("", "queued", False, "gone"),
        ("ab", "set aside", False, "set aside"),
        ("a", "set aside", True, "taken out"),
    ],
)
def test_an_answer_out_of_date_is_shown_with_the_reason(photos, state, others, why):
    name = "Aeshna mixta" if state == "determined" else ""
    found = conflict(ASKED, Now(photos=list(photos), state=state, name=name, others=others))
    assert bool(found) == bool(why)
    assert why in found
