"""Learning from a survey: only with enough evidence, only if better, and back again."""

from __future__ import annotations

from pathlib import Path

from tests_support import NOW

from triage.analysis.view import shipped_heads
from triage.cli import main
from triage.pipeline import learning, review
from triage.pipeline.examine import examine, method_key
from triage.quality import measured_factors
from triage.quality.usability import STARTING_MODEL, model_from_bytes, model_to_bytes, usability
from triage.store import actions, photos
from triage.store import review as store
from triage.store.connection import Survey


def test_without_corrections_nothing_is_learned(survey: Survey):
    found = learning.learn(survey, by="Co", now=NOW)
    assert not found.changed
    assert found.lines[0] == "views and suborders: nothing was corrected or named yet"


def test_a_few_corrections_are_too_few_and_it_says_so(survey: Survey):
    photo = review.sightings(survey)[0].photos[0]
    review.correct(survey, photo, field="view", value="dorsal", by="Co", now=NOW)
    found = learning.learn(survey, by="Co", now=NOW)
    assert not found.changed
    assert any("needs 20 photos" in line for line in found.lines)


def test_what_was_learned_examines_anew_and_undoing_goes_back(survey: Survey):
    before = method_key(survey)
    with survey.transaction():
        action = actions.record(survey, command="examine", summary="learned", by="Co", now=NOW)
        store.add_learned(survey, "heads", shipped_heads().to_bytes(), "[]", action=action)
    assert method_key(survey) != before
    assert examine(survey, now=NOW, processes=1).photos > 0
    assert examine(survey, now=NOW, processes=1).photos == 0
    review.undo(survey, by="Co", now=NOW)
    assert method_key(survey) == before
    assert examine(survey, now=NOW, processes=1).photos > 0


def test_the_factors_of_a_kept_measurement_give_its_usability_again(survey: Survey):
    for row in photos.load(survey).values():
        if row.measurement is not None:
            again = usability(measured_factors(row.measurement), odonate=row.measurement.odonate)
            assert abs(again - row.measurement.usability) < 1e-9


def test_a_kept_usability_model_reads_back():
    assert model_from_bytes(model_to_bytes(STARTING_MODEL)) == STARTING_MODEL


def test_the_command_reports_before_and_after(walked: Path, capsys):
    assert main(["examine", "--learn", "--survey", str(walked), "--processes", "1"]) == 0
    assert "usability:" in capsys.readouterr().out
