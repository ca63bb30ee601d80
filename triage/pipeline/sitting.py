"""Lend the sightings to look at next to a determiner's browser, each to one browser only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from triage.pipeline import queueing
from triage.store import actions, leases
from triage.store import determinations as said
from triage.store.connection import Survey

LEASE = timedelta(minutes=10)  # how long a look may take before another may have the sighting


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place in the queue: the sighting, why it stands there, how often it was determined."""

    sighting: str
    score: float
    reasons: tuple[str, ...]
    said: int


def order(survey: Survey, *, by: str, now: datetime) -> list[Place]:
    """What waits for this determiner, the one most worth a look first."""
    return [
        Place(
            sighting=one.sighting.identifier,
            score=one.entry.score,
            reasons=one.entry.reasons,
            said=_times_said(survey, one.sighting.identifier),
        )
        for one in queueing.queue(survey, now=now, for_determiner=by)
    ]


def lend(
    survey: Survey,
    places: Sequence[Place],
    *,
    browser: str,
    count: int,
    now: datetime,
    already: Sequence[str] = (),
) -> list[Place]:
    """The first places that no other browser holds, held for this one from now on.

    ``already`` are the sightings that the browser has in hand: they are held longer, everything
    else that it held is free again. A sighting that was determined since the order was made is
    passed over.
    """
    with survey.transaction():
        leases.let_go(survey, browser, keep=frozenset(already))
        for sighting in already:
            leases.take(survey, sighting, browser, now=now, until=now + LEASE)
        taken = leases.held_by_others(survey, browser, now=now)
        found: list[Place] = []
        for place in places:
            if len(found) >= count:
                break
            if place.sighting in already or place.sighting in taken:
                continue
            if _times_said(survey, place.sighting) != place.said:
                continue
            leases.take(survey, place.sighting, browser, now=now, until=now + LEASE)
            found.append(place)
        return found


def _times_said(survey: Survey, sighting: str) -> int:
    return len(said.of_sighting(survey, sighting))


def my_last_action(survey: Survey, *, by: str) -> actions.Action | None:
    """The newest action of this person that still holds and may be taken back."""
    return actions.newest_of(survey, by)
