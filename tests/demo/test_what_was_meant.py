"""The walk of the first mails of the demo finds what its truth.csv says was meant with them."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations
from pathlib import Path, PurePosixPath

import pytest
from tests_support import DEMO, csv_rows, every_part

from triage.pipeline import claims, inbox
from triage.store import copies, messages, photos
from triage.store.connection import open_survey

Meant = list[dict[str, str]]


@pytest.fixture(scope="module")
def meant(walked_once: Path) -> Meant:
    """Rows of the truth about the mails that the small inbox holds."""
    with open_survey(walked_once) as survey:
        received = {f"<{row.message_id}>" for row in messages.every(survey)}
    rows = [row for row in csv_rows(DEMO / "truth.csv") if row["message_id"] in received]
    assert len({row["message_id"] for row in rows}) > 10
    return rows


@pytest.fixture(scope="module")
def adults(meant: Meant) -> dict[str, dict[str, str]]:
    """By digest: what was meant with each picture of an adult."""
    return {row["sha256"]: row for row in meant if row["shows"] == "adult"}


def test_every_part_becomes_what_was_meant(walked_once: Path, meant: Meant):
    became: dict[tuple[str, str], set[str]] = defaultdict(set)
    with open_survey(walked_once) as survey:
        header = {row.row: f"<{row.message_id}>" for row in messages.every(survey)}
        for part in every_part(survey):
            became[header[part.message], PurePosixPath(part.file_name).name].add(part.outcome)
    for row in meant:
        key = row["message_id"], PurePosixPath(row["file_name"]).name
        assert row["expected_outcome"] in became[key], key


def test_times_and_places_of_adults_are_those_that_were_meant(walked_once: Path, adults):
    with open_survey(walked_once) as survey:
        known = claims.exposures(survey, adults)
    for photo, row in adults.items():
        chosen = known.chosen[known.best_of[photo]]
        day = chosen.time.event_date if chosen.time else ""
        # The truth names what the evidence says at least: a day is met by a time on that day.
        assert day[: len(row["expected_event_date"])] == row["expected_event_date"], row
        if row["expected_latitude"]:
            assert chosen.place, row
            assert chosen.place.decimal_latitude == pytest.approx(
                float(row["expected_latitude"]), abs=2e-4
            )
            assert chosen.place.decimal_longitude == pytest.approx(
                float(row["expected_longitude"]), abs=3e-4
            )
        else:
            assert chosen.place is None or chosen.place.decimal_latitude is None, row


def test_copies_are_those_that_were_meant(walked_once: Path, adults):
    with open_survey(walked_once) as survey:
        groups = copies.groups(survey, "copy")
    for one, other in combinations(sorted(adults), 2):
        alike = one in groups and other in groups and groups[one][0] == groups[other][0]
        assert alike == (adults[one]["copy_group"] == adults[other]["copy_group"])


def test_adults_are_seen_as_odonates(walked_once: Path, adults):
    with open_survey(walked_once) as survey:
        rows = photos.load(survey, adults)
    assert all(rows[photo].measurement.odonate >= 0.5 for photo in adults)


def test_a_human_is_asked_what_was_meant_to_be_asked(walked_once: Path, meant: Meant):
    with open_survey(walked_once) as survey:
        asked = {
            f"<{entry.message.message_id}>": {need.kind for need in entry.needs}
            for entry in inbox.entries(survey)
        }
    wanted = [row for row in meant if row["expected_question"]]
    assert wanted
    for row in wanted:
        assert set(row["expected_question"].split(" and ")) <= asked[row["message_id"]], row
