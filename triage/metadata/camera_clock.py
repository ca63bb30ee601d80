"""Find one correction for each camera of a submission whose clock is wrong.

A camera's error is one constant for all its photos. GPS time gives it: a fix can be older than its
photo, never newer, so among the differences the largest that several photos share is the error.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median
from zoneinfo import ZoneInfo

from triage.metadata.exif import ExifRecord

# A fix may be older than the exposure; the published nine-file example has fixes up to 54 s old.
GPS_FIX_SECONDS = 60.0
GPS_ROLLOVER = timedelta(weeks=1024)  # the broadcast week number has ten bits (IS-GPS-200)

# Two clocks that each cut to the whole second differ by up to 2 s; six of the nine published
# example files agree within 1.3 s.
AGREEMENT_SECONDS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraTime:
    """One photo of a submission: its identifier, what its file says, and when it was mailed."""

    photo: str
    exif: ExifRecord
    sent_at: datetime | None = None


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
    reason: str


def camera_corrections(photos: Sequence[CameraTime], *, zone: str) -> tuple[CameraCorrection, ...]:
    """Return a correction for each camera whose photos share one constant error against GPS.

    Needs two photos with fixes of their own that agree within AGREEMENT_SECONDS; a camera right
    to within GPS_FIX_SECONDS needs none. Photos that name no camera are left alone. A clock
    without offset is read in ``zone`` (IANA).
    """
    by_camera: dict[str, list[CameraTime]] = defaultdict(list)
    for photo in photos:
        if camera_of(photo.exif) and photo.exif.date_time_original:
            by_camera[camera_of(photo.exif)].append(photo)
    found = (_correction(camera, taken, zone) for camera, taken in sorted(by_camera.items()))
    return tuple(correction for correction in found if correction)


def camera_of(exif: ExifRecord) -> str:
    """Name the camera by make, model and serial number as far as the file has them."""
    return " ".join(part for part in (exif.make, exif.model, exif.body_serial_number) if part)


def signed_duration(seconds: float) -> str:
    """Write a clock's error as people say it.

    >>> signed_duration(-3725)
    '-1 h 2 min 5 s'
    """
    whole = round(abs(seconds))
    units = ((86_400, "d"), (3600, "h"), (60, "min"), (1, "s"))
    parts = []
    for size, unit in units:
        count, whole = divmod(whole, size)
        parts.extend([f"{count} {unit}"] if count else [])
    return ("-" if seconds < 0 else "+") + (" ".join(parts) or "0 s")


def seconds_behind(clock_time: str, true_time: datetime, zone: str) -> float:
    """Return how far a clock's time (ISO 8601) is behind the true one (aware), in seconds.

    A clock without offset is compared with the wall clock of the place: one that shows a day of
    winter on a day of summer is wrong by what must be added to it, and summer time is none of it.
    """
    shown = datetime.fromisoformat(clock_time)
    if shown.tzinfo is None:
        true_time = true_time.astimezone(ZoneInfo(zone or "UTC")).replace(tzinfo=None)
    return (true_time - shown).total_seconds()


def _clock(photo: CameraTime) -> str:
    return photo.exif.date_time_original + photo.exif.offset_time


def _correction(camera: str, taken: list[CameraTime], zone: str) -> CameraCorrection | None:
    # Of several photos with one fix only the first is close to it: later ones kept it frozen.
    first_of_fix: dict[datetime, CameraTime] = {}
    for photo in sorted(taken, key=_clock):
        if photo.exif.gps_instant is not None:
            first_of_fix.setdefault(photo.exif.gps_instant, photo)
    errors = {
        photo.photo: seconds_behind(_clock(photo), instant, zone)
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
