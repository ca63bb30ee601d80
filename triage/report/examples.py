"""Chooses a few sightings and shows where each may have emerged, with its photos."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

from triage.exports.media import exported_photos
from triage.exports.occurrences import Row
from triage.report.columns import declared
from triage.report.material import Material
from triage.report.parts import NOTHING, Example, Table
from triage.report.tables_of_sites import spot_text
from triage.report.wording import site_labels
from triage.sightings import Sighting
from triage.standards.darwin_core import name_with_qualifier, persistent_id

MOST_EXAMPLES = 6
MOST_PHOTOS = 2
PHOTO_PIXELS = 640  # longer side of a photo in the report

ReadPhoto = Callable[[str], bytes]


def match_table(material: Material, matched: Sequence[Row]) -> Table:
    """Every match as an export has it (``matched``); none is shown beside the examples."""
    names = {
        persistent_id("sighting", s.identifier): s.scientific_name
        for s in material.content.sightings
    }
    return declared(
        "matches",
        matched,
        shown=(),
        says={
            "scientificName": lambda row: names.get(row["occurrenceID"], ""),
            "locality": _locality(material),
        },
    )


def _locality(material: Material) -> Callable[[Row], str]:
    labels = site_labels(material)
    return lambda row: labels.get(row["locationID"], "none of the known sites")


def examples(
    material: Material, matched: Sequence[Row], *, read_photo: ReadPhoto | None
) -> list[Example]:
    """Named sightings whose explanations differ most in kind, with photos where these may be shown.

    One each of: a leading site with exuviae of the same taxon, a coarser agreement, none of the
    known sites, and so on, the surest of each kind; then the next surest.
    """
    rows: dict[str, list[Row]] = defaultdict(list)
    for row in matched:
        rows[row["occurrenceID"]].append(row)
    chosen = _chosen(material, rows)
    return [
        _example(
            material, sighting, rows[persistent_id("sighting", sighting.identifier)], read_photo
        )
        for sighting in chosen
    ]


def _chosen(material: Material, rows: dict[str, list[Row]]) -> list[Sighting]:
    by_kind: dict[tuple[str, str], list[tuple[float, str, Sighting]]] = defaultdict(list)
    for sighting in material.content.sightings:
        found = rows.get(persistent_id("sighting", sighting.identifier))
        if not found or not sighting.scientific_name:
            continue
        if not all(row.get("share") for row in found):
            continue  # withheld: an explanation of it is hidden
        leading = max(found, key=lambda row: (float(row["share"]), row["locationID"]))
        kind = (leading["taxonAgreement"] if leading["locationID"] else "none", leading["season"])
        by_kind[kind].append((-float(leading["share"]), sighting.identifier, sighting))
    queues = [sorted(by_kind[kind], key=lambda one: one[:2]) for kind in sorted(by_kind)]
    chosen: list[Sighting] = []
    while any(queues) and len(chosen) < MOST_EXAMPLES:
        for queue in queues:
            if queue and len(chosen) < MOST_EXAMPLES:
                chosen.append(queue.pop(0)[2])
    return chosen


def _example(
    material: Material, sighting: Sighting, rows: list[Row], read_photo: ReadPhoto | None
) -> Example:
    release = material.release
    digits = 2 if material.internal else 1
    ordered = sorted(rows, key=lambda row: (-float(row["share"]), row["locationID"]))
    place = release.place_text(sighting.locality)
    point = release.sighting_points[sighting.identifier]
    where = place or (
        spot_text(material, point.decimal_latitude, point.decimal_longitude)
        if point.decimal_latitude is not None and point.decimal_longitude is not None
        else "place not known"
    )
    radius = point.coordinate_uncertainty_in_meters
    observer = release.person(sighting.observer)
    return Example(
        heading=name_with_qualifier(sighting.scientific_name, sighting.qualifier),
        lines=(
            f"{sighting.event_date[:10] or 'date not known'}, {where}"
            + (f" (within {radius:.0f} m)" if radius else ""),
            f"Observer {observer}; sighting {sighting.identifier}.",
        ),
        photos=tuple(_photos(material, sighting, read_photo)),
        table=declared(
            "example",
            ordered,
            says={
                "site": _locality(material),
                "distance": _distance,
                "days": _days,
                "taxon": _taxon,
                "share": lambda row: _share(row, digits),
            },
        ),
    )


def _distance(row: Row) -> str:
    best = row.get("distanceInMeters", "")
    if not best:
        return NOTHING
    least, most = row.get("leastDistanceInMeters", ""), row.get("greatestDistanceInMeters", "")
    return f"{best} ({least} to {most})" if least and most else best


def _share(row: Row, digits: int) -> str:
    share, low, high = (float(row[name]) for name in ("share", "shareLow", "shareHigh"))
    return f"{share:.{digits}f} ({low:.{digits}f} to {high:.{digits}f})"


def _days(row: Row) -> str:
    least, most = row["leastDays"], row["greatestDays"]
    if not least:
        return NOTHING
    text = least if least == most else f"{least} to {most}"
    return text.replace("-", "\N{MINUS SIGN}")


def _taxon(row: Row) -> str:
    if not row["locationID"]:
        return NOTHING
    rank = row["agreementRank"]
    return f"{row['taxonAgreement']}, {rank}" if rank else row["taxonAgreement"]


def _photos(
    material: Material, sighting: Sighting, read_photo: ReadPhoto | None
) -> list[tuple[bytes, str]]:
    """Small new pictures without metadata: the best of each view, as released."""
    if read_photo is None:
        return []
    from triage import privacy
    from triage.analysis import images
    from triage.errors import TriageError

    found: list[tuple[bytes, str]] = []
    rows = [
        photo
        for photo in exported_photos(material.content, material.release)
        if photo.sighting == sighting.identifier
    ]
    rows.sort(key=lambda photo: (not photo.is_best, sighting.photos.index(photo.sha256)))
    for photo in rows[:MOST_PHOTOS]:
        try:
            clean = privacy.clean_photo(read_photo(photo.sha256), name=photo.sha256)
            small = images.shrink(images.decode(clean).rgb, PHOTO_PIXELS)
        except (TriageError, OSError):
            continue  # a damaged original is the audit's to report
        credit = material.release.person(photo.creator)
        caption = ", ".join(filter(None, (f"{photo.view} view" if photo.view else "", credit)))
        if photo.licence:
            caption += f". Licence: {photo.licence}"
        found.append((images.as_jpeg(small, quality=85), caption))
    return found
