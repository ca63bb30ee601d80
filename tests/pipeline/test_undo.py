"""Undo: one's own newest action, whole; an undo too; and what nothing takes back."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests_support import NOW

from triage.determinations import Statement
from triage.errors import UnknownError
from triage.inbox import Settlement
from triage.pipeline import (
    correct,
    determine,
    drafts,
    edit,
    inbox,
    persons,
    settle,
    standing,
    tables,
    undo,
)
from triage.pipeline.determine import determine_from_table
from triage.pipeline.log import log_of
from triage.store import actions, evidence, people
from triage.store.connection import Survey
from triage.store.dump import canonical_dump


def dump(survey: Survey) -> list[str]:
    return list(canonical_dump(survey))


def first(survey: Survey) -> str:
    return standing.sightings(survey)[0].identifier


def say_far(survey: Survey, by: str = "Ida", why: str = "far") -> None:
    determine.determine(survey, first(survey), Statement(cannot_tell=why), by=by, now=NOW, new=True)


def sites_table(tmp_path: Path, locality: str = "Fern Pool", extra: str = "") -> Path:
    path = tmp_path / "sites.csv"
    path.write_text(
        "locationID,locality,decimalLatitude,decimalLongitude,coordinateUncertaintyInMeters\n"
        f"NEW-1,{locality},53.9,21.7,50\n{extra}",
        encoding="utf-8",
    )
    return path


def test_each_kind_of_action_is_taken_back_whole_and_brought_back(survey: Survey, tmp_path: Path):
    sighting = max(standing.sightings(survey), key=lambda one: len(one.photos))
    photo = sighting.photos[0]
    say_far(survey)  # the determiner is known to the survey from here on
    changes = {
        "determine": lambda: say_far(survey, why="too far"),
        "set aside": lambda: edit.set_aside(survey, first(survey), "drawn", by="Ida", now=NOW),
        "split": lambda: edit.split(survey, sighting.identifier, [photo], by="Ida", now=NOW),
        "correct": lambda: correct.correct_all(
            survey,
            photo,
            {"view": "anterior", "time": "2026-07-01", "place": "Heron Mere"},
            by="Ida",
            now=NOW,
        ),
        "import": lambda: tables.import_table(
            survey, "sites", sites_table(tmp_path), by="Ida", now=NOW
        ),
        "withdraw": lambda: tables.withdraw_site(
            survey, evidence.sites(survey)[0].location_id, by="Ida", now=NOW
        ),
        "settle": lambda: settle.settle(
            survey,
            [one.message.identifier for one in inbox.entries(survey)[:3]],
            Settlement(set_aside="seen"),
            by="Ida",
            now=NOW,
        ),
    }
    for name, change in changes.items():
        before = dump(survey)
        change()
        after = dump(survey)
        assert after != before, name
        undone = undo.undo(survey, by="Ida", now=NOW)
        assert dump(survey) == before, name
        again = undo.undo(survey, by="Ida", now=NOW, number=undone.number)
        assert dump(survey) == after, name
        assert again.holds
        undo.undo(survey, by="Ida", now=NOW, number=again.number)
        assert dump(survey) == before, name


def test_undo_takes_ones_own_newest_and_never_somebody_elses(survey: Survey):
    say_far(survey, by="Ida")
    edit.set_aside(survey, first(survey), "drawn", by="Bo", now=NOW)
    assert undo.undo(survey, by="ida", now=NOW).taken.command == "determine"
    with pytest.raises(UnknownError, match="no such action"):
        undo.undo(survey, by="Ida", now=NOW)
    number = actions.log(survey, limit=2)[1].number
    assert undo.undo(survey, by="Ida", now=NOW, number=number).taken.by == "Bo"


def test_ones_own_name_is_known_in_every_form(survey: Survey):
    say_far(survey, by="Ida Brenn")
    persons.set_short_name(survey, "IB", "Ida Brenn", by="Bo", now=NOW)
    undone = undo.undo(survey, by="ida  brenn", now=NOW)
    assert undone.taken.by == "Ida Brenn"
    undo.undo(survey, by="Ida Brenn", now=NOW, number=undone.number)
    assert undo.undo(survey, by="ib", now=NOW).taken.by == "Ida Brenn"


def test_what_was_taken_back_is_not_taken_back_again_but_can_be_brought_back(survey: Survey):
    say_far(survey)
    undone = undo.undo(survey, by="Ida", now=NOW)
    with pytest.raises(UnknownError) as refused:
        undo.undo(survey, by="Ida", now=NOW, number=undone.root)
    assert f"'triage undo {undone.number}' brings it back" in refused.value.next_step


def test_repeated_undo_goes_back_step_by_step(survey: Survey):
    before = {one.identifier: one.state for one in standing.sightings(survey)}
    edit.set_aside(survey, first(survey), "drawn", by="Bo", now=NOW)
    edit.set_aside(survey, first(survey), "", by="Bo", now=NOW, back=True)
    undo.undo(survey, by="Bo", now=NOW)
    assert standing.sightings(survey)[0].state == "set aside"
    undo.undo(survey, by="Bo", now=NOW)
    assert {one.identifier: one.state for one in standing.sightings(survey)} == before


def test_after_forgetting_nothing_else_is_taken_back_instead(survey: Survey):
    edit.set_aside(survey, first(survey), "drawn", by="coordinator", now=NOW)
    somebody = people.all_people(survey)[0]
    persons.forget(survey, somebody.code, now=NOW)
    before = dump(survey)
    with pytest.raises(UnknownError, match="nothing can be taken back"):
        undo.undo(survey, by="coordinator", now=NOW)
    assert dump(survey) == before


def test_the_log_shows_what_no_longer_holds(survey: Survey):
    say_far(survey)
    undone = undo.undo(survey, by="Ida", now=NOW)
    taken, made = actions.log(survey, limit=2)
    assert (made.taken_back, taken.taken_back) == (True, False)
    assert taken.summary.startswith("took back: ")
    undo.undo(survey, by="Ida", now=NOW, number=undone.number)
    back, taken, made = actions.log(survey, limit=3)
    assert (made.taken_back, taken.taken_back, back.taken_back) == (False, True, False)
    assert back.summary.startswith("brought back: ")


def test_an_unsent_draft_goes_with_its_question_and_comes_back_with_it(survey: Survey):
    survey.settings = survey.settings.model_copy(
        update={
            "survey": survey.settings.survey.model_copy(
                update={"reply_address": "linnet@example.org"}
            )
        }
    )
    row = next(one.message for one in inbox.entries(survey) if one.message.sender_address)
    settle.settle(survey, [row.identifier], Settlement(ask="place"), by="Bo", now=NOW)
    (draft,) = drafts.drafts(survey)
    assert Path(draft.path).is_file()
    undone = undo.undo(survey, by="Bo", now=NOW)
    assert not Path(draft.path).exists()
    assert drafts.drafts(survey) == []
    undo.undo(survey, by="Bo", now=NOW, number=undone.number)
    assert drafts.drafts(survey) == [draft]
    assert Path(draft.path).is_file()


def test_of_two_imports_the_later_one_that_holds_counts(survey: Survey, tmp_path: Path):
    def locality() -> str | None:
        found = [s.locality for s in evidence.sites(survey) if s.location_id == "NEW-1"]
        return found[0] if found else None

    numbers = []
    for name in ("One", "Two", "Three"):
        tables.import_table(survey, "sites", sites_table(tmp_path, name), by="Bo", now=NOW)
        numbers.append(actions.log(survey, limit=1)[0].number)
    assert locality() == "Three"
    undo.undo(survey, by="Bo", now=NOW, number=numbers[1])
    assert locality() == "Three"
    undo.undo(survey, by="Bo", now=NOW, number=numbers[2])
    assert locality() == "One"
    undo.undo(survey, by="Bo", now=NOW, number=numbers[0])
    assert locality() is None


def test_what_an_import_did_not_touch_stays_when_it_is_taken_back(survey: Survey, tmp_path: Path):
    held = evidence.sites(survey)
    other = "NEW-2,Alder Pond,53.8,21.6,50\n"
    tables.import_table(survey, "sites", sites_table(tmp_path), by="Bo", now=NOW)
    later = NOW + timedelta(hours=1)
    tables.import_table(survey, "sites", sites_table(tmp_path, extra=other), by="Bo", now=later)
    undo.undo(survey, by="Bo", now=later)
    assert {s.location_id for s in evidence.sites(survey)} - {s.location_id for s in held} == {
        "NEW-1"
    }


def test_the_same_words_said_again_are_one_action(survey: Survey):
    say_far(survey)
    before = dump(survey)
    say_far(survey)
    assert dump(survey) == before
    say_far(survey, why="wings folded")
    say_far(survey)
    assert len(standing.standing(survey, [first(survey)]).determinations[first(survey)]) == 3


def test_a_table_of_determinations_is_taken_back_whole(survey: Survey, tmp_path: Path):
    names = [one.identifier for one in standing.sightings(survey)[:3]]
    table = tmp_path / "said.csv"
    rows = [f"{name},wings folded,Ida Kvist" for name in names]
    table.write_text("sighting,cannotTell,identifiedBy\n" + "\n".join(rows) + "\n")
    assert determine_from_table(survey, table, by="Bo", now=NOW, new=True).new == 3
    undo.undo(survey, by="Bo", now=NOW)
    assert standing.standing(survey).determinations == {}


def test_a_table_of_several_people_is_the_coordinators_and_taken_back_as_theirs(
    survey: Survey, tmp_path: Path
):
    found = [one.identifier for one in standing.sightings(survey)][:2]
    path = tmp_path / "said.csv"
    rows = "".join(
        f"{one},far,{who}\n" for one, who in zip(found, ("Karl Busch", "Vera Adler"), strict=True)
    )
    path.write_text("sighting,cannotTell,identifiedBy\n" + rows, encoding="utf-8")
    assert determine_from_table(survey, path, by="", now=NOW, new=True).new == 2
    assert undo.undo(survey, by="coordinator", now=NOW).taken.by == "coordinator"
    stands = standing.standing(survey, found).accepted
    assert {stands[one].state for one in found if one in stands} <= {"queued"}
    path.write_text(
        f"sighting,cannotTell,identifiedBy\n{found[0]},blurred,Vera Adler\n", encoding="utf-8"
    )
    determine_from_table(survey, path, by="", now=NOW, new=True)
    assert undo.undo(survey, by="vera adler", now=NOW).taken.by == "Vera Adler"


def test_whoever_an_action_added_goes_and_comes_with_it(survey: Survey):
    def names() -> list[str]:
        listed = [one.name for one in people.all_people(survey)]
        assert [one.name for one in people.known(survey)] == listed
        return listed

    before = names()
    say_far(survey, by="Rhoda Elswick")
    assert names() == [*before, "Rhoda Elswick"]
    undo.undo(survey, by="Rhoda Elswick", now=NOW)
    assert names() == before
    with pytest.raises(UnknownError, match="nobody in this survey is called so"):
        people.determiner(survey, "Rhoda Elswick")
    say_far(survey, by="Rhoda Elswick", why="blurred")
    undo.undo(
        survey,
        by="Karl Busch",
        now=NOW,
        number=log_of(survey, limit=3, reader="", blind=False)[1].number,
    )
    assert names() == [*before, "Rhoda Elswick"]  # once, though both hold
    photo = standing.sightings(survey)[0].photos[0]
    said = {"photographer": "Karl Busch"}
    correct.correct_all(survey, photo, said, by="Ida", now=NOW, new=True)
    assert names() == [*before, "Rhoda Elswick", "Karl Busch"]
    undo.undo(survey, by="Ida", now=NOW)
    assert names() == [*before, "Rhoda Elswick"]


def test_whoever_was_joined_is_known_by_the_old_name_until_they_are_parted(survey: Survey):
    sender = next(one for one in people.known(survey) if one.name and one.addresses)
    other = people.determiner(survey, "Rhoda Elswick", new=True)
    persons.join(survey, sender.addresses[0], other.code, now=NOW)
    [joined] = log_of(survey, limit=1, reader="", blind=False)
    assert joined.summary == f"{sender.name} and Rhoda Elswick are one person"
    say_far(survey, by="Rhoda Elswick")
    assert people.determiner(survey, "rhoda elswick").row == sender.row
    assert undo.undo(survey, by="Rhoda Elswick", now=NOW).taken.by == sender.name
    undo.undo(survey, by="coordinator", now=NOW)
    assert people.determiner(survey, "Rhoda Elswick").row != sender.row


def test_an_undo_under_a_name_near_somebodys_is_asked_about(survey: Survey):
    say_far(survey, by="Rhoda Elswick")
    with pytest.raises(UnknownError, match="Rhoda Elswick may be meant"):
        undo.undo(survey, by="R. Elswick", now=NOW)
    with pytest.raises(UnknownError, match="no such action"):
        undo.undo(survey, by="Karl Busch", now=NOW)
