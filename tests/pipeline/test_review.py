"""Determinations, splits, merges, corrections and undoing on a walked survey."""

from __future__ import annotations

import pytest
from tests_support import NOW

from triage.determinations import Statement
from triage.errors import TriageError, UnknownError
from triage.pipeline import correct, determine, edit, match, queueing, standing, undo
from triage.sightings import Sighting
from triage.store import evidence, sightings
from triage.store.connection import Survey
from triage.store.dump import canonical_dump


def several(survey: Survey) -> Sighting:
    """A sighting of several photos."""
    return max(standing.sightings(survey), key=lambda one: len(one.photos))


def by_identifier(survey: Survey) -> dict[str, Sighting]:
    return {one.identifier: one for one in standing.sightings(survey)}


def lines(survey: Survey) -> list[str]:
    return list(canonical_dump(survey))


def test_a_determination_leaves_the_queue_and_freezes_the_sighting(survey: Survey):
    first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    stands = determine.determine(
        survey,
        first[:8],
        Statement(taxon="Aeshna", second_opinion=False),
        by="Ida",
        now=NOW,
        new=True,
    )
    assert (stands.state, stands.scientific_name, stands.taxon_rank) == (
        "determined",
        "Aeshna",
        "genus",
    )
    assert by_identifier(survey)[first].frozen
    assert first not in [one.sighting.identifier for one in queueing.queue(survey, now=NOW)]


def test_a_second_opinion_waits_in_everybody_elses_queue(survey: Survey):
    first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    asked = Statement(taxon="Libellula", second_opinion=True)
    determine.determine(survey, first, asked, by="Ida", now=NOW, new=True)

    def names(who: str) -> list[str]:
        ranked = queueing.queue(survey, now=NOW, for_determiner=who)
        return [one.sighting.identifier for one in ranked]

    assert first in names("Bo")
    assert first not in names("Ida")


def test_a_misspelt_name_is_refused_with_what_is_near(survey: Survey):
    first = standing.sightings(survey)[0].identifier
    with pytest.raises(UnknownError, match="Libellula depressa"):
        determine.determine(
            survey, first, Statement(taxon="Libelula depresa"), by="Ida", now=NOW, new=True
        )


def test_saying_two_things_at_once_is_refused(survey: Survey):
    first = standing.sightings(survey)[0].identifier
    both = Statement(taxon="Aeshna", cannot_tell="blurred")
    with pytest.raises(TriageError, match="one name, or"):
        determine.determine(survey, first, both, by="Ida", now=NOW, new=True)


def test_undoing_a_determination_puts_the_sighting_back(survey: Survey):
    first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    determine.determine(
        survey, first, Statement(cannot_tell="too far"), by="Ida", now=NOW, new=True
    )
    assert by_identifier(survey)[first].state == "undeterminable"
    taken = undo.undo(survey, by="Ida", now=NOW)
    assert taken.taken.command == "determine"
    assert by_identifier(survey)[first].state == "queued"


def test_a_split_makes_two_and_undoing_makes_one_again(survey: Survey):
    one, before = several(survey), lines(survey)
    edit.split(survey, one.identifier, [one.photos[0][:12]], by="Bo", now=NOW)
    found = by_identifier(survey)
    assert one.identifier not in found
    homes = [s for s in found.values() if set(s.photos) & set(one.photos)]
    assert sorted(len(s.photos) for s in homes) == [1, len(one.photos) - 1]
    undo.undo(survey, by="Bo", now=NOW)
    assert lines(survey) == before


def test_a_split_of_a_frozen_sighting_makes_new_identifiers_that_keep_the_name(survey: Survey):
    one = several(survey)
    determine.determine(
        survey, one.identifier, Statement(taxon="Libellula"), by="Ida", now=NOW, new=True
    )
    edit.split(survey, one.identifier, [one.photos[0]], by="Bo", now=NOW)
    homes = [s for s in standing.sightings(survey) if set(s.photos) & set(one.photos)]
    assert len(homes) == 2
    assert one.identifier not in {s.identifier for s in homes}
    assert {s.scientific_name for s in homes} == {"Libellula"}
    undo.undo(survey, by="Bo", now=NOW)
    assert one.identifier in by_identifier(survey)


def test_a_merge_keeps_the_older_identifier_and_undoing_parts_them(survey: Survey):
    first, second = (one.sighting.identifier for one in queueing.queue(survey, now=NOW)[:2])
    determine.determine(survey, first, Statement(taxon="Anisoptera"), by="Ida", now=NOW, new=True)
    photos = by_identifier(survey)[first].photos + by_identifier(survey)[second].photos
    edit.merge(survey, [second, first], by="Bo", now=NOW)
    found = by_identifier(survey)
    assert set(found[first].photos) == set(photos)
    assert second not in found
    undo.undo(survey, by="Bo", now=NOW)
    assert {first, second} <= by_identifier(survey).keys()


def test_a_merge_of_two_frozen_sightings_records_the_younger_as_superseded(survey: Survey):
    first, second = (one.sighting.identifier for one in queueing.queue(survey, now=NOW)[:2])
    determine.determine(survey, first, Statement(taxon="Libellula"), by="Ida", now=NOW, new=True)
    later = NOW.replace(hour=13)
    determine.determine(survey, second, Statement(taxon="Libellula"), by="Bo", now=later, new=True)
    edit.merge(survey, [second, first], by="Bo", now=later)
    assert second not in by_identifier(survey)
    stands = standing.standing(survey)
    assert {d.identified_by for d in stands.determinations[first]} == {
        d.identified_by for d in stands.determinations[first] if d.scientific_name == "Libellula"
    }
    assert len(stands.determinations[first]) == 2


def test_two_named_sightings_that_were_joined_can_be_split_again(survey: Survey):
    first, second = (one.sighting.identifier for one in queueing.queue(survey, now=NOW)[:2])
    for one in (first, second):
        statement = Statement(taxon="Libellula")
        determine.determine(survey, one, statement, by="Ida", now=NOW, new=True)
    held = [set(by_identifier(survey)[one].photos) for one in (first, second)]
    for _ in range(2):
        edit.merge(survey, [second, first], by="Bo", now=NOW)
        (whole,) = [i for i, s in by_identifier(survey).items() if set(s.photos) >= held[0]]
        edit.split(survey, whole, sorted(held[1]), by="Bo", now=NOW)
        parts = [s for s in by_identifier(survey).values() if set(s.photos) in held]
        assert sorted(map(sorted, held)) == sorted(sorted(s.photos) for s in parts)
        assert {s.scientific_name for s in parts} == {"Libellula"}
        first, second = (one.identifier for one in parts)
    undo.undo(survey, by="Bo", now=NOW)
    assert any(set(s.photos) >= held[0] | held[1] for s in by_identifier(survey).values())


def test_another_animal_in_a_photo_is_another_sighting(survey: Survey):
    one = standing.sightings(survey)[0]
    new = edit.add_animal(survey, one.photos[0], by="Bo", now=NOW)
    assert new != one.identifier
    assert by_identifier(survey)[new].photos == (one.photos[0],)
    assert by_identifier(survey)[one.identifier].photos == one.photos


def test_no_animal_is_added_to_a_photo_that_can_be_in_no_sighting(survey: Survey):
    photo = standing.sightings(survey)[0].photos[0]
    correct.withdraw(survey, [photo], reason="", by="Bo", now=NOW)
    before = lines(survey)
    with pytest.raises(UnknownError, match="can be in no sighting"):
        edit.add_animal(survey, photo, by="Bo", now=NOW)
    assert lines(survey) == before


def test_corrections_stand_above_what_was_measured_and_can_be_undone(survey: Survey):
    one = standing.sightings(survey)[0]
    before = lines(survey)
    correct.correct(survey, one.photos[0], field="view", value="anterior", by="Bo", now=NOW)
    assert one.photos[0] not in [
        best for s in standing.sightings(survey) for best in (s.best_dorsal, s.best_lateral)
    ]
    correct.correct(survey, one.photos[0], field="time", value="2026-07-01", by="Bo", now=NOW)
    correct.correct(survey, one.photos[0], field="place", value="Heron Mere", by="Bo", now=NOW)
    moved = next(s for s in standing.sightings(survey) if one.photos[0] in s.photos)
    assert (moved.event_date, moved.locality) == ("2026-07-01", "Heron Mere")
    for _ in range(3):
        undo.undo(survey, by="Bo", now=NOW)
    assert lines(survey) == before


@pytest.mark.parametrize(
    ("field", "value"),
    [("view", "from above"), ("box", "0.5,0.5,0.1,0.9"), ("box", "all"), ("publication", "yes")],
)
def test_a_correction_of_another_form_is_refused(survey: Survey, field: str, value: str):
    photo = standing.sightings(survey)[0].photos[0]
    with pytest.raises(UnknownError):
        correct.correct(survey, photo, field=field, value=value, by="Bo", now=NOW)


@pytest.mark.parametrize("fixed_by", ["a name", "an export"])
def test_what_a_person_says_of_a_photo_reaches_its_sighting_though_it_is_fixed(
    survey: Survey, fixed_by: str
):
    one = next(s for s in standing.sightings(survey) if len(s.photos) == 1)
    if fixed_by == "a name":
        said = Statement(taxon="Libellula")
        determine.determine(survey, one.identifier, said, by="Ida", now=NOW, new=True)
    else:
        sightings.freeze(survey, one.identifier, now=NOW)
    before = by_identifier(survey)[one.identifier]
    matches = match.current(survey, [one.identifier])
    places = [site for site in evidence.sites(survey) if site.location_id != one.location_id]
    for site, day in zip(places, ("2026-07-01", "2026-07-02"), strict=False):
        said = {"time": day, "place": site.location_id}
        correct.correct_all(survey, one.photos[0], said, by="Bo", now=NOW)
        now = by_identifier(survey)[one.identifier]
        assert (now.event_date, now.location_id) == (day, site.location_id)
        assert now.time_source == now.place_source == "coordinator"
        assert survey.column("select change from proposed_changes") == []
        likeliest = {m.location_id: m for m in match.current(survey, [one.identifier])}
        assert likeliest[site.location_id].distance == 0
    undo.undo(survey, by="Bo", now=NOW)
    assert by_identifier(survey)[one.identifier].event_date == "2026-07-01"
    undo.undo(survey, by="Bo", now=NOW)
    assert by_identifier(survey)[one.identifier] == before
    assert match.current(survey, [one.identifier]) == matches


def test_a_sighting_set_aside_leaves_the_queue_and_comes_back(survey: Survey):
    first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    edit.set_aside(survey, first, "a drawing", by="Bo", now=NOW)
    assert by_identifier(survey)[first].state == "set aside"
    edit.set_aside(survey, first, "", by="Bo", now=NOW, back=True)
    assert by_identifier(survey)[first].state == "queued"
