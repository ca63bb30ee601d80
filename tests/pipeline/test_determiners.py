"""Determiners are people of the survey: found by any of their names, added only on purpose."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests_support import NOW

from triage.determinations import Statement
from triage.determinations.determiners import KnownPerson, ask_about, recognise
from triage.errors import UnknownError
from triage.pipeline import determine, persons, queueing, standing, undo
from triage.pipeline.audit import record_needs
from triage.store import derived_rules, people
from triage.store.connection import Survey
from triage.store.dump import canonical_dump

KNOWN = [
    KnownPerson(row=1, code="P-1", name="Ulla Brenner", short_names=("UB",)),
    KnownPerson(row=2, code="P-2", name="Robert Fenner", addresses=("bob@example.org",)),
    KnownPerson(row=3, code="P-3", name="Ola Ring"),
    KnownPerson(row=4, code="P-4", name="Ola Ring"),
]


@pytest.mark.parametrize(
    ("typed", "row"),
    [
        ("Ulla Brenner", 1),
        ("ulla  BRENNER", 1),
        ("UB", 1),
        ("ub", 1),
        ("p-1", 1),
        ("bob@example.org", 2),
        ("P-4", 4),
    ],
)
def test_a_person_is_found_by_every_form_of_their_name(typed: str, row: int):
    found = recognise(typed, KNOWN)
    assert found is not None
    assert found.row == row


@pytest.mark.parametrize("typed", ["U. Brenner", "Ulla Brener", "Bob Fenner", "Una Holm", "K", ""])
def test_a_name_that_is_only_near_is_nobodys(typed: str):
    assert recognise(typed, KNOWN) is None


@pytest.mark.parametrize(
    ("typed", "named"),
    [
        ("U. Brenner", "Ulla Brenner"),
        ("Brenner, Ulla", "Ulla Brenner"),
        ("Bob Fenner", "Robert Fenner"),
    ],
)
def test_a_near_name_is_asked_about(typed: str, named: str):
    assert f"may be {named}" in str(ask_about(typed, KNOWN))


def test_two_people_of_one_name_are_told_apart_by_code():
    with pytest.raises(UnknownError, match="P-3, P-4"):
        recognise("Ola Ring", KNOWN)


def first(survey: Survey) -> str:
    return queueing.queue(survey, now=NOW)[0].sighting.identifier


def say(survey: Survey, sighting: str, by: str, *, new: bool = False, name: str = "Libellula"):
    return determine.determine(
        survey, sighting, Statement(taxon=name), by=by, now=NOW, new=new
    ).state


def test_nobody_becomes_a_determiner_by_a_slip(survey: Survey):
    sighting = first(survey)
    before = list(canonical_dump(survey))
    for typed in ("Ulla Brenner", "", "  "):
        with pytest.raises(UnknownError):
            say(survey, sighting, typed)
    assert list(canonical_dump(survey)) == before
    assert say(survey, sighting, "Ulla Brenner", new=True)
    with pytest.raises(UnknownError, match="may be Ulla Brenner"):
        say(survey, sighting, "U. Brenner")


def test_two_spellings_of_one_person_are_not_two_determiners(survey: Survey):
    survey.settings = survey.settings.model_copy(
        update={
            "determinations": survey.settings.determinations.model_copy(update={"independent": 2})
        }
    )
    sighting = first(survey)
    assert say(survey, sighting, "Ulla Brenner", new=True) == "second opinion"
    persons.set_short_name(survey, "UB", "Ulla Brenner", by="Co", now=NOW)
    for spelling in ("ulla brenner", "UB"):
        assert say(survey, sighting, spelling) == "second opinion"
    assert say(survey, sighting, "Una Holm", new=True) == "determined"
    people = {d.identified_by for d in standing.standing(survey).determinations[sighting]}
    assert len(people) == 2


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Fritz Grünwald", "F. Grünwald"),
        ("Jörg Käfer", "Joerg Kaefer"),
        ("Anna Lis", "Lis Anna"),
        ("Edda Holt", "Eda Holt"),
        ("Robert Tarn", "Bob Tarn"),
        ("Ole Tarn", "Peggy Tarn"),  # of one family: nicknames are many
    ],
)
def test_near_names_count_as_one_determiner_until_somebody_says_that_they_are_two(
    survey: Survey, one: str, other: str
):
    survey.connection.execute("update taxa set needs_two = 1")
    sighting = first(survey)

    def waits() -> bool:
        for kept in ("matches_due", "site_adults_due"):
            survey.run(f"delete from {kept}")
        queue = queueing.queue(survey, now=NOW)
        stands = standing.standing(survey, [sighting]).accepted[sighting].state
        assert (sighting in {one.sighting.identifier for one in queue}) == (stands != "determined")
        return stands == "second opinion"

    for who in (one, other):
        say(survey, sighting, who, new=True, name="Libellula depressa")
        assert waits()
    (need,) = (need for need in record_needs(survey, now=NOW) if need.kind == "near names")

    def all_follows() -> bool:
        return all(sighting in derived_rules.due(survey, one) for one in ("matches", "site_adults"))

    assert not all_follows()
    persons.tell_apart(survey, *need.choices, by="Co", now=NOW)
    assert all_follows()
    assert not waits()
    undone = undo.undo(survey, by="Co", now=NOW)
    assert all_follows()
    assert waits()
    undo.undo(survey, by="Co", now=NOW, number=undone.number)
    assert not waits()
    persons.join(survey, *need.choices, by="Co", now=NOW)
    assert all_follows()
    assert waits()


def test_a_short_name_stands_for_one_person_only(survey: Survey):
    sighting = first(survey)
    say(survey, sighting, "Ulla Brenner", new=True)
    say(survey, sighting, "Ivo Kranz", new=True)
    persons.set_short_name(survey, "UB", "Ulla Brenner", by="Co", now=NOW)
    with pytest.raises(UnknownError, match="is Ulla Brenner already"):
        persons.set_short_name(survey, "ub", "Ivo Kranz", by="Co", now=NOW)
    with pytest.raises(UnknownError, match="1 to 12 letters"):
        persons.set_short_name(survey, "far too long a name", "Ivo Kranz", by="Co", now=NOW)


def test_forgetting_somebody_forgets_their_short_name(survey: Survey):
    say(survey, first(survey), "Ulla Brenner", new=True)
    persons.set_short_name(survey, "IKV", "Ulla Brenner", by="Co", now=NOW)
    code = next(p.code for p in people.all_people(survey) if p.name == "Ulla Brenner")
    persons.forget(survey, code, now=NOW)
    assert "IKV\t" not in "\n".join(canonical_dump(survey))
    assert recognise("IKV", people.known(survey)) is None


def test_the_queue_does_not_tell_the_second_determiner_the_first_name(survey: Survey):
    survey.connection.execute("update taxa set needs_two = 1")
    sighting = first(survey)
    say(survey, sighting, "Ulla Brenner", new=True, name="Libellula depressa")
    one = next(
        entry
        for entry in queueing.queue(survey, now=NOW, for_determiner="Una")
        if entry.sighting.identifier == sighting
    )
    assert "depressa" not in " ".join(one.entry.reasons)
    assert queueing.LOOK_WANTED in one.entry.reasons


def said_in_table(survey: Survey, tmp_path: Path, *rows: str):
    path = tmp_path / "said.csv"
    header = "sighting,cannotTell,identifiedBy\n"
    path.write_text(header + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return determine.determine_from_table(survey, path, by="", now=NOW, new=True)


def test_a_table_says_whose_family_name_a_new_person_has_and_adds_no_two_in_one(
    survey: Survey, tmp_path: Path
):
    say(survey, first(survey), "Jakub Trzpiot", new=True)
    one, other = [one.identifier for one in standing.sightings(survey)][:2]
    outcome = said_in_table(
        survey, tmp_path, f"{one},far,Zenon Trzpiot", f"{other},far,Bo Holm & Pia Lind"
    )
    assert [row.line for row in outcome.refused] == [3]
    assert "several people" in outcome.refused[0].reason
    (told,) = outcome.told
    assert (told.line, told.column) == (2, "identifiedBy")
    assert "Zenon Trzpiot is new here, and Jakub Trzpiot has a like family name" in told.reason
    (need,) = (need for need in record_needs(survey, now=NOW) if need.kind == "near names")
    assert need.record == "Jakub Trzpiot / Zenon Trzpiot"


def test_what_a_person_says_twice_in_a_table_under_two_spellings_is_not_taken(
    survey: Survey, tmp_path: Path
):
    say(survey, first(survey), "Rhoda Elswick", new=True)
    persons.set_short_name(survey, "RE", "Rhoda Elswick", by="Co", now=NOW)
    one, other = [one.identifier for one in standing.sightings(survey)][:2]
    rows = (f"{other},far,RE", f"{other},blurred,Rhoda Elswick", f"{one},blurred,RE")
    outcome = said_in_table(survey, tmp_path, *rows)
    assert (outcome.new, [row.line for row in outcome.refused]) == (1, [2, 3])
    assert "on line 3 as well" in outcome.refused[0].reason


def test_a_table_adds_no_person_whose_name_is_near_somebodys(survey: Survey, tmp_path: Path):
    say(survey, first(survey), "Rhoda Elswick", new=True)
    found = [one.identifier for one in standing.sightings(survey)][:2]
    names = ("R. Elswick", "Karl Busch")
    rows = (f"{one},far,{who}" for one, who in zip(found, names, strict=True))
    outcome = said_in_table(survey, tmp_path, *rows)
    assert [row.line for row in outcome.refused] == [2]
    assert "may be Rhoda Elswick" in outcome.refused[0].reason
    assert {one.name for one in people.known(survey)} & set(names) == {"Karl Busch"}
