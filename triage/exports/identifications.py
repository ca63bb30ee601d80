"""Determinations in, the identification history out: superseded and disagreeing ones included."""

from __future__ import annotations

from triage.exports.content import ExportContent
from triage.exports.occurrences import (
    INTERNAL_MARK,
    UNVERIFIED,
    VERIFIED,
    Row,
    accepted_of,
    exported_sightings,
)
from triage.exports.release import Release
from triage.standards import darwin_core
from triage.standards.darwin_core import persistent_id

IDENTIFICATION_COLUMNS = (
    *("occurrenceID", "identificationID", "verbatimIdentification", "scientificName"),
    *("taxonRank", "family", "identificationQualifier", "sex", "lifeStage", "identifiedBy"),
    *("identifiedByID", "dateIdentified", "identificationVerificationStatus"),
    *("identificationRemarks", "accessRights"),
)
DETERMINATION_COLUMNS = (
    *IDENTIFICATION_COLUMNS,
    *("outcome", "standing", "secondOpinionWanted", "behavior", "reason"),
)


def determination_rows(content: ExportContent, release: Release) -> list[Row]:
    """One row per determination, in the order in which they were made.

    ``standing`` is ``superseded`` (the same determiner said something later), ``accepted``,
    ``differs from the accepted``, or ``not settled`` while there is no accepted name. Darwin
    Core has no term for it, so identificationRemarks begin with it.
    """
    latest = {(d.sighting, d.identified_by): d.identifier for d in content.determinations}
    shown = {s.identifier: s for s in exported_sightings(content, release)}
    rows = []
    for determination in content.determinations:
        sighting = shown.get(determination.sighting)
        if sighting is None:
            continue
        hidden = release.sighting_sensitivity[sighting.identifier].hidden and not release.internal
        accepted = accepted_of(content, sighting).scientific_name
        name = determination.scientific_name
        if latest[determination.sighting, determination.identified_by] != determination.identifier:
            standing = "superseded"
        elif not accepted:
            standing = "not settled"
        else:
            standing = "accepted" if name == accepted else "differs from the accepted"
        reason = "" if hidden else release.free_text(determination.reason)
        remarks = "" if hidden else release.free_text(determination.remarks)
        rows.append(
            {
                "occurrenceID": persistent_id("sighting", determination.sighting),
                "identificationID": persistent_id("determination", determination.identifier),
                "verbatimIdentification": " ".join(filter(None, (name, determination.qualifier)))
                if name
                else determination.outcome,
                "scientificName": name,
                "taxonRank": determination.taxon_rank,
                "family": release.families.get(name, ""),
                "identificationQualifier": darwin_core.identification_qualifier(
                    determination.qualifier, name
                ),
                "sex": darwin_core.sex(determination.sex),
                "lifeStage": determination.life_stage,
                "identifiedBy": release.person(determination.identified_by),
                "identifiedByID": release.orcid(determination.identified_by),
                "dateIdentified": determination.date_identified,
                "identificationVerificationStatus": VERIFIED
                if standing == "accepted"
                else UNVERIFIED,
                "identificationRemarks": "; ".join(
                    filter(None, (standing, "" if name else determination.outcome, reason, remarks))
                ),
                "accessRights": INTERNAL_MARK if release.internal else "",
                "outcome": determination.outcome,
                "standing": standing,
                "secondOpinionWanted": "yes" if determination.second_opinion else "no",
                "behavior": "" if hidden else release.free_text(determination.behavior),
                "reason": reason,
            }
        )
    return rows
