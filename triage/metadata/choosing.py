"""Which claim of time and of place stands for one exposure, over all that is claimed of its copies.

The copies of an exposure may have come from several senders. What the files say counts from every
copy, since it is one exposure; what a sender says counts only from the sender who sent it first.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Protocol, TypeVar

from triage.metadata.capture_time import (
    TimeClaim,
    choose_time,
    contradicted,
    corrected,
    overlap,
    unset_clock,
)
from triage.metadata.carried_clock import PutRight, doubted_by
from triage.metadata.position import SAID_BY_PEOPLE, PlaceClaim, apart, choose_place

OF_FILE = ("gps clock", "camera clock", "camera gps")
OF_CLOCK = ("gps clock", "camera clock")
NO_CAMERA = ("gps clock", "message text", "sender's answer")  # what speaks of time besides cameras


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The appearance that a claim hangs on: who sent it, and how far its camera's clock is off.

    ``corrected_by`` is the number of the action that said how far; where nobody said it of this
    mail, ``elsewhere`` is what was said of the same camera in the sender's others, the nearest
    first, and ``sent_at`` when this one was mailed.
    """

    sender: int | None
    offset_seconds: float | None = None
    corrected_by: int = 0
    elsewhere: tuple[PutRight, ...] = ()
    sent_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The claims that stand for one exposure, and every doubt that nobody has settled.

    ``clock_doubts`` are of its clocks, ``clocks_against`` of a day that a person said and that sure
    clocks exclude, ``place_doubts`` of the place that stands and of the photo's own fix where
    another place stands. ``offered_date`` and ``offered_place`` are what the doubts suggest
    instead, where they suggest one thing; ``carried`` is the word on this camera in another mail by
    which ``offered_date`` is offered; ``places`` is every place that counts.
    """

    time: TimeClaim | None
    place: PlaceClaim | None
    clock_doubts: tuple[str, ...] = ()
    clocks_against: tuple[str, ...] = ()
    place_doubts: tuple[str, ...] = ()
    offered_date: str = ""
    offered_place: PlaceClaim | None = None
    carried: PutRight | None = None
    places: tuple[PlaceClaim, ...] = ()

    @property
    def time_doubts(self) -> tuple[str, ...]:
        """Doubts of the time, whether of a clock or of words."""
        own = self.time.doubts if self.time else ()
        return self.clock_doubts or self.clocks_against or own


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
    said, carried = _with_words_elsewhere(
        [
            (_put_right(claim, shown), shown)
            for claim, shown in times
            if _counts(claim.source, shown, owner)
        ],
        zone,
    )
    heard = _with_clock_doubts([claim for claim in said if not claim.said], zone)
    stands = choose_time([*heard, *(claim for claim in said if claim.said)])
    by_hand = stands is not None and (stands.source in SAID_BY_PEOPLE or stands.said > 0)
    against = _clocks_against(stands, said, zone)
    settled = by_hand and not (stands and stands.said and stands.doubts)
    doubts = [doubt for claim in heard if claim.source in OF_CLOCK for doubt in claim.doubts]
    doubts += stands.doubts if stands is not None and stands.said else ()
    counted = [claim for claim, shown in places if _counts(claim.source, shown, owner)]
    place = choose_place(counted)
    offered = against[0].event_date if against else "" if settled else _offered_date(said)
    return Chosen(
        time=stands,
        place=place,
        clock_doubts=() if settled else tuple(dict.fromkeys(doubts)),
        clocks_against=tuple(_in_words(one, stands) for one in against if stands),
        place_doubts=(place_doubts := _place_doubts(place, counted)),
        offered_date=offered,
        offered_place=_offered_place(counted) if place_doubts else None,
        carried=carried.get(offered),
        places=tuple(counted),
    )


def _clocks_against(
    stands: TimeClaim | None, said: Sequence[TimeClaim], zone: str
) -> list[TimeClaim]:
    """Sure clocks that exclude what a person answered or typed: a slip, or another photo's day.

    None where anything else that is said of this photo agrees with the person: then both were in
    front of a human before.
    """
    if stands is None or stands.source not in SAID_BY_PEOPLE:
        return []
    sure = [one for one in said if one.source in OF_CLOCK and not (one.doubts or one.said)]
    others = [one for one in said if one.source not in (*OF_CLOCK, stands.source)]
    agreed = any(overlap(one, stands, zone) for one in others)
    return [one for one in sure if not agreed and not overlap(one, stands, zone)]


def _in_words(clock: TimeClaim, stands: TimeClaim) -> str:
    whose = "what you typed" if stands.source == "coordinator" else "the answer"
    shown = f"{stands.event_date}, the {clock.source} says {clock.event_date}"
    return f"{whose} is {shown}".replace("T", " ")


def _place_doubts(stands: PlaceClaim | None, counted: Sequence[PlaceClaim]) -> tuple[str, ...]:
    """Doubts of the place that stands and of a fix that it outranks; none if a person settled it.

    A fix that lies where the place is needs no doubts of its own: two sources agree.
    """
    if stands is None or stands.source == "coordinator":
        return ()
    fixes = [claim for claim in counted if claim.source == "camera gps" and claim is not stands]
    agree = [fix.decimal_latitude is not None and apart(fix, stands) is None for fix in fixes]
    against = [
        f"the photo's own fix: {doubt}"
        for fix, same in zip(fixes, agree, strict=True)
        for doubt in (() if same and not stands.doubts else fix.doubts)
    ]
    return tuple(dict.fromkeys((*stands.doubts, *against)))


def _offered_date(times: Sequence[TimeClaim]) -> str:
    """The event date that the doubts suggest, empty if none or several do."""
    offers = {claim.offered_event_date for claim in times if claim.offered_event_date}
    return offers.pop() if len(offers) == 1 else ""


def _offered_place(places: Sequence[PlaceClaim]) -> PlaceClaim | None:
    """The place that the doubts suggest: a repaired point, else the one site that words name."""
    repaired = {claim.offered: claim for claim in places if claim.offered is not None}
    if len(repaired) == 1:
        ((point, claim),) = repaired.items()
        radius = claim.coordinate_uncertainty_in_meters or REPAIRED_METRES
        return replace(
            claim,
            decimal_latitude=point[0],
            decimal_longitude=point[1],
            coordinate_uncertainty_in_meters=radius,
            doubts=(),
            offered=None,
            note="repaired as offered",
        )
    named = {claim.location_id: claim for claim in places if claim.location_id}
    if repaired or len(named) != 1:
        return None
    (claim,) = named.values()
    return replace(claim, doubts=(), note="the site as offered")


REPAIRED_METRES = 100.0  # of coordinates put right whose receiver says nothing; common practice


class _Said(Protocol):
    @property
    def action(self) -> int: ...


Correction = TypeVar("Correction", bound=_Said)


def correction_for(camera: str, corrections: Mapping[str, Correction]) -> Correction | None:
    """The newest correction of a camera's clock; one without a name holds for every camera."""
    found = [corrections[name] for name in dict.fromkeys((camera, "")) if name in corrections]
    return max(found, key=lambda one: one.action, default=None)


def _counts(source: str, shown: Shown | None, owner: int | None) -> bool:
    """Another sender's words are not of this photo; files and the coordinator's word always are."""
    return shown is None or shown.sender == owner or source in (*OF_FILE, "coordinator")


def _put_right(claim: TimeClaim, shown: Shown | None) -> TimeClaim:
    """A camera's time with the coordinator's correction; a day has no clock to correct."""
    offset = shown.offset_seconds if shown else None
    if offset is None or claim.source != "camera clock" or "T" not in claim.event_date:
        return claim
    by = shown.corrected_by if shown else 0
    right = corrected(claim, offset)
    never_set = unset_clock(date.fromisoformat(right.event_date[:10]), None)
    return replace(right, doubts=(never_set,) if never_set else (), said=by)


def _with_words_elsewhere(
    times: Sequence[tuple[TimeClaim, Shown | None]], zone: str
) -> tuple[list[TimeClaim], dict[str, PutRight]]:
    """The claims, a camera's doubted by what was said of it in other mails; by date the words."""
    found: list[TimeClaim] = []
    carried: dict[str, PutRight] = {}
    for claim, shown in times:
        if shown and shown.elsewhere and claim.source == "camera clock" and not claim.said:
            others = [c for c, _ in times if c.source in NO_CAMERA]
            if "T" in claim.event_date:
                claim, word = doubted_by(
                    claim, shown.elsewhere, others, sent_at=shown.sent_at, zone=zone
                )
                carried |= {claim.offered_event_date: word} if word else {}
        found.append(claim)
    return found, carried


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
