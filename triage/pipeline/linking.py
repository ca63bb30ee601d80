"""Examined photos in, copy groups and bursts out; only new photos are compared with the rest."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from triage.duplicates import Fingerprint, burst_groups, copy_groups, find_links
from triage.metadata.camera_clock import camera_of
from triage.pipeline.progress import Progress, silent
from triage.store import grouping, originals, photos
from triage.store.connection import Survey

METHOD = "links 1"


def link_new(survey: Survey, *, progress: Progress = silent) -> int:
    """Compare photos not yet linked with each other and with all the rest; returns new links."""
    new = photos.hashed(survey, linked=False, method=METHOD)
    if not new:
        return 0
    known = photos.hashed(survey, linked=True, method=METHOD)
    every = fingerprints(survey, [*new, *known])
    progress("comparing", 0, len(new))
    links = find_links(
        [every[photo] for photo in new],
        [every[photo] for photo in known],
        pixels=lambda photo: grey_preview(survey, photo),
    )
    with survey.transaction():
        photos.save_links(survey, links, photos=new, method=METHOD)
        _regroup(survey, {*new}, every)
        touched = {photo for link in links for photo in (link.first, link.second)}
        grouping.mark_dirty(survey, touched | {*new})
    progress("comparing", len(new), len(new))
    return len(links)


def fingerprints(survey: Survey, wanted: Iterable[str]) -> dict[str, Fingerprint]:
    """What the search for copies needs of each photo."""
    rows = photos.load(survey, wanted)
    first: dict[str, photos.AppearanceRow] = {}
    for one in photos.appearances(survey, rows):
        first.setdefault(one.photo, one)
    found = {}
    for photo, row in rows.items():
        exif = row.exif
        facts = (
            exif.date_time_original,
            exif.offset_time,
            exif.gps_latitude is not None,
            exif.make,
            exif.model,
        )
        found[photo] = Fingerprint(
            sha256=photo,
            phash=row.phash,
            width=row.photo.width,
            height=row.photo.height,
            byte_size=row.photo.byte_size,
            sender=str(first[photo].person or "") if photo in first else "",
            camera=camera_of(exif),
            captured=exif.date_time_original,
            decimal_latitude=exif.gps_latitude,
            decimal_longitude=exif.gps_longitude,
            metadata_fields=sum(bool(fact) for fact in facts),
            colours=row.colours,
            content_phash=row.content_phash,
            local_features=row.local_features,
        )
    return found


def grey_preview(survey: Survey, photo: str) -> NDArray[np.uint8] | None:
    """Grey pixels of a photo's preview; a deleted preview is made again from the original."""
    from triage.analysis.images import decode, grey_of, shrink
    from triage.errors import TriageError
    from triage.pipeline.examine import preview_path

    path = preview_path(survey, photo)
    try:
        if path.exists():
            return grey_of(decode(path.read_bytes()).rgb)
        return grey_of(shrink(decode(originals.content_of(survey.originals, photo)).rgb, 512))
    except TriageError:
        return None


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
        ("burst", burst_groups([x for x in ordered if x.kind == "burst"], here)),
    ):
        found = [(one.identifier, one.members, one.best) for one in groups]
        photos.save_groups(survey, kind, found, reached)
