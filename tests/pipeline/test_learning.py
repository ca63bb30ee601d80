"""Learning from a survey: only with enough evidence, only if better, and back again."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

from tests_support import NOW

from triage.analysis.view import shipped_heads
from triage.cli import main
from triage.pipeline import correct, learning, standing, undo
from triage.pipeline.examine import examine, method_key
from triage.quality import measured_factors
from triage.quality.usability import STARTING_MODEL, model_from_bytes, model_to_bytes, usability
from triage.store import actions, photos
from triage.store import learned as store
from triage.store.connection import Survey


def test_without_corrections_nothing_is_learned(survey: Survey):
    found = learning.learn(survey, by="Co", now=NOW)
    assert not found.changed
    assert found.lines[0] == "views, suborders and boxes: nothing was corrected or named yet"


def test_a_few_corrections_are_too_few_and_it_says_so(survey: Survey):
    photo = standing.sightings(survey)[0].photos[0]
    correct.correct(survey, photo, field="view", value="dorsal", by="Co", now=NOW)
    found = learning.learn(survey, by="Co", now=NOW)
    assert not found.changed
    assert any("needs 20 photos" in line for line in found.lines)
    assert all("0 photos" not in line.partition(";")[2] for line in found.lines), (
        "no figures of none"
    )


def test_what_was_learned_examines_anew_and_undoing_goes_back(survey: Survey):
    before = method_key(survey)
    with survey.transaction():
        action = actions.record(survey, command="examine", summary="learned", by="Co", now=NOW)
        store.add_learned(survey, "heads", shipped_heads().to_bytes(), "[]", action=action)
    assert method_key(survey) != before
    assert examine(survey, now=NOW, processes=0).photos > 0
    assert examine(survey, now=NOW, processes=0).photos == 0
    undo.undo(survey, by="Co", now=NOW)
    assert method_key(survey) == before
    assert examine(survey, now=NOW, processes=0).photos > 0


def test_heads_learned_for_another_network_do_not_count(survey: Survey):
    """Its features mean other things; what was learned stays in the survey's history."""
    before = method_key(survey)
    older = dataclasses.replace(shipped_heads(), version="0123abcd of this survey, 2025-10-01")
    with survey.transaction():
        action = actions.record(survey, command="examine", summary="learned", by="Co", now=NOW)
        store.add_learned(survey, "heads", older.to_bytes(), "[]", action=action)
    assert method_key(survey) == before
    own = dataclasses.replace(older, version=f"{shipped_heads().version} of this survey")
    with survey.transaction():
        action = actions.record(survey, command="examine", summary="learned", by="Co", now=NOW)
        store.add_learned(survey, "heads", own.to_bytes(), "[]", action=action)
    assert method_key(survey) != before


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


def test_a_corrected_box_is_measured_at_once_and_alone(survey: Survey):
    digest, row = next(
        (key, row) for key, row in photos.load(survey).items()
        if row.measurement is not None and row.measurement.odonate > 0.9
    )  # fmt: skip
    others = photos.examined_with(survey, set(photos.load(survey)) - {digest})
    reasons = correct.correct(
        survey, digest, field="box", value="0.02,0.02,0.12,0.10", by="Co", now=NOW
    ).reasons
    told = photos.load(survey)[digest].measurement
    assert told is not None
    assert told.box == (0.02, 0.02, 0.12, 0.10)
    assert told.reasons == reasons
    assert told.insect_px < row.measurement.insect_px
    assert photos.examined_with(survey, others) == others
    assert examine(survey, now=NOW, processes=0).photos == 0
    undo.undo(survey, by="Co", now=NOW)
    assert examine(survey, now=NOW, processes=0).photos == 0
    assert photos.load(survey)[digest].measurement == row.measurement


def test_boxes_that_a_survey_always_draws_wider_are_learned_and_forgotten_again(survey: Survey):
    """Renders of the demo, the shipped networks: no figure of accuracy, only that it takes part."""
    seen = {
        key: row.measurement for key, row in photos.load(survey).items()
        if row.measurement is not None and row.measurement.odonate > 0.5
    }  # fmt: skip
    assert len(seen) >= 20, "as many as learning needs"
    for key, one in seen.items():
        x0, y0, x1, y1 = one.box
        wide, high = 0.15 * (x1 - x0), 0.15 * (y1 - y0)
        sides = max(0, x0 - wide), max(0, y0 - high), min(1, x1 + wide), min(1, y1 + high)
        with survey.transaction():
            action = actions.record(survey, command="correct", summary="box", by="Co", now=NOW)
            photos.add_correction(survey, key, "box", json.dumps(sides), action=action)
    found = learning.learn(survey, by="Co", now=NOW)
    line = next(line for line in found.lines if line.startswith("box:"))
    assert found.changed
    assert "better on held-out groups" in line
    before = method_key(survey)
    undo.undo(survey, by="Co", now=NOW)
    assert method_key(survey) != before
