"""What people correct reaches all that rests on it at once, and undo takes all of it back."""

from __future__ import annotations

import dataclasses

import pytest
from pictures_made import MEASURED
from tests_support import NOW

from triage import quality
from triage.analysis.view import VIEWS
from triage.determinations import Statement
from triage.pipeline import correct, determine, match, queueing, standing, undo
from triage.quality import Measurement
from triage.quality.usability import STARTING_MODEL, UsabilityModel, usability
from triage.sightings import Sighting
from triage.store import copies, derived_rules, evidence, photos
from triage.store.connection import Survey
from triage.store.dump import canonical_dump


def measured(survey: Survey, photo: str) -> Measurement:
    found = photos.load(survey, [photo])[photo].measurement
    assert found is not None
    return found


def with_a_view(survey: Survey, view: str) -> Sighting:
    """A sighting whose best photo of that view is known."""
    return next(
        one for one in standing.sightings(survey) if getattr(one, f"best_{view}") and one.photos
    )


def of_photo(survey: Survey, photo: str) -> Sighting:
    return next(one for one in standing.sightings(survey) if photo in one.photos)


def score(survey: Survey, sighting: str) -> float:
    ranked = queueing.queue(survey, now=NOW)
    return next(one.entry.score for one in ranked if one.sighting.identifier == sighting)


@pytest.mark.parametrize("view", VIEWS)
def test_a_corrected_view_is_certain_and_its_reason_and_usability_follow(survey: Survey, view: str):
    photo = with_a_view(survey, "lateral").best_lateral
    correct.correct(survey, photo, field="view", value=view, by="Bo", now=NOW)
    now = measured(survey, photo)
    assert (now.view, getattr(now, f"p_{view}")) == (view, 1.0)
    assert now.usability == usability(quality.measured_factors(now), odonate=now.odonate)
    told = [reason for reason in now.reasons if "seen" in reason or "view not told" in reason]
    assert len(told) == 1
    assert told[0].endswith("(as corrected)")
    assert "%" not in told[0]


def test_usability_after_a_correction_is_that_of_the_surveys_own_model(survey: Survey):
    from triage.quality.usability import model_to_bytes
    from triage.store import actions, learned

    photo = with_a_view(survey, "lateral").best_lateral
    own = UsabilityModel(method="own", intercept=0.1, weights=STARTING_MODEL.weights)
    number = actions.record(survey, command="learn", summary="own", by="Bo", now=NOW)
    learned.add_learned(survey, "usability", model_to_bytes(own), "{}", action=number)
    correct.correct(survey, photo, field="view", value="oblique", by="Bo", now=NOW)
    now = measured(survey, photo)
    assert now.usability == usability(quality.measured_factors(now), odonate=now.odonate, model=own)


def test_a_face_is_worth_less_than_a_back_so_the_queue_moves(survey: Survey):
    one = with_a_view(survey, "lateral")
    before = score(survey, one.identifier)
    for photo in one.photos:
        correct.correct(survey, photo, field="view", value="anterior", by="Bo", now=NOW)
    assert score(survey, one.identifier) < before
    for _ in one.photos:
        undo.undo(survey, by="Bo", now=NOW)
    assert score(survey, one.identifier) == pytest.approx(before)


def test_reasons_in_the_queue_speak_of_the_corrected_view(survey: Survey):
    one = with_a_view(survey, "lateral")
    for photo in one.photos:
        correct.correct(survey, photo, field="view", value="anterior", by="Bo", now=NOW)
    ranked = queueing.queue(survey, now=NOW)
    entry = next(r.entry for r in ranked if r.sighting.identifier == one.identifier)
    assert (entry.best_lateral, entry.best_dorsal) == ("", "")


def test_the_best_views_of_a_named_sighting_follow_a_correction_its_facts_do_not(survey: Survey):
    one = with_a_view(survey, "lateral")
    determine.determine(
        survey, one.identifier, Statement(cannot_tell="far"), by="Ida", now=NOW, new=True
    )
    correct.correct(survey, one.best_lateral, field="view", value="dorsal", by="Bo", now=NOW)
    now = of_photo(survey, one.photos[0])
    assert now.identifier == one.identifier
    assert now.best_lateral != one.best_lateral
    assert now.best_dorsal
    assert (now.event_date, now.locality) == (one.event_date, one.locality)
    undo.undo(survey, by="Bo", now=NOW)
    again = of_photo(survey, one.photos[0])
    assert (again.best_lateral, again.best_dorsal) == (one.best_lateral, one.best_dorsal)


def test_a_corrected_place_makes_its_matches_anew_and_no_others(survey: Survey):
    site = next(s for s in evidence.sites(survey) if s.locality == "Heron Mere")
    one = next(
        s
        for s in standing.sightings(survey)
        if s.decimal_latitude is not None and s.location_id != site.location_id
    )
    others = [m for m in match.current(survey) if m.sighting != one.identifier]
    correct.correct(survey, one.photos[0], field="place", value="Heron Mere", by="Bo", now=NOW)
    moved = of_photo(survey, one.photos[0])
    assert moved.identifier in derived_rules.due(survey, "matches")
    assert len(derived_rules.due(survey, "matches")) < len(standing.sightings(survey))
    nearest = min(
        (m for m in match.current(survey, [moved.identifier]) if m.distance is not None),
        key=lambda m: m.distance or 0.0,
    )
    assert nearest.location_id == site.location_id
    assert moved.identifier not in derived_rules.due(survey, "matches")
    untouched = {m.sighting for m in others} - {moved.identifier}
    kept = [m for m in match.current(survey) if m.sighting in untouched]
    assert kept == [m for m in others if m.sighting in untouched]


def test_matches_brought_up_to_date_are_those_of_matching_everything(survey: Survey):
    for photo in standing.sightings(survey)[0].photos:
        correct.correct(survey, photo, field="place", value="53.91,21.71", by="Bo", now=NOW)
    piecemeal = match.current(survey)
    assert match.match(survey) == piecemeal


def test_a_survey_that_was_never_matched_is_not_matched_by_looking(survey: Survey):
    survey.connection.execute("delete from matches")
    queueing.queue(survey, now=NOW)
    assert match.current(survey) == []


def test_a_box_that_was_taken_back_is_measured_as_found_again(survey: Survey):
    one = with_a_view(survey, "lateral")
    before = list(canonical_dump(survey))
    was = measured(survey, one.best_lateral)
    x0, y0, x1, y1 = was.box
    box = f"{x0},{y0},{(x0 + x1) / 2},{(y0 + y1) / 2}"
    correct.correct(survey, one.best_lateral, field="box", value=box, by="Bo", now=NOW)
    assert measured(survey, one.best_lateral).insect_px < was.insect_px
    undo.undo(survey, by="Bo", now=NOW)
    assert measured(survey, one.best_lateral) == was
    match.current(survey)
    assert list(canonical_dump(survey)) == before


def test_a_photo_that_a_correction_parts_or_brings_back_says_so(survey: Survey):
    one = max(standing.sightings(survey), key=lambda s: len(set(s.photos)))
    photo, others = one.photos[0], len(set(one.photos)) - 1
    assert others

    def dated(day: str) -> correct.Corrected:
        return correct.correct(survey, photo, field="time", value=day, by="Bo", now=NOW)

    done = dated("2026-05-02")
    without = "1 photo" if others == 1 else f"{others} photos"
    assert done.moved == (
        f"this photo now stands as a sighting of its own, without {without} that it was with"
    )
    assert of_photo(survey, photo).identifier == done.own
    assert of_photo(survey, one.photos[1]).identifier == done.rest
    assert dated("2026-05-03").moved == ""
    back = dated(one.event_date)
    assert back.moved.startswith("this photo now stands as one sighting with ")
    assert (back.own, back.rest) == (of_photo(survey, photo).identifier, "")


def test_the_command_line_says_that_a_photo_was_parted(walked, survey: Survey, capsys):
    from triage.cli import main

    one = max(standing.sightings(survey), key=lambda s: len(set(s.photos)))
    line = ["correct", one.photos[0][:12], "--time", "2026-05-02", "--survey", str(walked)]
    assert main(line) == 0
    told = capsys.readouterr().out
    own = of_photo(survey, one.photos[0]).identifier[:10]
    rest = of_photo(survey, one.photos[1]).identifier[:10]
    assert "but this photo now stands as a sighting of its own" in told
    assert f"'triage sightings merge {own} {rest}'" in told
    assert "'triage undo' takes the correction back" in told


def test_what_one_copy_shows_all_copies_show_and_their_sighting_is_placed_anew(survey: Survey):
    one = with_a_view(survey, "lateral")
    best, copy = one.best_lateral, next(p for p in photos.load(survey) if p not in one.photos)
    copies.save_groups(survey, "copy", [("c1", (best, copy), best)], {best, copy})
    before = score(survey, one.identifier)
    correct.correct(survey, copy, field="view", value="anterior", by="Bo", now=NOW)
    assert measured(survey, best).view == "anterior"
    assert score(survey, of_photo(survey, best).identifier) < before


def test_a_corrected_box_alone_changes_only_the_box_until_it_is_measured_there():
    kept = dataclasses.replace(MEASURED, reasons=("seen from the back (80%)",))
    said = quality.corrected(kept, box=(0.2, 0.2, 0.6, 0.6))
    assert said == dataclasses.replace(kept, box=(0.2, 0.2, 0.6, 0.6))


def test_what_a_person_put_at_a_site_moves_with_the_site(walked, survey: Survey, tmp_path):
    from tests_support import DEMO

    from triage.cli import main

    photo = standing.sightings(survey)[0].photos[0]
    correct.correct(survey, photo, field="place", value="Heron Mere", by="Bo", now=NOW)
    assert of_photo(survey, photo).decimal_latitude == 53.9021
    table = tmp_path / "sites.csv"
    rows = (DEMO / "sites.csv").read_text(encoding="utf-8")
    table.write_text(rows.replace(*MOVED), encoding="utf-8")
    assert main(["sites", str(table), "--survey", str(walked)]) == 0
    assert of_photo(survey, photo).decimal_latitude == 53.906
    assert main(["undo", "--survey", str(walked)]) == 0
    assert of_photo(survey, photo).decimal_latitude == 53.9021


MOVED = ("53.9021,21.6954", "53.9060,21.6954")  # Heron Mere, some 430 m to the north


def test_a_site_that_is_moved_by_a_table_moves_what_names_it_at_once(walked, survey, tmp_path):
    from tests_support import DEMO

    from triage.cli import main
    from triage.store import messages

    def north() -> dict[str, float | None]:
        found = standing.sightings(survey)
        return {
            one.identifier: one.decimal_latitude for one in found if one.locality == "Heron Mere"
        }

    def everything() -> list[object]:
        states = [(row.identifier, row.state, row.state_reason) for row in messages.every(survey)]
        return [standing.sightings(survey), states, match.current(survey)]

    match.match(survey)
    before, whole = north(), everything()
    assert 53.9021 in before.values()
    table = tmp_path / "sites.csv"
    rows = (DEMO / "sites.csv").read_text(encoding="utf-8")
    assert MOVED[0] in rows
    table.write_text(rows.replace(*MOVED), encoding="utf-8")
    assert main(["sites", str(table), "--survey", str(walked)]) == 0
    assert 53.906 in north().values()
    at_once = everything()
    derived_rules.all_anew(survey)
    assert main(["examine", "--survey", str(walked)]) == 0
    match.match(survey)
    assert everything() == at_once
    assert main(["undo", "--survey", str(walked)]) == 0
    assert everything() == whole
