"""Load a message whole: its words, photos, claims, needs, and what could settle it."""

from __future__ import annotations

from collections.abc import Sequence

from triage.inbox.listing import Group, grouped, in_piles, pile_with, window
from triage.inbox.offers import meant, nearest_first, offered_times, typed_clock
from triage.inbox.whole_message import ShownPhoto, WholeMessage, clocks_of, layers_of
from triage.mail.kept import MessageRow
from triage.pipeline import claims
from triage.pipeline.inbox import facts_of
from triage.store import claims as claim_store
from triage.store import evidence, messages, photos
from triage.store.connection import Survey


def open_messages(
    survey: Survey, *, around: str = "", most: int | None = None
) -> tuple[Group, ...]:
    """What needs a human, grouped by the worst that each message needs and by sender.

    It is read from the states as they were derived; with ``most`` only so many messages around one
    are read and in it, a third of them before that one.
    """
    piles = in_piles(messages.heaps(survey))
    place = 0
    if most is not None and around:
        pile, place = pile_with(piles, messages.heap_of(survey, around))
        place += messages.count_before(survey, pile, around) if pile else 0
    return grouped(
        piles,
        (
            (one, messages.listed(survey, one.pile, offset=one.offset, limit=one.count))
            for one in window(piles, place=place, most=most)
        ),
    )


def still_open(survey: Survey, identifiers: Sequence[str]) -> list[str]:
    """Those of these messages that need somebody, in the same order."""
    found = messages.still_open(survey, identifiers)
    return [one for one in identifiers if one in found]


def whole_message(
    survey: Survey, identifier: str, *, clock_seconds: float | None = None
) -> WholeMessage:
    """Load one message whole; with ``clock_seconds`` also what that correction would change.

    Raises
    ------
    UnknownError
        If there is no such message.
    """
    row = messages.find(survey, identifier)
    [(_, facts)] = facts_of(survey, [row])
    shown = _photos(survey, row)
    fix = next((p.place for p in shown if p.place and p.place.decimal_latitude is not None), None)
    sites = tuple(nearest_first(evidence.sites(survey), fix))
    text = messages.texts_of(survey, [row.row]).get(row.row, "")
    clocks = list(clocks_of(row, shown, text, zone=survey.settings.survey.time_zone))
    if clock_seconds is not None:
        clocks = [typed_clock(shown, clock_seconds)]
    return WholeMessage(
        message=row,
        needs=facts.needs,
        layers=tuple(layers_of(messages.envelopes_of(survey, row.row), shown)),
        photos=shown,
        other_parts=tuple(
            part
            for part in messages.parts_of(survey, row.row)
            if part.outcome not in ("taken in", "nothing to keep")
        ),
        sites=sites,
        meant=meant(sites, shown, near=fix is not None),
        times=tuple(offered_times(shown)),
        fix=fix,
        clocks=tuple(clocks),
    )


def _photos(survey: Survey, row: MessageRow) -> tuple[ShownPhoto, ...]:
    shown = photos.appearances_of_message(survey, row.row)
    digests = list(dict.fromkeys(one.photo for one in shown))
    claimed = claim_store.of_photos(survey, digests)
    rows = photos.load(survey, digests)
    chosen = claims.choose_each(survey, digests, rows=rows)
    parts = {one.part for one in shown}
    names = {one.photo: one.file_name for one in reversed(shown)}
    return tuple(
        ShownPhoto(
            photo=photo,
            file_name=names[photo],
            row=rows[photo],
            times=tuple(claim for part, claim in claimed[photo].times if part in (None, *parts)),
            places=tuple(claim for part, claim in claimed[photo].places if part in (None, *parts)),
            time=chosen[photo].time,
            place=chosen[photo].place,
        )
        for photo in digests
    )
