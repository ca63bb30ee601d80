"""Determinations in, the identification history out: superseded and disagreeing ones included."""

from __future__ import annotations

from collections.abc import Mapping

from triage import privacy
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
    """One row per determination, those of one sighting in the order in which they were made.

    ``standing`` is ``superseded`` (the same determiner said something later), ``not settled``
    while there is no accepted name, else ``accepted``, or ``finer than``, ``coarser than`` or
    ``differs from the accepted``. Darwin Core has no term for it, so identificationRemarks begin
    with it.
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
            standing = _against(name, accepted, release.families)
        reason = "" if hidden else release.free_text(determination.reason)
        remarks = "" if hidden else release.free_text(determination.remarks)
        rows.append(
            {
                "occurrenceID": persistent_id("sighting", determination.sighting),
                "identificationID": persistent_id("determination", determination.identifier),
                "verbatimIdentification": darwin_core.name_with_qualifier(
                    name, determination.qualifier
                )
                if name
                else determination.outcome,
                "scientificName": name,
                "taxonRank": determination.taxon_rank if name else "",
                "family": release.families.get(name, ""),
                "identificationQualifier": darwin_core.identification_qualifier(
                    determination.qualifier, name
                ),
                "sex": darwin_core.sex(determination.sex),
                "lifeStage": determination.life_stage,
                "identifiedBy": release.person(determination.identified_by),
                "identifiedByID": release.orcid(determination.identified_by),
                "dateIdentified": privacy.day_only(determination.date_identified)
                if hidden
                else determination.date_identified,
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
    return sorted(rows, key=lambda row: row["occurrenceID"])  # stable, see in_blind_order


def _against(name: str, accepted: str, families: Mapping[str, str]) -> str:
    def above(taxon: str) -> set[str]:
        return {taxon.split()[0], families.get(taxon, ""), "Odonata"} - {taxon, ""}

    if name == accepted:
        return "accepted"
    if name and accepted in above(name):
        return "finer than the accepted"
    if name in above(accepted):
        return "coarser than the accepted"
    return "differs from the accepted"
