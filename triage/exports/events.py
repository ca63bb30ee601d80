"""Makes the events of a survey: the survey itself, searches for exuviae, and outings for adults.

A search travels with its effort and with what it did not find; an outing (one observer's adults
at one place on one day) has no stated effort, so nothing may be concluded from what it lacks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from triage.exports.content import ExportContent
from triage.exports.occurrences import Row, number_text, place_terms
from triage.exports.release import Release
from triage.exports.tables import words
from triage.exuviae import Site, Visit
from triage.standards import darwin_core
from triage.standards.event_archive import yes_or_no

TARGET_TAXON = "Odonata"
FOR_ADULTS = "photographs of adults sent in by the public; no effort is recorded"

_SHORE_LENGTH = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)\s*(km|m)\b(?!\s*[²2])")


def survey_event(content: ExportContent, release: Release, shared: Row) -> Row:
    """The survey as the event that all others are part of."""
    return {
        "eventID": release.identifier("survey", content.survey.title),
        "eventType": "project",
        "eventRemarks": content.survey.description,
        **shared,
    }


def visit_events(
    content: ExportContent, release: Release, visit_rows: Sequence[Row], shared: Row
) -> list[Row]:
    """One event for each visit, those that found nothing included, with the site's place."""
    sites = {site.location_id: site for site in content.sites}
    rows = []
    for visit, row in zip(content.visits, visit_rows, strict=True):
        event = {
            **row,
            **shared,
            "eventID": release.identifier("visit", visit.event_id),
            "parentEventID": release.identifier("survey", content.survey.title),
            "fieldNumber": "" if release.hides_site(visit.location_id) else visit.event_id,
            **_sample_size(visit),
            **_site_terms(release, sites.get(visit.location_id)),
        }
        rows.append(event)
    return rows


def _sample_size(visit: Visit) -> Row:
    """The length of shore, where the effort states one and no more than one.

    sampleSizeValue belongs to sampleSizeUnit; an effort of "60 min, 100 m" gives 100 metre.
    """
    lengths = _SHORE_LENGTH.findall(visit.sampling_effort)
    if len(lengths) != 1:
        return {}
    value, unit = lengths[0]
    metres = float(value) * (1000 if unit == "km" else 1)
    return {"sampleSizeValue": number_text(metres), "sampleSizeUnit": "metre"}


def _site_terms(release: Release, site: Site | None) -> Row:
    if site is None:
        return {}
    row = place_terms(release.site_points[site.location_id])
    row["locationID"] = release.identifier("site", site.location_id)
    if not release.hides_site(site.location_id):
        row |= {
            "locality": release.place_text(site.locality),
            "waterBody": release.place_text(site.water_body),
            "habitat": release.free_text(site.habitat),
        }
    return row


def outing_events(
    content: ExportContent, release: Release, adults: Sequence[Row], shared: Row
) -> tuple[list[Row], dict[str, str]]:
    """Outings from rows of adults, and the outing of each occurrence.

    Built from rows as they are released, so an event says no more than they do. A hidden row is
    an outing by itself: company would tell whose it is.
    """
    outings: dict[str, Row] = {}
    of_occurrence: dict[str, str] = {}
    for row in adults:
        day = darwin_core.day_range(row.get("eventDate", ""))
        place = row.get("locationID") or (
            f"{row.get('decimalLatitude', '')} {row.get('decimalLongitude', '')}".strip()
        )
        alone = not (row.get("recordedBy") and place and day)
        key = row["occurrenceID"] if alone else f"{row['recordedBy']} {place} {day}"
        event_id = release.identifier("outing", key)
        of_occurrence[row["occurrenceID"]] = event_id
        known = outings.get(event_id)
        outings[event_id] = _outing(content, release, row, event_id) | shared | _joined(known, row)
    return _by_event(outings.values()), of_occurrence


_OF_THE_OUTING = (
    *("recordedBy", "recordedByID", "decimalLatitude", "decimalLongitude", "geodeticDatum"),
    *("coordinateUncertaintyInMeters", "coordinatePrecision", "locality", "dataGeneralizations"),
    "informationWithheld",
)


def _outing(content: ExportContent, release: Release, row: Row, event_id: str) -> Row:
    days = "/".join(dict.fromkeys(part[:10] for part in row.get("eventDate", "").split("/")))
    own_place = row.get("locationID", "")
    return {
        "eventID": event_id,
        "parentEventID": release.identifier("survey", content.survey.title),
        "eventType": "outing",
        "samplingProtocol": FOR_ADULTS,
        "locationID": release.identifier("site", own_place) if own_place else "",
        **{name: row.get(name, "") for name in _OF_THE_OUTING},
        **darwin_core.event_terms(days),
    }


def _joined(known: Row | None, row: Row) -> Row:
    """The place of an outing of several sightings: the widest of their uncertainties."""
    if known is None:
        return {}
    widest = max(known, row, key=lambda r: float(r.get("coordinateUncertaintyInMeters") or 0))
    return {name: widest.get(name, "") for name in _OF_THE_OUTING}


def _by_event(rows: Iterable[Row]) -> list[Row]:
    """Rows by eventID: the order of arrival would say whose neighbours they are."""
    return sorted(rows, key=lambda row: row["eventID"])


def humboldt_rows(content: ExportContent, release: Release) -> list[Row]:
    """What each search looked for, with which effort, and what it did not find.

    Where a release keeps any lot away from its visit, no visit may claim that all was reported:
    the claim's absence would point at the hidden lot.
    """
    complete = release.internal or not any(s.hidden for s in release.lot_sensitivity.values())
    found: dict[str, list[str]] = {}
    absent: dict[str, list[str]] = {}
    for lot in content.lots:
        if release.hides_lot(lot.catalog_number):
            continue
        table = found if lot.individual_count > 0 else absent
        table.setdefault(lot.event_id, []).append(lot.scientific_name)
    rows = []
    for visit in content.visits:
        names = sorted(set(absent.get(visit.event_id, ())))
        if complete and visit.event_id not in found and not names:
            names = [TARGET_TAXON]
        rows.append(_humboldt_row(release, visit, names, complete, visit.event_id in found))
    return rows


def _humboldt_row(
    release: Release, visit: Visit, absent: Sequence[str], complete: bool, kept: bool
) -> Row:
    hidden = release.hides_site(visit.location_id)
    return {
        **words()["every_search"],
        "coreid": release.identifier("visit", visit.event_id),
        "isTaxonomicScopeFullyReported": yes_or_no(complete),
        "isLifeStageScopeFullyReported": yes_or_no(complete),
        "isAbsenceReported": yes_or_no(bool(absent)),
        "absentTaxa": " | ".join(absent),
        "protocolNames": release.free_text(visit.sampling_protocol) or "exuviae search",
        "hasMaterialSamples": yes_or_no(kept),
        "materialSampleTypes": "exuviae (dry)" if kept else "",
        "samplingPerformedBy": "" if hidden else release.person(visit.recorded_by),
        "samplingEffortValue": str(visit.passes),
        "samplingEffortUnit": "pass" if visit.passes == 1 else "passes",
    }


def measure_events(
    content: ExportContent, release: Release, shared: Row
) -> tuple[list[Row], list[Row]]:
    """One event for each site and day of measuring, and a row for each value.

    A measure at a hidden site is left out of a release: a list of values can be recognised.
    """
    sites = {site.location_id: site for site in content.sites}
    events: dict[str, Row] = {}
    values: list[Row] = []
    for one in content.measurements:
        if release.hides_site(one.location_id):
            continue
        event_id = release.identifier("measuring", f"{one.location_id} {one.measured_on}")
        events[event_id] = {
            "eventID": event_id,
            "parentEventID": release.identifier("survey", content.survey.title),
            "eventType": "site measurement",
            **shared,
            **_site_terms(release, sites.get(one.location_id)),
            **darwin_core.event_terms(one.measured_on),
        }
        key = f"{one.location_id} {one.measured_on} {one.variable} {one.method}"
        values.append(
            {
                "coreid": event_id,
                "measurementID": release.identifier("measurement", key),
                "measurementType": one.variable,
                "measurementValue": number_text(one.value),
                "measurementUnit": one.unit,
                "measurementMethod": release.free_text(one.method),
                "measurementDeterminedDate": one.measured_on,
            }
        )
    return _by_event(events.values()), values
