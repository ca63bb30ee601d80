"""Say our words in Darwin Core: term names, identifiers and values.

References
----------
Darwin Core Maintenance Group. List of Darwin Core terms (edition of 2026-05-26). Biodiversity
Information Standards (TDWG). http://rs.tdwg.org/dwc/terms/
"""

from __future__ import annotations

import re
import uuid
from datetime import date, timedelta
from typing import Literal

from triage.standards.iso_dates import date_span

DWC = "http://rs.tdwg.org/dwc/terms/"
DCTERMS = "http://purl.org/dc/terms/"
GEODETIC_DATUM = "EPSG:4326"

PRODUCT_NAMESPACE = uuid.UUID("077c4a32-c842-4596-830c-1194fc22ef74")
"""The name space of our version 5 UUIDs (RFC 9562); chosen once, never to be changed: the same
survey record has the same identifier in every export."""

DUBLIN_CORE_TERMS = ("accessRights", "license", "modified", "references", "rightsHolder")

OccurrenceStatusWords = Literal["detected", "present"]
BasisOfRecord = Literal["HumanObservation", "MachineObservation"]


def snake_case(name: str) -> str:
    """A standard's term as our records and JSON spell it.

    >>> snake_case("locationID"), snake_case("coordinateUncertaintyInMeters"), snake_case("p")
    ('location_id', 'coordinate_uncertainty_in_meters', 'p')
    """
    return re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", name).lower()


def term_uri(name: str) -> str:
    """The full URI of a term by its bare name (type is the element of Dublin Core 1.1).

    >>> term_uri("eventDate")
    'http://rs.tdwg.org/dwc/terms/eventDate'
    >>> term_uri("license")
    'http://purl.org/dc/terms/license'
    """
    if name == "type":
        return "http://purl.org/dc/elements/1.1/type"
    return (DCTERMS if name in DUBLIN_CORE_TERMS else DWC) + name


def record_type(basis_of_record: str) -> str:
    """The DCMI type that goes with a basis of record: what the record describes.

    >>> record_type("PreservedSpecimen")
    'PhysicalObject'
    """
    types = {"PreservedSpecimen": "PhysicalObject", "MachineObservation": "StillImage"}
    return types.get(basis_of_record, "Event")


def persistent_id(kind: str, identifier: str, *, survey: str = "") -> str:
    """A globally unique identifier for one of our records: the same record, the same identifier.

    Sightings, photos and determinations have identifiers made from their content, which no other
    survey has. Sites, visits and lots have numbers that people gave them, and "EX-0001" is used
    everywhere: for those ``survey``, the survey's own identifier, must be given.

    >>> persistent_id("sighting", "s1") == persistent_id("sighting", "s1")
    True
    >>> persistent_id("lot", "EX-1", survey="a") == persistent_id("lot", "EX-1", survey="b")
    False
    """
    name = f"{survey}:{kind}:{identifier}" if survey else f"{kind}:{identifier}"
    return f"urn:uuid:{uuid.uuid5(PRODUCT_NAMESPACE, name)}"


def occurrence_status(words: OccurrenceStatusWords, *, found: bool = True) -> str:
    """The value of occurrenceStatus in the chosen vocabulary.

    Darwin Core recommends ``detected`` and ``notDetected`` since 2026-05-26; the published
    data-quality test and the registry vocabulary still take ``present`` and ``absent`` only.

    >>> occurrence_status("detected", found=False)
    'notDetected'
    """
    if words == "detected":
        return "detected" if found else "notDetected"
    return "present" if found else "absent"


def sex(value: str) -> str:
    """The value of sex where it is one of the standard's; empty otherwise (pair, unknown).

    >>> sex("Female"), sex("f")
    ('female', '')
    """
    word = value.strip().lower()
    return word if word in ("female", "male", "hermaphrodite") else ""


def identification_qualifier(qualifier: str, scientific_name: str) -> str:
    """The qualifier with the part of the name that it makes uncertain.

    >>> identification_qualifier("cf.", "Anax imperator")
    'cf. imperator'
    >>> identification_qualifier("cf.", "Anax")
    'cf. Anax'
    >>> identification_qualifier("cf.", "Calopteryx splendens balcanica")
    'cf. balcanica'
    """
    if not qualifier:
        return ""
    return f"{qualifier} {scientific_name.rpartition(' ')[2]}".strip()


_BEHIND_A_NAME = ("?", "agg.", "s.l.", "s.str.")


def name_with_qualifier(scientific_name: str, qualifier: str) -> str:
    """The name as a determiner writes it: cf., aff. and nr. before what they make uncertain, the
    marks that speak of the whole name (?, agg., s.l.) behind it.

    >>> name_with_qualifier("Anax imperator", "cf."), name_with_qualifier("Anax imperator", "?")
    ('Anax cf. imperator', 'Anax imperator ?')
    """
    if not scientific_name:
        return ""
    before, _, last = scientific_name.rpartition(" ")
    marks = qualifier.split()
    leading = [mark for mark in marks if mark not in _BEHIND_A_NAME]
    behind = [mark for mark in marks if mark in _BEHIND_A_NAME]
    return " ".join(filter(None, (before, *leading, last, *behind)))


def place_words(locality: str, latitude: float | None, longitude: float | None) -> str:
    """A place as a person reads it: by its name, else in degrees; empty where nothing is known.

    >>> place_words("Heron Mere", 53.9, 21.7), place_words("", 53.9, 21.7)
    ('Heron Mere', '53.90000, 21.70000')
    """
    if locality or latitude is None:
        return locality
    return f"{latitude:.5f}, {longitude:.5f}"


def event_terms(event_date: str) -> dict[str, str]:
    """eventDate and the terms derived from it: eventTime, year, month, day, days of the year.

    Parameters
    ----------
    event_date : str
        ISO 8601-1: a year, month, day, local time, instant, or an interval of two of these with
        a solidus. Text that is none of these is returned as verbatimEventDate alone.

    Returns
    -------
    dict of str to str
        Only the terms that the date determines: an interval over two months has no month.

    Examples
    --------
    >>> event_terms("2026-06-13T14:07+02:00")["eventTime"]
    '14:07+02:00'
    >>> event_terms("2026-06-30/2026-07-02")
    {'eventDate': '2026-06-30/2026-07-02', 'year': '2026', 'startDayOfYear': '181', \
'endDayOfYear': '183'}
    """
    days = day_range(event_date)
    if days is None:
        return {"verbatimEventDate": event_date} if event_date else {}
    start, end = days
    terms = {"eventDate": event_date}
    times = [part.partition("T")[2] for part in event_date.split("/")]
    if all(times) and start == end:
        terms["eventTime"] = "/".join(dict.fromkeys(times))
    if start.year == end.year:
        terms["year"] = str(start.year)
        if start.month == end.month:
            terms["month"] = str(start.month)
            if start == end:
                terms["day"] = str(start.day)
    # A month has a first and a last day too, but the quality test of consistency takes days of
    # the year as a claim to know the day.
    if start.year == end.year and all(len(part) >= 10 for part in event_date.split("/")):
        terms["startDayOfYear"] = str(start.timetuple().tm_yday)
        terms["endDayOfYear"] = str(end.timetuple().tm_yday)
    return terms


def day_range(event_date: str) -> tuple[date, date] | None:
    """The first and the last day that a date or interval covers; None for any other text.

    >>> day_range("2024-02")
    (datetime.date(2024, 2, 1), datetime.date(2024, 2, 29))
    """
    halves = [date_span(part) for part in event_date.split("/")]
    first, last = halves[0], halves[-1]
    if first is None or last is None or len(halves) > 2:
        return None
    start, end = first.start.date(), (last.end - timedelta(seconds=1)).date()
    return (start, end) if start <= end else None


def name_terms(scientific_name: str, taxon_rank: str) -> dict[str, str]:
    """scientificName and what follows from it; an empty name is the order Odonata.

    >>> name_terms("Anax imperator", "species")["genus"]
    'Anax'
    >>> name_terms("", "")["taxonRank"]
    'order'
    """
    terms = {
        "scientificName": scientific_name or "Odonata",
        "taxonRank": taxon_rank if scientific_name else "order",
        "kingdom": "Animalia",
        "phylum": "Arthropoda",
        "class": "Insecta",
        "order": "Odonata",
        "nomenclaturalCode": "ICZN",
    }
    words = scientific_name.split()
    if words and taxon_rank in ("genus", "species", "subspecies"):
        terms["genus"] = words[0]
    if taxon_rank in ("species", "subspecies") and len(words) >= 2:
        terms["specificEpithet"] = words[1]
    if taxon_rank == "subspecies" and len(words) >= 3:
        terms["infraspecificEpithet"] = words[-1]
    return terms
