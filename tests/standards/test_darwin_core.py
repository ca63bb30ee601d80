"""Darwin Core values, checked against the published quality tests where one applies."""

from __future__ import annotations

import uuid

import pytest

from triage.standards import darwin_core


@pytest.mark.parametrize(
    ("event_date", "expected"),
    [
        ("2026", {"year": "2026"}),
        ("2024-02", {"year": "2024", "month": "2"}),
        ("2024-02-01/2024-02-29", {"month": "2", "startDayOfYear": "32", "endDayOfYear": "60"}),
        # The day numbers of a common and a leap year: 31 December is 365 and 366.
        ("2024-12-31", {"day": "31", "startDayOfYear": "366", "endDayOfYear": "366"}),
        ("2026-12-31", {"day": "31", "startDayOfYear": "365", "endDayOfYear": "365"}),
        ("2026-06-13T14:07:05+02:00", {"day": "13", "eventTime": "14:07:05+02:00"}),
        ("2026-06-13T14:07", {"day": "13", "eventTime": "14:07"}),
        ("2026-06-13T12:07:05Z", {"eventTime": "12:07:05Z"}),
        ("2026-06-13T09:00/2026-06-13T11:30", {"day": "13", "eventTime": "09:00/11:30"}),
        ("2026-06-13/2026-06-14", {"month": "6", "startDayOfYear": "164"}),
        ("2026-06-30/2026-07-02", {"year": "2026", "endDayOfYear": "183"}),
    ],
)
def test_the_parts_of_a_date_follow_from_it(event_date, expected):
    terms = darwin_core.event_terms(event_date)
    assert terms["eventDate"] == event_date
    assert {key: terms[key] for key in expected} == expected


@pytest.mark.parametrize(
    ("event_date", "absent"),
    [
        ("2026-06-13/2026-06-14", "day"),
        ("2026-06-30/2026-07-02", "month"),
        ("2025-12-31/2026-01-01", "year"),
        ("2026-06-13", "eventTime"),
        ("2026-06", "startDayOfYear"),
    ],
)
def test_what_an_interval_does_not_determine_is_left_out(event_date, absent):
    assert absent not in darwin_core.event_terms(event_date)


# Values that the published test VALIDATION_EVENTDATE_STANDARD (TDWG bdq, 2026) finds not
# compliant, and further malformed ones.
@pytest.mark.parametrize(
    "text", ["1963-03-08T4", "summer", "2026-13-01", "2026-02-30", "2026-06-14/2026-06-13", "a/b/c"]
)
def test_a_date_that_is_none_is_kept_verbatim_only(text):
    assert darwin_core.event_terms(text) == {"verbatimEventDate": text}


def test_identifiers_are_version_5_uuids_in_urn_form():
    made = darwin_core.persistent_id("sighting", "s1")
    parsed = uuid.UUID(made.removeprefix("urn:uuid:"))
    assert made.startswith("urn:uuid:")
    assert parsed.version == 5
    assert parsed == uuid.uuid5(darwin_core.PRODUCT_NAMESPACE, "sighting:s1")


def test_an_identifier_stays_the_same_for_good():
    # Written down so that nobody changes the name space unknowingly.
    assert (
        darwin_core.persistent_id("sighting", "s1")
        == "urn:uuid:9e8862e5-5fe4-5da1-a731-534bccf3fc82"
    )


@pytest.mark.parametrize(
    ("name", "rank", "genus", "epithet"),
    [
        ("Anax imperator", "species", "Anax", "imperator"),
        ("Anax", "genus", "Anax", None),
        ("Aeshnidae", "family", None, None),
        ("", "", None, None),
    ],
)
def test_parts_of_a_name_follow_its_rank(name, rank, genus, epithet):
    terms = darwin_core.name_terms(name, rank)
    assert (terms.get("genus"), terms.get("specificEpithet")) == (genus, epithet)
    assert terms["scientificName"]


@pytest.mark.parametrize(
    ("words", "found", "expected"),
    [
        ("detected", True, "detected"),
        ("detected", False, "notDetected"),
        ("present", True, "present"),
        ("present", False, "absent"),
    ],
)
def test_both_vocabularies_of_occurrence_status(words, found, expected):
    assert darwin_core.occurrence_status(words, found=found) == expected
