"""Write the history of identifications, superseded and disagreeing ones included."""

from __future__ import annotations

from collections.abc import Mapping

from triage import privacy
from triage.determinations import Determination
from triage.exports.content import ExportContent
from triage.exports.occurrences import (
    VERIFIED,
    Row,
    accepted_of,
    exported_sightings,
    joined,
)
from triage.exports.release import Release
from triage.standards import darwin_core
from triage.standards.darwin_core import persistent_id


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
    for one in content.determinations:
        sighting = shown.get(one.sighting)
        if sighting is None:
            continue
        stands = accepted_of(content, sighting)
        superseded = latest[one.sighting, one.identified_by] != one.identifier
        standing = _standing(one, stands.scientific_name, superseded, release.families)
        verified = standing == "accepted" and stands.state == "determined"
        rows.append(_determination_row(release, one, standing, verified=verified))
    return sorted(rows, key=lambda row: row["occurrenceID"])  # stable, see in_blind_order


def _determination_row(
    release: Release, one: Determination, standing: str, *, verified: bool
) -> Row:
    hidden = release.hides_sighting(one.sighting)
    name = one.scientific_name
    # Determinations from before the words were kept have their name and qualifier alone.
    written = one.verbatim_identification or darwin_core.name_with_qualifier(name, one.qualifier)
    reason = "" if hidden else release.free_text(one.reason)
    remarks = "" if hidden else release.free_text(one.remarks)
    day = privacy.day_only(one.date_identified)
    return {
        "occurrenceID": persistent_id("sighting", one.sighting),
        "identificationID": persistent_id("determination", one.identifier),
        "verbatimIdentification": release.free_text(written) or one.outcome,
        "scientificName": name,
        "taxonRank": one.taxon_rank if name else "",
        "family": release.families.get(name, ""),
        "identificationQualifier": darwin_core.identification_qualifier(one.qualifier, name),
        "sex": darwin_core.sex(one.sex),
        "lifeStage": one.life_stage,
        "identifiedBy": release.person(one.identified_by),
        "identifiedByID": release.orcid(one.identified_by),
        "dateIdentified": day if hidden else one.date_identified,
        "identificationVerificationStatus": VERIFIED if verified else "",
        "identificationRemarks": joined(standing, "" if name else one.outcome, reason, remarks),
        "outcome": one.outcome,
        "standing": standing,
        "secondOpinionWanted": "yes" if one.second_opinion else "no",
        "behavior": "" if hidden else release.free_text(one.behavior),
        "reason": reason,
    }


def _standing(
    one: Determination, accepted: str, superseded: bool, families: Mapping[str, str]
) -> str:
    if superseded:
        return "superseded"
    return _against(one.scientific_name, accepted, families) if accepted else "not settled"


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
