"""Which claim of time and of place stands for one exposure, over all that is claimed of its copies.

The copies of an exposure may have come from several senders. What the files say counts from every
copy, since it is one exposure; what a sender says counts only from the sender who sent it first.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Protocol, TypeVar

from triage.metadata.capture_time import (
    MAIL_CLOCK_SECONDS,
    TimeClaim,
    choose_time,
    contradicted,
    corrected,
    overlap,
    time_span,
    unset_clock,
)
from triage.metadata.carried_clock import PutRight, doubted_by
from triage.metadata.position import (
    SAID_BY_PEOPLE,
    PlaceClaim,
    apart,
    choose_place,
    doubts_against,
)

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

    ``clock_doubts`` are of its clocks, ``said_against`` of a time that a person said and that sure
    clocks or the mail's own date exclude, ``place_doubts`` of the place that stands and of the
    photo's own fix where another place stands. ``offered_date`` and ``offered_place`` are what the
    doubts suggest instead, where they suggest one thing; ``carried`` is the word on this camera in
    another mail by which ``offered_date`` is offered; ``places`` is every place that counts.
    """

    time: TimeClaim | None
    place: PlaceClaim | None
    clock_doubts: tuple[str, ...] = ()
    said_against: tuple[str, ...] = ()
    place_doubts: tuple[str, ...] = ()
    offered_date: str = ""
    offered_place: PlaceClaim | None = None
    carried: PutRight | None = None
    places: tuple[PlaceClaim, ...] = ()

    @property
    def time_doubts(self) -> tuple[str, ...]:
        """Doubts of the time, whether of a clock or of words."""
        own = self.time.doubts if self.time else ()
        return self.clock_doubts or self.said_against or own


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
    by_hand = stands is not None and is_by_hand(stands)
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
        said_against=(
            *(_in_words(one, stands) for one in against if stands),
            *_after_the_mail(stands, times, zone),
        ),
        place_doubts=(place_doubts := _place_doubts(place, counted)),
        offered_date=offered,
        offered_place=_offered_place(place, counted) if place_doubts else None,
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
    if stands is None or not is_by_hand(stands):
        return []
    sure = [one for one in said if one.source in OF_CLOCK and not (one.doubts or one.said)]
    others = [one for one in said if one.source not in (*OF_CLOCK, stands.source)]
    agreed = any(overlap(one, stands, zone) for one in others)
    return [one for one in sure if not agreed and not overlap(one, stands, zone)]


def is_by_hand(stands: TimeClaim) -> bool:
    """Whether a person answered or typed it, or put its clock right."""
    return stands.source in SAID_BY_PEOPLE or stands.said > 0


def _after_the_mail(
    stands: TimeClaim | None, times: Sequence[tuple[TimeClaim, Shown | None]], zone: str
) -> list[str]:
    """That what a person said is later than the first mail that brought the photo, or nothing."""
    sent = min((s.sent_at for _, s in times if s and s.sent_at), default=None)
    if stands is None or sent is None or not is_by_hand(stands):
        return []
    begins, _ = time_span(stands.event_date, zone)
    if begins <= sent + timedelta(seconds=MAIL_CLOCK_SECONDS):
        return []
    when = sent.astimezone(begins.tzinfo).isoformat(sep=" ", timespec="minutes")
    return [f"{_named(stands)}, the mail was sent {when}"]


def _in_words(clock: TimeClaim, stands: TimeClaim) -> str:
    return f"{_named(stands)}, the {clock.source} says {clock.event_date.replace('T', ' ')}"


def _named(stands: TimeClaim) -> str:
    whose = {"coordinator": "what you typed", "sender's answer": "the answer"}
    said = whose.get(stands.source, "the corrected clock")
    return f"{said} is {stands.event_date.replace('T', ' ')}"


def _place_doubts(stands: PlaceClaim | None, counted: Sequence[PlaceClaim]) -> tuple[str, ...]:
    """Doubts of the place that stands and of a fix that it outranks.

    A fix that lies where the place is needs no doubts of its own: two sources agree. Of a place
    that somebody typed only what is sure raises one.
    """
    if stands is None:
        return ()
    if stands.source == "coordinator":
        typed = stands.locality or "what you typed"
        return tuple(
            f"{_named_place(one)} is {doubt}"
            for one in _places_against(stands, counted)
            for doubt in doubts_against(one, stands, name=typed)
        )
    fixes = [claim for claim in counted if claim.source == "camera gps" and claim is not stands]
    agree = [fix.decimal_latitude is not None and apart(fix, stands) is None for fix in fixes]
    against = [
        f"the photo's own fix: {doubt}"
        for fix, same in zip(fixes, agree, strict=True)
        for doubt in (() if same and not stands.doubts else fix.doubts)
    ]
    return tuple(dict.fromkeys((*stands.doubts, *against)))


def _places_against(stands: PlaceClaim, counted: Sequence[PlaceClaim]) -> list[PlaceClaim]:
    """Sure fixes that exclude the place that a coordinator typed: a slip, or another photo's place.

    Against typed coordinates, of which one digit may be wrong, also sure places in words. None
    where anything else that is said of this photo agrees, as for its time.
    """
    others = [one for one in counted if one.source not in ("camera gps", "coordinator")]
    agreed = any(
        one.location_id == stands.location_id
        if stands.location_id
        else one.decimal_latitude is not None and apart(one, stands) is None
        for one in others
    )
    fixes = [one for one in counted if one.source == "camera gps"]
    known = fixes if stands.location_id else [*fixes, *others]
    sure = [one for one in known if not one.doubts and apart(one, stands) is not None]
    return [] if agreed else sure


def _named_place(one: PlaceClaim) -> str:
    return "the photo's own fix" if one.source == "camera gps" else f"'{one.verbatim}' in the mail"


def _offered_date(times: Sequence[TimeClaim]) -> str:
    """The event date that the doubts suggest, empty if none or several do."""
    offers = {claim.offered_event_date for claim in times if claim.offered_event_date}
    return offers.pop() if len(offers) == 1 else ""


def _offered_place(stands: PlaceClaim | None, places: Sequence[PlaceClaim]) -> PlaceClaim | None:
    """The place that the doubts suggest: a repaired point, else the one site that words name.

    Against what was typed it is the photo's own fix, else what the mail surely says.
    """
    if stands is not None and stands.source == "coordinator":
        return next(iter(_places_against(stands, places)), None)
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
