"""Exported rows against the published single-record data-quality tests.

The tests themselves are checked against the published rows in test_quality_tests.py (TDWG
Biodiversity Data Quality Interest Group, Task Group 2, 2026).
"""

from __future__ import annotations

import zipfile
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from tests_support import csv_rows

from triage import exports
from triage.checklist import Taxon
from triage.determinations import Accepted
from triage.exports import ExportContent, ReleasePolicy, SurveyMetadata
from triage.exports.shortcomings import next_step
from triage.exuviae import ExuviaeLot, Site
from triage.sightings import Sighting
from triage.standards import quality_tests

NOW = datetime(2026, 11, 1, tzinfo=UTC)
LATEST = date(2026, 12, 31)
DATES = (
    *("2026-06-13T14:07:05+02:00", "2026-06-13T14:07", "2026-06-13", "2026-06"),
    *("2026-06-13/2026-06-14", "2026-06-30/2026-07-02", "2024-02-29T23:59:59Z"),
)


def content() -> ExportContent:
    sightings = tuple(
        Sighting(
            identifier=f"s{number}",
            observer="obs-1",
            event_date=event_date,
            decimal_latitude=53.9123 + number / 10,
            decimal_longitude=-0.0004 if number == 1 else 21.7187,
            coordinate_uncertainty_in_meters=0.4 if number == 2 else 12.0,
        )
        for number, event_date in enumerate(DATES)
    )
    names = [("Anax imperator", "species"), ("Anax", "genus"), ("Aeshnidae", "family"), ("", "")]
    return ExportContent(
        survey=SurveyMetadata(
            title="Linnet Water Survey",
            licence="https://creativecommons.org/licenses/by/4.0/legalcode",
        ),
        sightings=sightings,
        accepted={
            one.identifier: Accepted(
                state="determined" if name else "queued",
                scientific_name=name,
                taxon_rank=rank,
                sex="pair" if name == "Anax" else "female",
            )
            for one, (name, rank) in zip(sightings, names * 2, strict=False)
        },
        sites=(
            Site(
                location_id="HM",
                locality="Heron Mere",
                decimal_latitude=53.9,
                decimal_longitude=21.7,
                coordinate_uncertainty_in_meters=80.0,
                sensitivity="2",
            ),
        ),
        lots=(
            ExuviaeLot(
                catalog_number="L1",
                event_id="v1",
                location_id="HM",
                first_day="2026-05-30",
                last_day="2026-06-01",
                scientific_name="Coenagrion",
                taxon_rank="genus",
                individual_count=0,
                date_identified="2026-07-01",
            ),
        ),
        taxa=(Taxon(scientific_name="Anax imperator", rank="species", family="Aeshnidae"),),
    )


def occurrences(
    folder: Path, policy: ReleasePolicy, given: ExportContent | None = None
) -> list[dict[str, str]]:
    exports.write_export(folder, given or content(), policy, now=NOW)
    (path,) = folder.glob("darwin-core-archive*.zip")
    with zipfile.ZipFile(path) as archive:
        (name,) = (n for n in archive.namelist() if n.startswith("occurrence"))
        return csv_rows(archive.read(name))


@pytest.mark.parametrize("internal", [False, True])
def test_every_exported_row_passes_every_published_validation(tmp_path, internal):
    policy = ReleasePolicy(internal=internal, include_unnamed=True)
    rows = occurrences(tmp_path / "x", policy)
    assert len(rows) == len(DATES) + 1
    failed = {
        (test, row["otherCatalogNumbers"] or row["organismQuantityType"])
        for row in rows
        for test in quality_tests.shortcomings(row, latest=LATEST)
    }
    assert failed == set()


def failed_tests(
    folder: Path, policy: ReleasePolicy, given: ExportContent
) -> dict[str, tuple[str, ...]]:
    """What the export itself says: the records that fail, by test."""
    outcome = exports.write_export(folder, given, policy, now=NOW)
    return {test: one.records for one in outcome.shortcomings for test in one.tests}


def test_an_interval_over_new_year_has_no_year_and_fails_that_test_alone(tmp_path):
    held = content()
    late = replace(held.sightings[0], event_date="2025-12-31/2026-01-01")
    policy = ReleasePolicy(include_unnamed=True)
    failed = failed_tests(tmp_path / "x", policy, replace(held, sightings=(late,)))
    assert failed == {"VALIDATION_YEAR_NOTEMPTY": ("s0",)}


def test_the_newer_words_for_occurrence_status_fail_that_one_test_alone(tmp_path):
    failed = failed_tests(
        tmp_path / "x", ReleasePolicy(occurrence_status="detected", include_unnamed=True), content()
    )
    assert failed.keys() == {"VALIDATION_OCCURRENCESTATUS_STANDARD"}
    (records,) = failed.values()
    assert len(records) == len(DATES) + 1


def test_tests_that_the_same_records_fail_stand_together_with_what_mends_them(tmp_path):
    held = content()
    undated = replace(held.sightings[3], event_date="")
    unplaced = replace(held.sightings[0], decimal_latitude=None, decimal_longitude=None)
    outcome = exports.write_export(
        tmp_path / "x",
        replace(held, sightings=(undated, unplaced)),
        ReleasePolicy(include_unnamed=True),
        now=NOW,
    )
    found = {one.records: one for one in outcome.shortcomings}
    assert found.keys() == {("s3",), ("s0",)}
    assert "VALIDATION_EVENTDATE_NOTEMPTY" in found["s3",].tests
    assert "--time" in found["s3",].next_step
    assert "VALIDATION_DECIMALLATITUDE_NOTEMPTY" in found["s0",].tests
    assert "--place" in found["s0",].next_step


def test_a_record_whose_number_is_withheld_goes_by_its_identifier(tmp_path):
    held = content()
    given = replace(
        held,
        survey=replace(held.survey, licence=""),
        sightings=(),
        sites=(replace(held.sites[0], private=True),),
    )
    failed = failed_tests(tmp_path / "x", ReleasePolicy(include_unnamed=True), given)
    assert failed.keys() == {"VALIDATION_LICENCE_NOTEMPTY"}
    ((record,),) = failed.values()
    assert record.startswith("urn:uuid:")


@pytest.mark.parametrize("test", quality_tests.TESTS)
def test_every_validation_has_a_next_step(test):
    assert next_step(test)
