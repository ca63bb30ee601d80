"""Lend the sightings to look at next to a determiner's browser, each to one browser only."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import count

from triage.determinations.blind import sighting_spoken_of, without_what_was_said
from triage.errors import UnknownError
from triage.pipeline import queueing, undo
from triage.report.queue_sheet import Ranked
from triage.store import actions, leases, queue_order
from triage.store.connection import Survey

AT_ONCE = 8  # places of the queue that are loaded together: a browser has four in hand
LEASE = timedelta(minutes=10)  # how long a look may take before another may have the sighting


def lend(
    survey: Survey,
    *,
    by: str,
    browser: str,
    now: datetime,
    already: Sequence[str] = (),
    not_now: Sequence[str] = (),
) -> Ranked | None:
    """The first sighting for this determiner that no browser holds, held for this one from now on.

    ``already`` are the sightings that the browser has in hand: they are held longer, everything
    else that it held is free again. ``not_now`` are those put off in this sitting: free for
    others, and lent again when nothing else waits.
    """
    with survey.transaction():
        leases.let_go(survey, browser, keep=frozenset(already))
        for sighting in already:
            leases.take(survey, sighting, browser, now=now, until=now + LEASE)
        taken = leases.held_by_others(survey, browser, now=now) | set(already)
        found = _first_free(_in_order(survey, by=by, now=now), taken, set(not_now))
        if found is not None:
            sighting = found.sighting.identifier
            leases.take(survey, sighting, browser, now=now, until=now + LEASE)
    return found


def _first_free(line: Iterator[Ranked], taken: set[str], not_now: set[str]) -> Ranked | None:
    put_off = None
    for one in line:
        if one.sighting.identifier in not_now:
            put_off = put_off or (one if one.sighting.identifier not in taken else None)
        elif one.sighting.identifier not in taken:
            return one
    return put_off


def _in_order(survey: Survey, *, by: str, now: datetime) -> Iterator[Ranked]:
    """The queue of this determiner, loaded a few places at a time."""
    for offset in count(0, AT_ONCE):
        page = queueing.queue(survey, now=now, for_determiner=by, offset=offset, limit=AT_ONCE)
        yield from page
        if len(page) < AT_ONCE:
            return


def log_of(survey: Survey, *, limit: int, reader: str, blind: bool) -> list[actions.Action]:
    """The newest actions first; to a blind reader without what others said of what still waits."""

    def hidden(one: actions.Action) -> actions.Action:
        sighting = sighting_spoken_of(one.summary)
        own = one.by.casefold() == reader.casefold()
        if not sighting or own or not queue_order.holds(survey, sighting):
            return one
        return replace(one, summary=without_what_was_said(one.summary))

    found = actions.log(survey, limit=limit)
    return [hidden(one) for one in found] if blind else found


def take_back(survey: Survey, number: str, *, by: str, now: datetime) -> actions.Undone:
    """Take back an action of one's own, or bring back what an own undo took, once.

    Raises
    ------
    UnknownError
        If the number is none of this person's, or it was taken back before.
    """
    found = actions.by_number(survey, int(number)) if number.isdecimal() else None
    if found is None or found.by.casefold() != by.casefold():
        raise UnknownError(
            "there is nothing of yours to take back here",
            failing="undo",
            next_step="The log lists what everybody did, with numbers: 'triage log'.",
        )
    return undo.undo(survey, by=by, now=now, number=found.number)
