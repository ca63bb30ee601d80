"""Examined photos in, copy groups and bursts out; only new photos are compared with the rest."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from triage.analysis.hashing import hash_is_empty
from triage.duplicates import Fingerprint, burst_groups, copy_groups, find_links
from triage.duplicates.candidates import HashIndex
from triage.duplicates.links import ALL_ARE_NEIGHBOURS
from triage.duplicates.narrowing import EVERYWHERE_BITS, PLACE_DEGREES
from triage.metadata.camera_clock import camera_of
from triage.pipeline.progress import Progress, silent
from triage.store import grouping, originals, photos
from triage.store.connection import Survey

METHOD = "links 2"
SLIVER_PX = 32  # short side of a preview; common practice, no source: an ORB patch has 31 pixels
MOST_NEIGHBOURS = 8_000  # of all senders and places of a night together: bounds time and memory


def link_new(survey: Survey, *, progress: Progress = silent) -> int:
    """Compare photos not yet linked with each other and with all the rest; returns new links."""
    new = photos.hashed(survey, linked=False, method=METHOD)
    if not new:
        return 0
    prints = fingerprints(survey, new)
    known = fingerprints(survey, _may_be_linked(survey, prints))
    progress("comparing", 0, len(new))
    links = find_links(
        list(prints.values()),
        list(known.values()),
        pixels=lambda photo: grey_preview(survey, photo),
    )
    with survey.transaction():
        before = photos.forget_links(survey, new)
        photos.save_links(survey, links, photos=new, method=METHOD)
        _regroup(survey, {*new} | before, {**known, **prints})
        touched = {photo for link in links for photo in (link.first, link.second)}
        grouping.mark_dirty(survey, touched | before | {*new})
    progress("comparing", len(new), len(new))
    return len(links)


def _may_be_linked(survey: Survey, new: dict[str, Fingerprint]) -> set[str]:
    """The known photos worth loading: all of a few, else those alike, or near by any measure.

    Hashes are asked of everything. Local features are asked only of what may be the same exposure:
    files that state different days are not, so a dated photo's neighbours are those of its day and
    the undated ones of its sender and place; an undated one's are all of its sender and place.
    """
    if photos.count_linked(survey, METHOD) <= ALL_ARE_NEIGHBOURS:
        return set(photos.hashed(survey, linked=True, method=METHOD)) - new.keys()
    found = _alike(survey, new)
    for undated in (True, False):
        asking = [one for one in new.values() if bool(one.captured) is undated]
        senders = {int(one.sender) for one in asking if one.sender}
        boxes = _boxes(asking)
        share = MOST_NEIGHBOURS // max(len(senders) + len(boxes), 1)
        found |= photos.of_senders(survey, senders, limit=share, undated=undated)
        found |= photos.of_places(survey, boxes, limit=share, undated=undated)
        found |= photos.of_days(survey, {one.captured[:10] for one in asking} - {""})
    return found - new.keys()


def _alike(survey: Survey, new: dict[str, Fingerprint]) -> set[str]:
    """Known photos whose hash lies within reach of a new one's, in any orientation."""
    owners: list[str] = []
    hashes: list[str] = []
    for photo, phash, content_phash in photos.hashes_of_linked(survey, METHOD):
        for one in {phash, content_phash} - {""}:
            owners.append(photo)
            hashes.append(one)
    index = HashIndex(hashes)
    asked = {h for one in new.values() for h in (one.phash, one.content_phash)} - {""}
    found: set[str] = set()
    for phash in asked:
        if not hash_is_empty(phash):
            rows, _, _ = index.within(phash, EVERYWHERE_BITS)
            found.update(owners[row] for row in rows.tolist())
    return found


def _boxes(new: Sequence[Fingerprint]) -> set[tuple[float, float, float, float]]:
    """South, west, north and east of the neighbourhood of every place, in degrees."""
    found = set()
    for one in new:
        if one.decimal_latitude is not None and one.decimal_longitude is not None:
            cell = (
                round(math.floor(one.decimal_latitude / PLACE_DEGREES) * PLACE_DEGREES, 6),
                round(math.floor(one.decimal_longitude / PLACE_DEGREES) * PLACE_DEGREES, 6),
            )
            wide = 2 * PLACE_DEGREES
            step = PLACE_DEGREES
            found.add((cell[0] - step, cell[1] - step, cell[0] + wide, cell[1] + wide))
    return found


def fingerprints(survey: Survey, wanted: Iterable[str]) -> dict[str, Fingerprint]:
    """What the search for copies needs of each photo."""
    found = {}
    for row in photos.search_keys(survey, wanted):
        exif = photos.exif_from_text(row["exif"])
        facts = (
            exif.date_time_original,
            exif.offset_time,
            exif.gps_latitude is not None,
            exif.make,
            exif.model,
        )
        found[row["sha256"]] = Fingerprint(
            sha256=row["sha256"],
            phash=row["phash"],
            width=row["width"],
            height=row["height"],
            byte_size=row["byte_size"],
            sender=str(row["person_id"] or ""),
            camera=camera_of(exif),
            captured=exif.date_time_original,
            decimal_latitude=exif.gps_latitude,
            decimal_longitude=exif.gps_longitude,
            metadata_fields=sum(bool(fact) for fact in facts),
            colours=tuple(json.loads(row["colours"] or "[]")),
            content_phash=row["content_phash"],
            local_features=row["local_features"],
        )
    return found


def grey_preview(survey: Survey, photo: str) -> NDArray[np.uint8] | None:
    """Grey pixels of a photo's preview, or of its original; None where there is too little."""
    from triage.analysis.images import decode, grey_of, shrink
    from triage.errors import TriageError
    from triage.pipeline.examine import preview_path

    path = preview_path(survey, photo)
    try:
        if path.exists():
            grey = grey_of(decode(path.read_bytes()).rgb)
        else:
            grey = grey_of(shrink(decode(originals.content_of(survey.originals, photo)).rgb, 512))
    except TriageError:
        return None
    return grey if min(grey.shape) >= SLIVER_PX else None


def _regroup(survey: Survey, changed: set[str], every: dict[str, Fingerprint]) -> None:
    """Compute the groups anew that the changed photos reach through links."""
    reached, frontier = set(changed), set(changed)
    links = {}
    while frontier:
        fresh = photos.links_among(survey, frontier)
        links.update({(link.first, link.second, link.kind): link for link in fresh})
        frontier = {p for link in fresh for p in (link.first, link.second)} - reached
        reached |= frontier
    missing = reached - every.keys()
    prints = {**every, **(fingerprints(survey, missing) if missing else {})}
    here = [prints[photo] for photo in sorted(reached)]
    ordered = [links[key] for key in sorted(links)]
    for kind, groups in (
        ("copy", copy_groups([x for x in ordered if x.kind == "copy"], here)),
        ("burst", burst_groups(ordered, here)),
    ):
        found = [(one.identifier, one.members, one.best) for one in groups]
        photos.save_groups(survey, kind, found, reached)
