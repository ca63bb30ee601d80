"""Write the README.txt that explains every file of an export's folder."""

from __future__ import annotations

from collections.abc import Sequence

from triage.exports.archives import Edition
from triage.exports.content import SurveyMetadata
from triage.privacy import ReleasePolicy

_FILES = {
    "sightings": "one row per sighting: one animal or pair, one place and time, one observer. "
    "Key: occurrenceID. Columns of ours: state, stateReason, placeSource, timeSource.",
    "determinations": "every determination ever made, superseded and disagreeing ones too. "
    "Belongs to sightings by occurrenceID. Ours: outcome, standing, secondOpinionWanted, reason.",
    "photos": "one row per photo and sighting; xFrac to heightFrac say where the insect is, as "
    "fractions of the upright picture; hashValue is of the file in media/ where there is one, "
    "else of the photo that the survey holds. Ours: best, heldDigest (internal exports only).",
    "matches": "each sighting against each exuviae site that could explain it; without "
    "locationID: none of the known sites. Ours: all columns but occurrenceID and locationID.",
    "sites": "waters and stretches of shore. Key: locationID. verbatimLocality lists other names.",
    "visits": "searches of sites, also those that found nothing. Key: eventID. Ours: passes, "
    "permit. A visit without lots does not prove absence: lots of sensitive taxa are not tied "
    "to their visit.",
    "lots": "exuviae lots: what one visit collected of one taxon. Key: occurrenceID; belongs to "
    "visits by eventID and to sites by locationID.",
    "manifest": "a digest of each row of the tables above, by which a later export can tell what "
    "changed.",
    "changes": "what was added, changed or withdrawn since the earlier export that was named.",
}


def readme_text(
    survey: SurveyMetadata,
    policy: ReleasePolicy,
    *,
    counts: Sequence[tuple[str, int]],
    withheld: Sequence[str],
    media: int,
    edition: Edition,
) -> str:
    """The text, wrapped for nobody: one paragraph per line."""
    lines = [
        *_heading(survey, policy, edition),
        *_files(counts, media, mark="-internal" if policy.internal else ""),
        *_writing(policy),
        "",
        "Licence",
        survey.licence or "None stated: ask the contact before any use.",
        "Each photo has its own licence (WebStatement) and owner.",
    ]
    if not policy.internal:
        lines += [*_withheld(policy), *withheld]
    contact = " ".join(filter(None, (survey.contact_name, survey.contact_address)))
    lines += ["", f"Contact: {contact or 'none stated'}"]
    if survey.version:
        lines.append(f"Made with {survey.version}")
    return "\n".join(lines) + "\n"


def _heading(survey: SurveyMetadata, policy: ReleasePolicy, edition: Edition) -> list[str]:
    title = survey.title or "Untitled survey"
    lines = [
        f"{title}: export of {edition.day}",
        f"Version {edition.version}; SHA-256 of all rows: {edition.digest}",
        f"To cite: {title} ({edition.day[:4]}), version {edition.version}.",
    ]
    if policy.internal:
        lines += [
            "",
            "INTERNAL: exact places and names. For the survey's own eyes; do not release.",
        ]
    return lines


def _files(counts: Sequence[tuple[str, int]], media: int, *, mark: str) -> list[str]:
    lines = ["", "Files"]
    for file_name, count in counts:
        name = file_name.removesuffix(".csv").removesuffix("-internal")
        lines.append(f"{file_name} ({count} rows): {_FILES[name]}")
    return [
        *lines,
        f"darwin-core-archive{mark}.zip: the same for exchange (Darwin Core text guide): sightings "
        "and exuviae lots as occurrences, the identification history, the photos as Audiovisual "
        "Core rows (a region of interest is a row of its own), matches as relations to sites, "
        "meta.xml and eml.xml. eventID and locationID are globally unique there.",
        f"event-archive{mark}.zip: the searches with their effort and what they did not find, the "
        "outings of observers, and measurements at sites, as Darwin Core events with the Humboldt "
        "extension; the occurrences hang on them.",
        f"places{mark}.geojson: the released places for map programs.",
        f"datapackage{mark}.json: every column of every table described (Frictionless).",
        f"media{mark}/: {media} photos as new JPEG files without any metadata."
        if media
        else "No photo files are carried.",
    ]


def _writing(policy: ReleasePolicy) -> list[str]:
    words = (
        "detected and notDetected (Darwin Core of 2026-05-26)."
        if policy.occurrence_status == "detected"
        else "present and absent (Darwin Core to 2023, and the published quality test)."
    )
    return [
        "",
        "How the tables are written",
        "UTF-8, commas, headers are Darwin Core and Audiovisual Core terms unless called ours. A "
        "cell that a spreadsheet would run as a formula, or that begins with an apostrophe, has an "
        "apostrophe put in front: take one leading apostrophe away to get the value. The files "
        "inside the archive are exact.",
        f"basisOfRecord of sightings is {policy.basis_of_record}; occurrenceStatus uses {words}",
        "A sighting without a name yet is in a release only where the survey asked for it, as "
        "the order Odonata. identificationVerificationStatus: 1 where a determiner's name was "
        "accepted on the photos or skins, else empty.",
        "An oblique or other view has no value in the orientation vocabulary: it is given as "
        "unspecifiedOrientation, and the comments name the view.",
        "lifeStage of exuviae is larva, because the vocabulary has no word for a cast skin.",
        "Rows are in the order of their identifiers, which says nothing of when they arrived.",
    ]


def _withheld(policy: ReleasePolicy) -> list[str]:
    return [
        "",
        "What was generalised or withheld",
        "People without consent to be named stand under a code. Coordinates are centroids of "
        f"a grid of {policy.release_precision:g} degree, coarser for sensitive places and taxa "
        "and for private homes; the uncertainty covers the whole cell. dataGeneralizations and "
        "informationWithheld say so row by row. Distances in the matches are between the "
        "released points, and shares are rounded.",
    ]
