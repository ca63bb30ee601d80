"""Turns matches and measures of photos into rows of two extensions of the archive."""

from __future__ import annotations

from collections.abc import Sequence

from triage.exports.content import ExportContent
from triage.exports.media import exported_photos
from triage.exports.occurrences import Row, joined
from triage.exports.release import Release
from triage.standards.darwin_core import persistent_id

MAY_HAVE_EMERGED = "may have emerged at"
"""Our wording: Darwin Core leaves the relation to its users."""


def relation_rows(
    content: ExportContent, release: Release, match_rows: Sequence[Row], known: set[str]
) -> list[Row]:
    """One row for each exported match of a sighting with a site, its share in the remarks.

    A match that a release keeps back is not in ``match_rows`` either; ``known`` are the
    occurrenceIDs of the archive.
    """
    numbers = {number: own for own, number in release.site_ids.items()}
    rows = []
    for match in match_rows:
        if match["occurrenceID"] not in known or not match["locationID"]:
            continue
        own = numbers.get(match["locationID"], match["locationID"])
        site = release.identifier("site", own)
        rows.append(
            {
                "coreid": match["occurrenceID"],
                "resourceRelationshipID": persistent_id("match", f"{match['occurrenceID']} {site}"),
                "resourceID": match["occurrenceID"],
                "relatedResourceID": site,
                "relationshipOfResource": MAY_HAVE_EMERGED,
                "relationshipAccordingTo": content.survey.version or content.survey.title,
                "relationshipRemarks": _remarks(match),
            }
        )
    return rows


def _remarks(match: Row) -> str:
    return joined(
        f"share {match['share']}" if match.get("share") else "",
        f"about {match['distanceInMeters']} m" if match.get("distanceInMeters") else "",
        f"season: {match['season']}" if match.get("season") else "",
        f"taxon: {match['taxonAgreement']}" if match.get("taxonAgreement") else "",
    )


def focus_rows(content: ExportContent, release: Release, known: set[str]) -> list[Row]:
    """How sharp the insect is in each exported photo, as a measurement of its occurrence."""
    rows = []
    for photo in exported_photos(content, release):
        occurrence = persistent_id("sighting", photo.sighting)
        if photo.focus is None or occurrence not in known:
            continue
        picture = persistent_id("photo", photo.sha256)
        rows.append(
            {
                "coreid": occurrence,
                "measurementID": persistent_id("focus", f"{occurrence} {picture}"),
                "measurementType": "focus of the insect in the photo (1 sharp, 0 blurred)",
                "measurementValue": f"{photo.focus:.2f}",
                "measurementUnit": "",
                "measurementMethod": photo.focus_method,
                "measurementRemarks": picture,
            }
        )
    return sorted(rows, key=lambda row: (row["coreid"], row["measurementRemarks"]))
