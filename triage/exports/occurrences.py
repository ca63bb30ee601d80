"""Make rows of Darwin Core occurrences from sightings and exuviae lots."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from triage import privacy
from triage.determinations import Accepted, Determination
from triage.exports.content import ExportContent
from triage.exports.release import Release, decimals_of
from triage.exuviae import ExuviaeLot, Site
from triage.privacy import ReleasedPoint
from triage.sightings import Sighting
from triage.standards import darwin_core
from triage.standards.darwin_core import GEODETIC_DATUM, persistent_id

Row = dict[str, str]

VERIFIED = "1"
"""identificationVerificationStatus as numbered by HISPID: 1 checked by a competent person against
the evidence (from memory of that standard; docs/exports.md). Empty where nobody has settled it."""

PAIRS = ("tandem", "copula", "pair", "mating", "mating wheel")
"""Behaviours that need two animals, male and female."""

LARVAL_SKIN = "cast skin (exuviae) of the last larval stage"
LOOKED_FOR = "exuviae of this taxon were looked for and not found"


def accepted_of(content: ExportContent, sighting: Sighting) -> Accepted:
    """Where the sighting stands; what the sighting itself says if nobody reconciled it."""
    found = content.accepted.get(sighting.identifier)
    if found is not None:
        return found
    return Accepted(
        state="determined" if sighting.scientific_name else "queued",
        scientific_name=sighting.scientific_name,
        taxon_rank=sighting.taxon_rank,
        qualifier=sighting.qualifier,
        sex=sighting.sex,
    )


def state_of(content: ExportContent, sighting: Sighting) -> str:
    """The state; a sighting that was set aside stays so whatever its determinations say."""
    return "set aside" if sighting.state == "set aside" else accepted_of(content, sighting).state


def is_shown(content: ExportContent, release: Release, sighting: Sighting) -> bool:
    """Whether the sighting is in this export: a release has neither those that were set aside
    nor, unless asked for, those that nobody has named or that hang on an open question."""
    if release.internal:
        return True
    if state_of(content, sighting) == "set aside":
        return False
    if sighting.identifier in content.in_doubt and not release.policy.include_doubted:
        return False
    return release.policy.include_unnamed or bool(accepted_of(content, sighting).scientific_name)


def exported_sightings(content: ExportContent, release: Release) -> tuple[Sighting, ...]:
    """The sightings that are shown."""
    return tuple(one for one in content.sightings if is_shown(content, release, one))


def sighting_rows(content: ExportContent, release: Release) -> list[Row]:
    """One row per sighting, with its accepted name or the order if there is none yet."""
    determinations: dict[str, list[Determination]] = {}
    for determination in content.determinations:
        determinations.setdefault(determination.sighting, []).append(determination)
    media: dict[str, list[str]] = {}
    for photo in content.photos:
        if photo.sighting in release.sighting_sensitivity and release.releases_media(photo):
            media.setdefault(photo.sighting, []).append(persistent_id("photo", photo.sha256))
    return in_blind_order(
        _sighting_row(
            content,
            release,
            sighting,
            determinations.get(sighting.identifier, []),
            media.get(sighting.identifier, []),
        )
        for sighting in exported_sightings(content, release)
    )


def in_blind_order(rows: Iterable[Row]) -> list[Row]:
    """Rows by occurrenceID: in the order of arrival, the neighbours of a hidden row, sent by the
    same person from the same pond, would give it away."""
    return sorted(rows, key=lambda row: row["occurrenceID"])


def _sighting_row(
    content: ExportContent,
    release: Release,
    sighting: Sighting,
    determinations: list[Determination],
    media: list[str],
) -> Row:
    accepted = accepted_of(content, sighting)
    hidden = release.hides_sighting(sighting.identifier)
    pair = sighting.behavior.lower() in PAIRS
    row = {
        "occurrenceID": persistent_id("sighting", sighting.identifier),
        "type": darwin_core.record_type(release.policy.basis_of_record),
        "basisOfRecord": release.policy.basis_of_record,
        "occurrenceStatus": darwin_core.occurrence_status(release.policy.occurrence_status),
        "otherCatalogNumbers": sighting.identifier,
        "recordedBy": "" if hidden else release.person(sighting.observer),
        "recordedByID": "" if hidden else release.orcid(sighting.observer),
        "individualCount": "2" if pair else "1",
        # Two animals of both sexes: one word for the record would say two of one sex.
        "sex": "" if pair else darwin_core.sex(accepted.sex),
        "occurrenceRemarks": joined(
            f"a pair; sex as stated: {accepted.sex}" if pair and accepted.sex else "",
            content.in_doubt.get(sighting.identifier, ""),
        ),
        "lifeStage": sighting.life_stage or "adult",
        "behavior": release.free_text(sighting.behavior),
        "associatedMedia": " | ".join(dict.fromkeys(media)),
        "locationID": "" if hidden else release.location_id(sighting.location_id),
        "locality": "" if hidden else release.place_text(sighting.locality),
        "georeferenceProtocol": "" if hidden else release.free_text(sighting.georeference_protocol),
        **survey_terms(content, release),
        "state": state_of(content, sighting),
        "stateReason": "" if hidden else release.free_text(accepted.reason),
        "placeSource": sighting.place_source,
        "timeSource": sighting.time_source,
    }
    event_date = sighting.event_date
    row |= darwin_core.event_terms(privacy.day_only(event_date) if hidden else event_date)
    row |= _name_row(release, accepted.scientific_name, accepted.taxon_rank, accepted.qualifier)
    row |= _who_named(release, accepted, determinations)
    row |= _place_row(release.sighting_points[sighting.identifier])
    withheld = [row["informationWithheld"]]
    if hidden:
        withheld.append("observer, place names, time of day, remarks and photos withheld")
        row["dataGeneralizations"] += "; date reduced to the day"
        row["dateIdentified"] = privacy.day_only(row.get("dateIdentified", ""))
    return _finished(row, withheld)


def _who_named(release: Release, accepted: Accepted, determinations: list[Determination]) -> Row:
    if not accepted.scientific_name:
        return {}
    latest = {d.identified_by: d for d in determinations}.values()
    named = [d for d in latest if d.scientific_name]
    # Where two agree only at a coarser rank, the name is that of neither and of both.
    by = [d for d in named if d.scientific_name == accepted.scientific_name] or named
    people = list(dict.fromkeys(d.identified_by for d in by))
    orcids = [release.orcid(person) for person in people]
    return {
        "identifiedBy": " | ".join(release.person(person) for person in people),
        "identifiedByID": " | ".join(orcids) if all(orcids) else "",
        "dateIdentified": max((d.date_identified for d in by), default=""),
        "identificationVerificationStatus": VERIFIED if accepted.state == "determined" else "",
    }


def survey_terms(content: ExportContent, release: Release) -> Row:
    """What every record says of the survey it belongs to."""
    survey = content.survey
    return {
        "datasetID": release.identifier("survey", survey.title),
        "datasetName": survey.title,
        "institutionCode": survey.institution_code,
        "license": survey.licence,
        "rightsHolder": survey.rights_holder,
        "countryCode": survey.country_code,
    }


def lot_rows(content: ExportContent, release: Release) -> list[Row]:
    """One row per exuviae lot."""
    sites = {site.location_id: site for site in content.sites}
    return in_blind_order(
        _lot_row(content, release, lot, sites.get(lot.location_id)) for lot in content.lots
    )


def _lot_row(content: ExportContent, release: Release, lot: ExuviaeLot, site: Site | None) -> Row:
    hidden = release.hides_lot(lot.catalog_number)
    found = lot.individual_count > 0
    # Nothing found is nothing kept: what is reported is the search.
    basis_of_record = "PreservedSpecimen" if found else "HumanObservation"
    row = {
        "occurrenceID": release.identifier("lot", lot.catalog_number),
        "type": darwin_core.record_type(basis_of_record),
        "basisOfRecord": basis_of_record,
        "occurrenceStatus": darwin_core.occurrence_status(
            release.policy.occurrence_status, found=found
        ),
        "catalogNumber": "" if hidden else lot.catalog_number,
        "eventID": "" if hidden else lot.event_id,
        "recordedBy": "" if hidden else release.person(lot.recorded_by),
        "recordedByID": "" if hidden else release.orcid(lot.recorded_by),
        "individualCount": str(lot.individual_count),
        "organismQuantity": str(lot.individual_count),
        "organismQuantityType": "exuviae",
        "sex": darwin_core.sex(lot.sex),
        "lifeStage": "larva",
        "vitality": "notAssessed" if found else "",
        "preparations": "exuviae (dry)" if found else "",
        "occurrenceRemarks": joined(
            LARVAL_SKIN if found else LOOKED_FOR,
            "" if hidden else release.free_text(lot.occurrence_remarks),
        ),
        "locationID": "" if hidden else release.location_id(lot.location_id),
        "locality": release.place_text(site.locality) if site and not hidden else "",
        "verbatimIdentification": release.free_text(lot.verbatim_identification),
        "identifiedBy": release.person(lot.identified_by),
        "identifiedByID": release.orcid(lot.identified_by),
        "dateIdentified": lot.date_identified,
        "identificationVerificationStatus": VERIFIED if found and lot.identified_by else "",
        **survey_terms(content, release),
    }
    days = "/".join(dict.fromkeys((lot.first_day, lot.last_day)))
    row |= darwin_core.event_terms(privacy.month_only(days) if hidden else days)
    row |= _name_row(release, lot.scientific_name, lot.taxon_rank, lot.identification_qualifier)
    row |= _place_row(release.lot_points[lot.catalog_number])
    withheld = [row["informationWithheld"]]
    if hidden:
        withheld.append("collector, lot number, visit, place names and remarks withheld")
        row["dataGeneralizations"] += "; date reduced to the month"
    return _finished(row, withheld)


def _name_row(release: Release, name: str, rank: str, qualifier: str) -> Row:
    row = darwin_core.name_terms(name, rank)
    row["family"] = name if rank == "family" else release.families.get(name, "")
    row["scientificNameAuthorship"] = release.authorships.get(name, "")
    row["identificationQualifier"] = darwin_core.identification_qualifier(qualifier, name)
    return row


def _place_row(point: ReleasedPoint) -> Row:
    return {**place_terms(point), "informationWithheld": point.information_withheld}


def place_terms(point: ReleasedPoint) -> Row:
    """The Location terms of a released point; none of them without coordinates."""
    row = {"dataGeneralizations": point.data_generalizations}
    if point.decimal_latitude is None or point.decimal_longitude is None:
        return row
    radius = point.coordinate_uncertainty_in_meters
    return row | {
        "decimalLatitude": degrees_text(point.decimal_latitude, point.coordinate_precision),
        "decimalLongitude": degrees_text(point.decimal_longitude, point.coordinate_precision),
        "geodeticDatum": GEODETIC_DATUM,
        "coordinateUncertaintyInMeters": "" if radius is None else number_text(max(1.0, radius)),
        "coordinatePrecision": ""
        if point.coordinate_precision is None
        else number_text(point.coordinate_precision),
    }


def degrees_text(value: float, precision: float | None) -> str:
    """Decimal degrees with the decimals that the precision has; seven at most if it is exact."""
    if precision is None:
        return number_text(round(value, 7))
    return f"{value + 0.0:.{decimals_of(precision)}f}"


def joined(*parts: str) -> str:
    """What is to be said in one cell, without what is empty."""
    return "; ".join(filter(None, parts))


def number_text(value: float) -> str:
    """A number without exponent or needless zeros.

    >>> number_text(30.0), number_text(0.00001)
    ('30', '0.00001')
    """
    text = format(Decimal(repr(value)), "f")
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


def _finished(row: Row, withheld: list[str]) -> Row:
    row["informationWithheld"] = joined(*withheld)
    row["dataGeneralizations"] = row["dataGeneralizations"].removeprefix("; ")
    return row
