"""Carry out what a coordinator decides about messages, and draft the questions to their senders."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from triage.errors import UnknownError
from triage.exuviae import slip_of_point
from triage.inbox import (
    MessageState,
    Settlement,
    coordinator_time,
    place_of_site,
    typed_place,
)
from triage.mail.kept import AppearanceRow, MessageRow
from triage.metadata.position import PlaceClaim
from triage.metadata.text_places import SEVERAL_SITES
from triage.pipeline import claims, consents, drafts, inbox, proposals, repeats
from triage.pipeline.tables import latest_day
from triage.store import actions, evidence, grouping, messages, photos, text_reading
from triage.store import claims as claim_store
from triage.store.connection import Survey


def settle(
    survey: Survey,
    identifiers: Sequence[str],
    settlement: Settlement,
    *,
    by: str,
    now: datetime,
    tell: repeats.Tell = repeats.silent,
) -> list[MessageRow]:
    """Carry out what the coordinator decided for one or several messages.

    The same decision again about what stands unchanged adds nothing; ``tell`` hears of that.

    Raises
    ------
    UnknownError
        If a message or the site is unknown; nothing is changed then.
    """
    settlement.refuse_contradiction()
    rows = [messages.find(survey, one) for one in identifiers]
    place = _place(survey, settlement.site) if settlement.site else None
    said = repeats.said("settle", by, sorted(row.identifier for row in rows), settlement, place)
    if not repeats.is_known(survey, said, tell):
        if settlement.accept:
            _refuse_two_sites(survey, rows)
        which = ", ".join(row.identifier[:12] for row in rows)
        summary = f"message {which}: {settlement.words}"
        with actions.acting(survey, "settle", summary, by=by, now=now) as action:
            for row in rows:
                _settle_one(survey, row, settlement, place, action, now)
            repeats.keep(survey, said, _subjects(survey, rows, settlement), action=action)
    proposals.propose(survey, now=now)
    inbox.settle_states(survey, now=now)
    return [messages.by_row(survey, row.row) for row in rows]


def _subjects(survey: Survey, rows: Sequence[MessageRow], settlement: Settlement) -> Iterator[str]:
    for row in rows:
        shown = photos.appearances_of_message(survey, row.row)
        yield from settlement.speaks_of(row.identifier, [one.photo for one in shown])


def _settle_one(
    survey: Survey,
    row: MessageRow,
    settlement: Settlement,
    place: PlaceClaim | None,
    action: int,
    now: datetime,
) -> None:
    shown = photos.appearances_of_message(survey, row.row)
    _claim(survey, row, shown, settlement, place, action, now)
    if settlement.answers:
        what = inbox.say_answer(survey, row, settlement.answers, action=action)
        inbox.note_consent_answer(survey, row, what, action=action)
    if settlement.photographer:
        name, new = settlement.photographer, settlement.new_person
        consents.say_photographer(
            survey, [one.photo for one in shown], name, new=new, action=action
        )
    grouping.mark_dirty(survey, [one.photo for one in shown])
    state: MessageState = "open"
    reason = settlement.words
    if settlement.set_aside:
        state, reason = "set aside", settlement.set_aside
    elif settlement.ask:
        name = drafts.ask(survey, row, settlement.ask, action=action, now=now)
        state, reason = "waiting", f"asked: {settlement.ask} ({name})"
    elif settlement.accept:
        state, reason = "settled", "accepted as it is"
    messages.set_state(survey, row.row, state, reason, now=now, action=action)


def _claim(
    survey: Survey,
    row: MessageRow,
    shown: Sequence[AppearanceRow],
    settlement: Settlement,
    place: PlaceClaim | None,
    action: int,
    now: datetime,
) -> None:
    """Append what the coordinator says of the time and place of every photo of a message."""
    if settlement.take_offer:
        _take_offers(survey, row, shown, action)
    offset = settlement.camera_offset_seconds
    if offset is not None:
        claim_store.add_camera_correction(survey, row.row, "", offset, action=action)
        text_reading.reread_texts(survey, row.row)  # the age of a fix is told by the clock
    for one in shown:
        if place is not None:
            claim_store.add_place(survey, one.photo, one.part, place, action=action)
        if settlement.date:
            claim = coordinator_time(settlement.date, latest=latest_day(now))
            claim_store.add_time(survey, one.photo, one.part, claim, action=action)


def _refuse_two_sites(survey: Survey, rows: Sequence[MessageRow]) -> None:
    """Nobody can accept a place that nobody chose."""
    for row in rows:
        shown = [one.photo for one in photos.appearances_of_message(survey, row.row)]
        for chosen in claims.choose_each(survey, shown).values():
            named = [d for d in chosen.place_doubts if d.startswith(SEVERAL_SITES)]
            if named:
                raise UnknownError(
                    named[0],
                    failing=f"message {row.identifier[:12]}",
                    next_step="Choose one of them with --site, then settle again.",
                )


def _take_offers(
    survey: Survey, row: MessageRow, shown: Sequence[AppearanceRow], action: int
) -> None:
    """Take what the doubts of each photo's time and place suggest, as the coordinator's word."""
    taken = False
    stands = claims.choose_each(survey, [one.photo for one in shown])
    for one in shown:
        chosen = stands[one.photo]
        if chosen.offered_date and chosen.time_doubts:
            time = coordinator_time(chosen.offered_date)
            claim_store.add_time(survey, one.photo, one.part, time, action=action)
            taken = True
        if chosen.offered_place is not None:
            place = replace(chosen.offered_place, source="coordinator")
            claim_store.add_place(survey, one.photo, one.part, place, action=action)
            taken = True
    if not taken:
        raise UnknownError(
            "nothing is offered here",
            failing=f"message {row.identifier[:12]}",
            next_step="Give a site or a date, or accept it as it is: see 'triage settle --help'.",
        )


def add_time(survey: Survey, photo: str, date: str, *, action: int, now: datetime) -> None:
    """Append the coordinator's date on every appearance of a photo."""
    claim = coordinator_time(date, latest=latest_day(now))
    for one in photos.appearances(survey, [photo]):
        claim_store.add_time(survey, photo, one.part, claim, action=action)


def add_place(survey: Survey, photo: str, site: str, *, action: int) -> None:
    """Append the coordinator's site, or "latitude,longitude", on every appearance of a photo."""
    claim = _place(survey, site)
    for one in photos.appearances(survey, [photo]):
        claim_store.add_place(survey, photo, one.part, claim, action=action)


def _place(survey: Survey, typed: str) -> PlaceClaim:
    """The typed coordinates or the site of this name.

    Raises
    ------
    UnknownError
        If no site, or several, are called so, or a slip explains where the coordinates lie.
    """
    sites, around = evidence.sites(survey), survey.settings.survey
    place = typed_place(typed)
    if place is None:
        return place_of_site(sites, typed)
    point = (place.decimal_latitude or 0.0, place.decimal_longitude or 0.0)
    slip = slip_of_point(*point, area=around.area, zone=around.time_zone, known=sites)
    if slip:
        raise UnknownError(
            "these coordinates lie far from the survey, and a slip explains it",
            failing=typed,
            next_step=slip,
        )
    return place
