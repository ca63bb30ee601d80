"""Which claim of time and of place stands for one exposure, over all that is claimed of its copies.

The copies of an exposure may have come from several senders. What the files say counts from every
copy, since it is one exposure; what a sender says counts only from the sender who sent it first.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from triage.metadata.capture_time import TimeClaim, choose_time, contradicted, corrected
from triage.metadata.position import PlaceClaim, choose_place

OF_FILE = ("gps clock", "camera clock", "camera gps")
OF_CLOCK = ("gps clock", "camera clock")
BY_HAND = ("coordinator", "sender's answer")  # what people say of one photo holds for its animal


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The appearance that a claim hangs on: who sent it, and how far its camera's clock is off."""

    sender: int | None
    offset_seconds: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The claims that stand for one exposure; ``clock_doubts`` only where nobody settled them."""

    time: TimeClaim | None
    place: PlaceClaim | None
    clock_doubts: tuple[str, ...] = ()


def choose(
    times: Sequence[tuple[TimeClaim, Shown | None]],
    places: Sequence[tuple[PlaceClaim, Shown | None]],
    *,
    owner: int | None,
    zone: str,
) -> Chosen:
    """Choose among the claims on all copies of one exposure.

    A claim on no appearance (None) was made of the photo itself and always counts. ``owner`` is
    the sender of the first appearance; days and local times are read in ``zone`` (IANA).
    """
    said = [
        _put_right(claim, shown) for claim, shown in times if _counts(claim.source, shown, owner)
    ]
    heard = _with_clock_doubts(said, zone)
    stands = choose_time(heard)
    settled = stands is not None and stands.source in BY_HAND
    doubts = [doubt for claim in heard if claim.source in OF_CLOCK for doubt in claim.doubts]
    return Chosen(
        time=stands,
        place=choose_place(claim for claim, shown in places if _counts(claim.source, shown, owner)),
        clock_doubts=() if settled else tuple(dict.fromkeys(doubts)),
    )


def correction_for(camera: str, corrections: Mapping[str, float]) -> float | None:
    """The correction of a camera's clock; one without a name holds for every camera."""
    return corrections.get(camera, corrections.get(""))


def _counts(source: str, shown: Shown | None, owner: int | None) -> bool:
    return shown is None or shown.sender == owner or source in OF_FILE


def _put_right(claim: TimeClaim, shown: Shown | None) -> TimeClaim:
    """A camera's time with the coordinator's correction; a day has no clock to correct."""
    offset = shown.offset_seconds if shown else None
    if offset is None or claim.source != "camera clock" or "T" not in claim.event_date:
        return claim
    return replace(corrected(claim, offset), doubts=())


def _with_clock_doubts(times: Sequence[TimeClaim], zone: str) -> Sequence[TimeClaim]:
    """Doubt a clock and words that exclude each other; words stand against an unchecked clock.

    A phone's clock (it states its offset) or GPS may be righter than "yesterday"; a camera's clock
    is set by hand, once, or never.
    """
    found = contradicted(times, zone=zone)
    checked = any(
        one.source == "gps clock" or re.search(r"T.*[+-]\d\d:\d\d$", one.event_date)
        for one in times
        if one.source in OF_CLOCK
    )
    if checked:
        return found
    pairs = zip(times, found, strict=True)
    return [new if old.source in OF_CLOCK else old for old, new in pairs]
