"""The published data-quality tests against their own inputs and expected outputs.

Rows: tests/data/bdq_validation.csv (source and licence beside it).
"""

import csv
from datetime import date
from pathlib import Path

import pytest

from triage.standards.quality_tests import TESTS, shortcomings

LATEST = date(2026, 12, 31)
TABLE = Path(__file__).parent.parent / "data" / "bdq_validation.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
# The authority's translated rank labels are not carried: we write English ones.
KNOWN_DIFFERENCES = {"especie"}


def record_of(row):
    return {name.partition(":")[2]: value for name, value in row.items() if ":" in name and value}


def published(row) -> bool | None:
    """Whether a row complies; None where what the test asks about is not in it."""
    if row["Response.status"] == "INTERNAL_PREREQUISITES_NOT_MET":
        return None
    assert row["Response.status"] == "RUN_HAS_RESULT"
    return {"COMPLIANT": True, "NOT_COMPLIANT": False}[row["Response.result"]]


@pytest.mark.parametrize("label", sorted(TESTS))
def test_every_published_row_gives_its_published_response(label):
    rows = [row for row in ROWS if row["Label"] == label]
    assert len(rows) >= 5
    records = [(row, record_of(row)) for row in rows]
    wrong = [
        (row["dataID"], record, published(row))
        for row, record in records
        if not KNOWN_DIFFERENCES.intersection(record.values())
        and TESTS[label](record, LATEST) is not published(row)
    ]
    assert wrong == []


def test_known_differences_differ():
    for row in ROWS:
        record = record_of(row)
        if KNOWN_DIFFERENCES.intersection(record.values()):
            assert TESTS[row["Label"]](record, LATEST) is False
            assert published(row) is True


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
    labels = set(shortcomings(record, latest=LATEST))
    assert {
        "VALIDATION_EVENTDATE_STANDARD",
        "VALIDATION_DECIMALLATITUDE_INRANGE",
        "VALIDATION_GEODETICDATUM_STANDARD",
        "VALIDATION_OCCURRENCEID_NOTEMPTY",
    } <= labels
