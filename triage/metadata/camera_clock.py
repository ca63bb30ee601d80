"""The photos of one submission in, one correction for each camera whose clock is wrong out.

A camera's error is one constant for all its photos. GPS time gives it: a fix can be older than its
photo, never newer, so among the differences the largest that several photos share is the error.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median
from zoneinfo import ZoneInfo

from triage.metadata.capture_time import GPS_FIX_SECONDS, GPS_ROLLOVER, signed_duration
from triage.metadata.exif import ExifRecord

# Fixes fresh enough to show the error agree within this; six of the nine published example files
# agree within 1.3 s.
AGREEMENT_SECONDS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraTime:
    """One photo's clock: which camera, what it showed (ISO 8601), and GPS time if it had any.

    ``zone`` is the IANA zone in which a ``clock_time`` without offset is read.
    """

    photo: str
    camera: str
    clock_time: str
    zone: str
    gps_instant: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraCorrection:
    """One constant error of a camera's clock: add ``offset_seconds`` to what it showed.

    ``photos`` are all photos of that camera in the submission, ``shown_by`` those whose GPS time
    showed the error.
    """

    camera: str
    offset_seconds: float
    uncertainty_seconds: float
    photos: tuple[str, ...]
    shown_by: tuple[str, ...]
    reason: str


def camera_time(photo: str, exif: ExifRecord, *, zone: str) -> CameraTime | None:
    """Return a photo's clock, or nothing where the camera wrote no time of exposure."""
    if not exif.date_time_original:
        return None
    camera = " ".join(part for part in (exif.make, exif.model, exif.body_serial_number) if part)
    return CameraTime(
        photo=photo,
        camera=camera,
        clock_time=exif.date_time_original + exif.offset_time,
        zone=zone,
        gps_instant=exif.gps_instant,
    )


def camera_corrections(photos: Sequence[CameraTime]) -> tuple[CameraCorrection, ...]:
    """Return a correction for each camera whose photos share one constant error against GPS.

    Needs two photos with fixes of their own that agree within AGREEMENT_SECONDS; a camera right
    to within GPS_FIX_SECONDS needs none. Photos that name no camera are left alone.
    """
    by_camera: dict[str, list[CameraTime]] = defaultdict(list)
    for photo in photos:
        if photo.camera:
            by_camera[photo.camera].append(photo)
    found = (_correction(camera, taken) for camera, taken in sorted(by_camera.items()))
    return tuple(correction for correction in found if correction)


def correction_from_known(
    photos: Sequence[CameraTime], *, photo: str, true_time: datetime
) -> CameraCorrection:
    """Return the correction that follows from the true time (aware) of one photo of a camera.

    Raises ValueError if the photo is not among those given.
    """
    known = next((p for p in photos if p.photo == photo), None)
    if known is None:
        raise ValueError(f"no photo {photo} among those given")
    offset = (true_time - _moment(known)).total_seconds()
    return CameraCorrection(
        camera=known.camera,
        offset_seconds=offset,
        uncertainty_seconds=GPS_FIX_SECONDS,
        photos=tuple(p.photo for p in photos if p.camera == known.camera),
        shown_by=(photo,),
        reason=f"the true time of {photo} was given: {signed_duration(offset)}",
    )


def _moment(photo: CameraTime) -> datetime:
    moment = datetime.fromisoformat(photo.clock_time)
    return moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(photo.zone or "UTC"))


def _correction(camera: str, taken: list[CameraTime]) -> CameraCorrection | None:
    # Of several photos with one fix only the first is close to it: later ones kept it frozen.
    first_of_fix: dict[datetime, CameraTime] = {}
    for photo in sorted(taken, key=_moment):
        if photo.gps_instant is not None:
            first_of_fix.setdefault(photo.gps_instant, photo)
    errors = {
        photo.photo: (instant - _moment(photo)).total_seconds()
        for instant, photo in first_of_fix.items()
    }
    if any(error < -GPS_ROLLOVER.total_seconds() / 2 for error in errors.values()):
        return None  # the receiver's own date is wrong, it can correct nothing
    shared = _largest_shared(errors)
    if not shared:
        return None
    offset = median(errors[photo] for photo in shared)
    if abs(offset) <= GPS_FIX_SECONDS:
        return None
    return CameraCorrection(
        camera=camera,
        offset_seconds=offset,
        uncertainty_seconds=max(1.0, max(abs(errors[photo] - offset) for photo in shared)),
        photos=tuple(photo.photo for photo in taken),
        shown_by=shared,
        reason=(
            f"{len(shared)} of {len(errors)} GPS fixes agree that the clock is "
            f"{signed_duration(offset)[1:]} {'behind' if offset > 0 else 'ahead'}"
        ),
    )


def _largest_shared(errors: dict[str, float]) -> tuple[str, ...]:
    for top in sorted(errors.values(), reverse=True):
        near = tuple(p for p, error in errors.items() if top - AGREEMENT_SECONDS <= error <= top)
        if len(near) >= 2:
            return near
    return ()
