"""Settings typed on a page: checked all together, written whole, told in the log, or refused."""

from __future__ import annotations

from typing import Any

import pytest
from tests_support import NOW

from triage.errors import ChangedMeanwhileError
from triage.pipeline import settings_change
from triage.store import actions
from triage.store.connection import SETTINGS, Survey
from triage.store.settings import read_settings


def typed(survey: Survey, **changed: Any) -> dict[str, dict[str, Any]]:
    """All settings as a form has them, some of them changed: section__name=value."""
    whole = {s: dict(getattr(survey.settings, s)) for s in type(survey.settings).model_fields}
    for name, value in changed.items():
        section, _, setting = name.partition("__")
        whole[section][setting] = value
    return whole


def change(survey: Survey, seen: str | None = None, **changed: Any) -> dict[str, str]:
    return settings_change.change_settings(
        survey,
        typed(survey, **changed),
        seen=settings_change.state_of_file(survey) if seen is None else seen,
        by="Ada Moor",
        now=NOW,
    )


def test_a_change_is_written_whole_and_told(survey: Survey):
    before = (survey.folder / SETTINGS).read_bytes()
    assert change(survey, survey__title="Rush Survey", queue__both_views_gain="0.7") == {}
    read = read_settings(survey.folder / SETTINGS)
    assert (read.survey.title, read.queue.both_views_gain) == ("Rush Survey", 0.7)
    assert (survey.folder / f"{SETTINGS}.before").read_bytes() == before
    assert not (survey.folder / f"{SETTINGS}.part").exists()
    newest = actions.log(survey, limit=1)[0]
    assert newest.by == "Ada Moor"
    assert "survey.title: Linnet Water Survey is now Rush Survey" in newest.summary


@pytest.mark.parametrize(
    ("changed", "name", "words"),
    [
        ({"matching__detection_per_pass": "1.5"}, "matching.detection_per_pass", "less than 1"),
        ({"matching__detection_per_pass": "many"}, "matching.detection_per_pass", "a number"),
        ({"survey__time_zone": "Mars/Olympus"}, "survey.time_zone", "no zone of that name"),
        ({"survey__language": "xx"}, "survey.language", "must be"),
        ({"survey__season": ["60"]}, "survey.season", "missing"),
        ({"survey__season": ["0", "400"]}, "survey.season", "at least 1"),
        ({"survey__country_code": "Poland"}, "survey.country_code", "cannot be used"),
        ({"determinations__independent": "1.5"}, "determinations.independent", "whole number"),
        ({"survey__area": ["54", "21", "53", "22"]}, "survey.area", "south, west"),
    ],
)
def test_one_that_cannot_be_used_keeps_all_as_they_were(survey: Survey, changed, name, words):
    before = (survey.folder / SETTINGS).read_bytes()
    wrong = change(survey, **{"survey__title": "Rush Survey", **changed})
    assert list(wrong) == [name]
    assert words in wrong[name]
    assert (survey.folder / SETTINGS).read_bytes() == before


def test_several_mistakes_are_told_together(survey: Survey):
    wrong = change(survey, survey__time_zone="x", queue__both_views_gain="-1")
    assert set(wrong) == {"survey.time_zone", "queue.both_views_gain"}


def test_what_somebody_else_changed_meanwhile_is_not_written_over(survey: Survey):
    seen = settings_change.state_of_file(survey)
    change(survey, survey__title="First")
    with pytest.raises(ChangedMeanwhileError, match="somebody else"):
        change(survey, seen=seen, survey__title="Second")
    assert read_settings(survey.folder / SETTINGS).survey.title == "First"


def test_nothing_changed_is_no_line_in_the_log(survey: Survey):
    before = actions.log(survey, limit=100)
    assert change(survey) == {}
    assert actions.log(survey, limit=100) == before
