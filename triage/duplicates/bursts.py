"""Link the frames of one burst by time, sender, camera and place.

Frames some seconds apart are as far apart in every hash as strangers, so time, sender, camera and
place carry the decision; the insect's colours may only speak against it.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from triage.analysis.colours import likeness
from triage.duplicates.records import BY_TIME, Fingerprint, PhotoLink

BURST_SECONDS = 60.0  # longest gap between frames, in whole seconds; common practice, no source
SURE_BURST_SECONDS = 10.0  # up to here colours are not asked; common practice, no source
BURST_METRES = 100.0  # frames with positions further apart show two places
MIN_LIKENESS = 0.2  # of colour signatures; below, two kinds of insect; common practice, no source
_METRES_PER_DEGREE = 111_195.0  # of latitude on the mean sphere of 6371.0 km


def may_be_burst(one: Fingerprint, two: Fingerprint) -> bool:
    """Whether sender, camera, time and place allow two photos to be frames of one burst."""
    if one.sender != two.sender or (one.camera and two.camera and one.camera != two.camera):
        return False
    seconds = seconds_between(one, two)
    return (seconds is None or int(seconds) <= BURST_SECONDS) and not _apart(one, two)


def burst_links(frames: Iterable[Fingerprint]) -> Iterator[PhotoLink]:
    """Links of neighbours in time of one sender and camera."""
    series = defaultdict[tuple[str, str], list[tuple[datetime, Fingerprint]]](list)
    for each in frames:
        when = _instant(each)
        if each.camera and when is not None:
            series[each.sender, each.camera].append((when, each))
    for photos in series.values():
        photos.sort(key=lambda pair: (pair[0], pair[1].sha256))
        for (_, earlier), (_, later) in pairwise(photos):
            if _is_burst(earlier, later):
                first, second = sorted((earlier.sha256, later.sha256))
                words = f"{BY_TIME}{seconds_between(earlier, later):.0f} s apart"
                yield PhotoLink(kind="burst", first=first, second=second, evidence=words)


def near_in_time(fresh: Sequence[Fingerprint], old: Sequence[Fingerprint]) -> list[Fingerprint]:
    """Old photos taken within a burst's longest gap of a fresh one, whoever sent them."""
    moments = sorted(when for each in fresh if (when := _instant(each)) is not None)
    reach = timedelta(
        seconds=BURST_SECONDS + 2
    )  # whole seconds count, and fractions may be unknown
    found = []
    for each in old if moments else ():
        when = _instant(each)
        if when is not None:
            at = bisect_left(moments, when)
            if any(abs(one - when) < reach for one in moments[max(at - 1, 0) : at + 1]):
                found.append(each)
    return found


def burst_words(one: Fingerprint, two: Fingerprint) -> str:
    """Why two frames belong together whose pictures show it."""
    seconds = seconds_between(one, two)
    return "same scene" if seconds is None else f"same scene, {seconds:.0f} s apart"


def _is_burst(earlier: Fingerprint, later: Fingerprint) -> bool:
    seconds = seconds_between(earlier, later)
    if seconds is None or not may_be_burst(earlier, later):
        return False
    alike = likeness(earlier.colours, later.colours) >= MIN_LIKENESS
    return seconds <= SURE_BURST_SECONDS or alike


def seconds_between(one: Fingerprint, two: Fingerprint) -> float | None:
    """Seconds between two captures; None where one is unknown."""
    first, second = _instant(one), _instant(two)
    return None if first is None or second is None else abs((first - second).total_seconds())


def _instant(photo: Fingerprint) -> datetime | None:
    try:
        return datetime.fromisoformat(photo.captured).replace(tzinfo=None)
    except ValueError:
        return None


def _apart(one: Fingerprint, two: Fingerprint) -> bool:
    """Whether both positions are known and further apart than one place and their radii allow."""
    here, there = _position(one), _position(two)
    if here is None or there is None:
        return False
    north = here[0] - there[0]
    east = (here[1] - there[1] + 180) % 360 - 180
    metres = math.hypot(north, east * math.cos(math.radians(here[0]))) * _METRES_PER_DEGREE
    radii = one.coordinate_uncertainty_in_meters + two.coordinate_uncertainty_in_meters
    return metres > BURST_METRES + radii


def _position(photo: Fingerprint) -> tuple[float, float] | None:
    if photo.decimal_latitude is None or photo.decimal_longitude is None:
        return None
    return photo.decimal_latitude, photo.decimal_longitude
