"""The published data-quality tests against their own inputs and expected outputs.

Rows: tests/data/bdq_validation.csv (source and licence beside it).
"""

import csv
import json
from datetime import date
from pathlib import Path

import pytest

from triage.standards.quality_tests import TESTS, run_test, shortcomings

LATEST = date(2026, 12, 31)
TABLE = Path(__file__).parent.parent / "data" / "bdq_validation.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
# The authority's translated rank labels are not carried: we write English ones.
KNOWN_DIFFERENCES = {"especie"}


def record_of(row):
    return {name.partition(":")[2]: value for name, value in row.items() if ":" in name and value}


@pytest.mark.parametrize("label", sorted(TESTS))
def test_every_published_row_gives_its_published_response(label):
    rows = [row for row in ROWS if row["Label"] == label]
    assert len(rows) >= 5
    wrong = []
    for row in rows:
        record = record_of(row)
        if KNOWN_DIFFERENCES.intersection(record.values()):
            continue
        found = run_test(label, record, latest=LATEST)
        expected = row["Response.result"]
        amended = {}
        if expected.startswith("{"):
            amended = {k.partition(":")[2]: v for k, v in json.loads(expected).items()}
            expected = ""
        if (found.status, found.result, dict(found.amended)) != (
            row["Response.status"],
            expected,
            amended,
        ):
            wrong.append((row["dataID"], record, found, row["Response.status"], expected))
    assert wrong == []


def test_known_differences_differ():
    for row in ROWS:
        record = record_of(row)
        if KNOWN_DIFFERENCES.intersection(record.values()):
            assert run_test(row["Label"], record, latest=LATEST).result == "NOT_COMPLIANT"
            assert row["Response.result"] == "COMPLIANT"


def test_a_good_record_has_no_shortcoming():
    record = {
        "occurrenceID": "urn:uuid:077c4a32-c842-4596-830c-1194fc22ef74",
        "basisOfRecord": "HumanObservation",
        "occurrenceStatus": "present",
        "type": "StillImage",
        "license": "https://creativecommons.org/licenses/by/4.0/",
        "kingdom": "Animalia",
        "scientificName": "Aeshna grandis",
        "taxonRank": "species",
        "sex": "male",
        "eventDate": "2026-06-14T10:05:12+02:00",
        "year": "2026",
        "month": "6",
        "day": "14",
        "decimalLatitude": "53.908",
        "decimalLongitude": "21.703",
        "geodeticDatum": "EPSG:4326",
        "coordinateUncertaintyInMeters": "142",
        "dateIdentified": "2026-07-01",
    }
    assert shortcomings(record, latest=LATEST) == ()


def test_each_fault_is_named_by_its_published_label():
    record = {"eventDate": "2026-06-31", "decimalLatitude": "153.9", "geodeticDatum": "WGS84"}
    labels = {response.label for response in shortcomings(record, latest=LATEST)}
    assert {
        "VALIDATION_EVENTDATE_STANDARD",
        "VALIDATION_DECIMALLATITUDE_INRANGE",
        "VALIDATION_GEODETICDATUM_STANDARD",
        "VALIDATION_OCCURRENCEID_NOTEMPTY",
    } <= labels


def test_an_unknown_label_is_an_error():
    with pytest.raises(KeyError):
        run_test("VALIDATION_NOTHING", {}, latest=LATEST)
