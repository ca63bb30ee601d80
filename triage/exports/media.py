"""Make Audiovisual Core rows and the photo table, and choose the files to carry."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from triage import privacy
from triage.errors import TriageError
from triage.exports.content import ExportContent, MediaRow
from triage.exports.occurrences import Row, exported_sightings, in_blind_order
from triage.exports.release import Release
from triage.standards import audiovisual_core
from triage.standards.darwin_core import persistent_id
from triage.standards.digests import digest_of

MEDIA_COLUMNS: Mapping[str, str] = {"coreid": "", **audiovisual_core.TERMS}
_FRACTIONS: tuple[str, ...] = ("xFrac", "yFrac", "widthFrac", "heightFrac")
_XMP_DATE = re.compile(
    r"\d{4}(?:-\d{2}(?:-\d{2}(?:T\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:\d{2})?)?)?)?"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedPhoto:
    """A file of the export: its path in the folder ``media``, its bytes and their digest."""

    path: str
    content: bytes
    sha256: str


def carried_photos(
    content: ExportContent, release: Release, read_photo: Callable[[str], bytes] | None
) -> tuple[dict[str, CarriedPhoto], tuple[str, ...]]:
    """The photos that go with the export, by held digest, and what could not be carried.

    Only pixels are carried, as a new JPEG without metadata, also in an internal export: the
    originals are in the survey.
    """
    if read_photo is None:
        return {}, ()
    carried: dict[str, CarriedPhoto] = {}
    problems: list[str] = []
    for photo in exported_photos(content, release):
        if photo.sha256 in carried:
            continue
        try:
            clean = privacy.clean_photo(read_photo(photo.sha256), name=photo.sha256)
        except (TriageError, OSError) as error:
            problems.append(f"photo {photo.sha256} not carried: {error}")
            continue
        name = persistent_id("photo", photo.sha256).removeprefix("urn:uuid:")
        carried[photo.sha256] = CarriedPhoto(
            path=f"media{release.mark}/{name}.jpg",
            content=clean,
            sha256=digest_of(clean),
        )
    return carried, tuple(problems)


def exported_photos(content: ExportContent, release: Release) -> list[MediaRow]:
    """The photos that may be spoken of: licensed, cleared, and of sightings that are shown."""
    shown = {sighting.identifier for sighting in exported_sightings(content, release)}
    return [
        photo
        for photo in content.photos
        if photo.sighting in shown and release.releases_media(photo)
    ]


def photo_rows(
    content: ExportContent, release: Release, carried: Mapping[str, CarriedPhoto]
) -> list[Row]:
    """One row per photo and sighting, the region of the insect beside it."""
    return in_blind_order(
        _photo_row(release, photo, carried) for photo in exported_photos(content, release)
    )


def _photo_row(release: Release, photo: MediaRow, carried: Mapping[str, CarriedPhoto]) -> Row:
    file = carried.get(photo.sha256)
    iri, literal = audiovisual_core.subject_orientation(photo.view)
    return {
        "occurrenceID": persistent_id("sighting", photo.sighting),
        "identifier": persistent_id("photo", photo.sha256),
        "accessURI": release.policy.media_base_uri + file.path
        if file and release.policy.media_base_uri
        else "",
        "file": file.path if file else "",
        "format": "image/jpeg" if file else audiovisual_core.media_type(photo.format),
        "hashFunction": "SHA-256",
        "hashValue": file.sha256 if file else photo.sha256,
        "PixelXDimension": str(photo.width),
        "PixelYDimension": str(photo.height),
        "CreateDate": photo.capture_date,
        "creator": release.person(photo.creator),
        "Owner": release.person(photo.creator),
        "WebStatement": photo.licence,
        "subjectOrientation": iri,
        "subjectOrientationLiteral": literal,
        "comments": audiovisual_core.view_comment(photo.view),
        **audiovisual_core.region_fractions(photo.box),
        "focus": "" if photo.focus is None else f"{photo.focus:.2f}",
        "best": "yes" if photo.is_best else "no",
        "heldDigest": photo.sha256 if release.internal else "",
    }


def media_rows(rows: list[Row]) -> list[Row]:
    """Audiovisual Core rows from photo rows: the photo, then its region of interest if known.

    A local time stays whole: the XMP specification (ISO 16684-1, from memory) lets the offset of
    a date be left out where the zone is not known.
    """
    made: list[Row] = []
    for row in rows:
        region_id = persistent_id("region", f"{row['occurrenceID']} {row['identifier']}")
        fractions: Row = {name: row[name] for name in _FRACTIONS if name in row}
        date = row["CreateDate"]
        media = {
            "coreid": row["occurrenceID"],
            "type": audiovisual_core.STILL_IMAGE,
            "rights": row["WebStatement"],
            "UsageTerms": audiovisual_core.usage_terms(row["WebStatement"]),
            **{key: value for key, value in row.items() if key in MEDIA_COLUMNS},
            "CreateDate": date if _XMP_DATE.fullmatch(date) else _day_or_nothing(date),
        }
        for key in fractions:
            del media[key]
        made.append(media | ({"hasROI": region_id} if fractions else {}))
        if fractions:
            made.append(
                {
                    "coreid": row["occurrenceID"],
                    "identifier": region_id,
                    "type": audiovisual_core.REGION,
                    "isROIOf": row["identifier"],
                    "title": "region of the photo that shows the insect",
                    **fractions,
                }
            )
    return made


def _day_or_nothing(date: str) -> str:
    day = privacy.day_only(date)
    return day if _XMP_DATE.fullmatch(day) else ""
