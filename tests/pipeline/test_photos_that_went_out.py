"""Photos that an export handed on, and whose consent has gone since, are named."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests_support import NOW

from triage.pipeline import audit, consents, correct, publish, undo
from triage.store import people, sightings
from triage.store.connection import Survey, open_survey

LICENSED = "You may publish my photos under CC BY 4.0."


@pytest.fixture
def survey(walked: Path):
    with open_survey(walked) as opened:
        wanted = {"include_unnamed": True, "include_doubted": True}
        section = opened.settings.publishing.model_copy(update=wanted)
        opened.settings = opened.settings.model_copy(update={"publishing": section})
        yield opened


def handed_on(survey: Survey, to: Path) -> list[str]:
    """The photos of an export of everything, as if everybody had agreed to it."""
    for person in people.all_people(survey):
        consents.record_consent(survey, person.code, LICENSED, by="Co", now=NOW)
    for one in {photo for row in sightings.every(survey) for photo in row.photos}:
        correct.correct(survey, one, field="publication", value="cleared", by="Co", now=NOW)
    publish.export(survey, to, now=NOW)
    rows = survey.connection.execute("select photo from pack_photos where pack like 'out, %'")
    return sorted({row[0] for row in rows})


def test_an_export_notes_the_photos_that_it_carries_and_an_internal_one_none(survey, tmp_path):
    out = handed_on(survey, tmp_path / "out")
    assert len(out) == len(list((tmp_path / "out" / "media").iterdir())) > 2
    publish.export(survey, tmp_path / "own", internal=True, now=NOW)
    count = "select count(*) from pack_photos where pack like 'own, %'"
    assert survey.connection.execute(count).fetchone()[0] == 0
    assert publish.no_longer_agreed(survey) == []


def test_a_photo_that_is_withdrawn_names_the_exports_that_hold_it_until_it_is_put_back(
    survey, tmp_path
):
    first = handed_on(survey, tmp_path / "out")[0]
    correct.withdraw(survey, [first], reason="", by="Co", now=NOW)
    (said,) = publish.no_longer_agreed(survey)
    assert said.startswith("1 photo in out, version ")
    assert "take them down" in said
    assert said in audit.check(survey, now=NOW).not_done
    undo.undo(survey, by="Co", now=NOW)
    assert publish.no_longer_agreed(survey) == []


def test_a_sender_who_says_no_later_names_the_exports_that_hold_their_photos(survey, tmp_path):
    handed_on(survey, tmp_path / "out")
    for person in people.all_people(survey):
        refusal = "Please do not publish my photos any more."
        consents.record_consent(survey, person.code, refusal, by="Co", now=NOW)
    (said,) = publish.no_longer_agreed(survey)
    assert " photos in out, version " in said
