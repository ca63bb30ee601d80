"""Load the sightings that wait for a name, those most worth a look first; lend them out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from functools import partial
from itertools import count, islice
from pathlib import Path

from triage.determinations import Accepted
from triage.determinations.determiners import recognise
from triage.pipeline import match
from triage.pipeline.standing import sightings, standing
from triage.quality.kept import PhotoRow
from triage.report.queue_sheet import Ranked, nearest_sites, queue_sheet
from triage.review_queue import (
    BEST,
    QueueRules,
    Turn,
    Waiting,
    entry_of,
    in_turn,
    sender_of,
    value_of,
    waiting_of,
    waiting_since,
)
from triage.sightings import SightingRow
from triage.standards.digests import short_digest_of
from triage.store import derived_rules, evidence, people, photos, previews, queue_order
from triage.store import sightings as store
from triage.store.connection import Survey
from triage.store.whole_files import handed_out

METHOD = "queue 3"  # raised when a sighting's place changes with the program
LOOK_WANTED = "somebody else's look is wanted"
DAY = 86_400.0  # seconds
AT_ONCE = 8  # places that are loaded together to be lent: a browser has four in hand
LEASE = timedelta(minutes=10)  # how long a look may take before another may have the sighting


def queue(
    survey: Survey,
    *,
    now: datetime,
    for_determiner: str = "",
    offset: int = 0,
    limit: int | None = None,
) -> list[Ranked]:
    """A page of the queue, or all of it, without the sightings that ``for_determiner`` has had.

    A page is read no further than its end, whatever waits behind it.
    """
    bring_up_to_date(survey, now=now)
    person = _person_of(survey, for_determiner)
    rules = _rules(survey)
    best = queue_order.in_line(survey, "value desc, sighting", person=person)
    longest = queue_order.in_line(survey, "since, sighting", person=person)
    turns = in_turn(best, longest, rules, done=queue_order.looks_done(survey))
    places = list(islice(turns, offset, None if limit is None else offset + limit))
    return _ranked(survey, places, now=now, after=offset)


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
        queue_order.let_go(survey, browser, keep=frozenset(already))
        for sighting in already:
            queue_order.take(survey, sighting, browser, now=now, until=now + LEASE)
        taken = queue_order.held_by_others(survey, browser, now=now) | set(already)
        found = _first_free(_in_order(survey, by=by, now=now), taken, set(not_now))
        if found is not None:
            sighting = found.sighting.identifier
            queue_order.take(survey, sighting, browser, now=now, until=now + LEASE)
    return found


def _first_free(line: Iterator[Ranked], taken: set[str], not_now: set[str]) -> Ranked | None:
    put_off = None
    for one in (one for one in line if one.sighting.identifier not in taken):
        if one.sighting.identifier not in not_now:
            return one
        put_off = put_off or one
    return put_off


def _in_order(survey: Survey, *, by: str, now: datetime) -> Iterator[Ranked]:
    """The queue of this determiner, loaded a few places at a time."""
    for offset in count(0, AT_ONCE):
        page = queue(survey, now=now, for_determiner=by, offset=offset, limit=AT_ONCE)
        yield from page
        if len(page) < AT_ONCE:
            return


def place_of(survey: Survey, sighting: str, *, now: datetime) -> Ranked | None:
    """One sighting as the queue would show it; None where it waits for nobody."""
    bring_up_to_date(survey, now=now)
    waits = queue_order.holds(survey, sighting)
    return _ranked(survey, [(sighting, BEST)], now=now, after=0)[0] if waits else None


def _ranked(
    survey: Survey, places: Sequence[tuple[str, Turn]], *, now: datetime, after: int
) -> list[Ranked]:
    """These places with what stands beside each; the first is the one ``after`` so many."""
    rules = _rules(survey)
    wanted = [sighting for sighting, _ in places]
    stands = standing(survey, wanted)
    photo_rows = photos.load(survey, {p for row in stands.rows.values() for p in row.photos})
    known = {one.identifier: one for one in sightings(survey, stands)}
    names = {site.location_id: site.locality for site in evidence.sites(survey)}
    nearest = nearest_sites(match.current(survey, wanted), names)
    changes = store.proposed_changes_of(survey, wanted)
    found = []
    for position, (sighting, turn) in enumerate(places, after + 1):
        accepted = stands.accepted[sighting]
        waiting = _waiting(stands.rows[sighting], accepted, photo_rows, now)
        found.append(
            Ranked(
                entry=entry_of(waiting, position=position, turn=turn, rules=rules),
                sighting=known[sighting],
                accepted=accepted,
                measured=waiting.photos,
                nearest=nearest.get(sighting, ()),
                changes=tuple(changes.get(sighting, ())),
            )
        )
    return found


def write_page(survey: Survey, ranked: Sequence[Ranked], path: Path, *, now: datetime) -> None:
    """Write a page that holds its own pictures and needs no network."""
    title, picture = survey.settings.survey.title, partial(previews.small, survey)
    page = queue_sheet(ranked, picture=picture, title=title, made_at=now)
    with handed_out(path, "the page") as part:
        part.write_text(page, encoding="utf-8")


def count_waiting(survey: Survey, *, now: datetime, for_determiner: str = "") -> int:
    """How many sightings wait for this determiner, or for anybody."""
    bring_up_to_date(survey, now=now)
    return queue_order.count(survey, person=_person_of(survey, for_determiner))


def bring_up_to_date(survey: Survey, *, now: datetime) -> None:
    """Place anew the sightings that changed since the queue was last looked at."""
    derived_rules.renew(
        survey,
        "queue_order",
        lambda due: _kept(survey, due, now),
        rules=_rules_key(survey),
    )


def _kept(survey: Survey, wanted: list[str], now: datetime) -> Iterator[queue_order.Kept]:
    stands = standing(survey, wanted)
    photo_rows = photos.load(survey, {p for row in stands.rows.values() for p in row.photos})
    rows_of_people = {code: row for row, code in people.codes(survey).items()}
    for sighting, row in stands.rows.items():
        accepted = stands.accepted[sighting]
        if row.superseded_by or accepted.state not in ("queued", "second opinion"):
            continue
        waiting = _waiting(row, accepted, photo_rows, now)
        said = stands.determinations.get(sighting, ())
        yield queue_order.Kept(
            sighting=sighting,
            observer=sender_of(waiting),
            value=value_of(waiting.photos.values(), _rules(survey)),
            since=waiting_since(row.first_received or row.event_date, now).timestamp() / DAY,
            had=tuple(sorted({rows_of_people[one.identified_by] for one in said})),
        )


def _rules(survey: Survey) -> QueueRules:
    return QueueRules(**survey.settings.queue.model_dump())


def _rules_key(survey: Survey) -> str:
    """Names all that the places of all sightings depend on."""
    settings = survey.settings
    text = repr((METHOD, settings.queue, settings.determinations, settings.survey.area))
    text += repr(evidence.taxa(survey))
    return short_digest_of(text)


def _person_of(survey: Survey, name: str) -> int | None:
    found = recognise(name, people.known(survey)) if name.strip() else None
    return found.row if found is not None else None


def _waiting(
    row: SightingRow, stands: Accepted, rows: Mapping[str, PhotoRow], now: datetime
) -> Waiting:
    return waiting_of(
        row.identifier,
        row.observer,
        row.first_received or row.event_date,
        {photo: rows[photo].measurement for photo in row.photos},
        # Why it is wanted would tell what was said: that the taxon needs two, or flies in no June.
        asked=LOOK_WANTED if stands.state == "second opinion" else "",
        now=now,
    )
