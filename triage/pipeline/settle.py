"""Carry out what a coordinator decides about messages, and draft the questions to their senders."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime

from triage.errors import UnknownError
from triage.inbox import (
    Settlement,
    coordinator_time,
    place_said,
    refuse_two_places,
    taken_offers,
)
from triage.inbox.facts import clock_offers
from triage.mail.kept import AppearanceRow, MessageRow
from triage.metadata.camera_clock import camera_of
from triage.metadata.choosing import Chosen
from triage.metadata.clock_words import ClockWords
from triage.metadata.position import PlaceClaim
from triage.pipeline import claims, consents, drafts, inbox, proposals, repeats
from triage.pipeline.tables import latest_day
from triage.standards.counting import counted
from triage.store import actions, evidence, grouping, messages, photos
from triage.store import claims as claim_store
from triage.store.claims import Claim
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

    A message is accepted, or set aside, as it was shown: where the same decision raises a doubt, it
    stays open.
    The same decision again about what stands unchanged adds nothing; ``tell`` hears of that, of
    messages that stay open, and of other mails that a corrected camera puts in doubt.

    Raises
    ------
    UnknownError
        If a message or the site is unknown; nothing is changed then.
    """
    settlement.refuse_contradiction()
    rows = [messages.find(survey, one) for one in identifiers]
    place = _place(survey, settlement.site) if settlement.site else None
    said = _said(rows, settlement, place, by)
    clocks_told = False
    with survey.transaction():
        known = repeats.is_known(survey, said, tell)
        if not known:
            _refuse_two_places(survey, rows if settlement.accept and place is None else ())
            summary = f"message {_short(rows)}: {settlement.words}"
            action = actions.record(survey, "settle", summary, by=by, now=now)
            for row in rows:
                clocks_told |= _settle_one(survey, row, settlement, place, action, now)
            repeats.keep(survey, said, _subjects(survey, rows, settlement), action=action)
        held = _still_open(survey, rows, settlement)
        if held and not known:
            which = "" if len(held) == len(rows) else f"{_short(held)} "
            actions.add_to_summary(survey, action, f"; {which}left open by a doubt that it raised")
    proposals.compare_and_propose(survey)
    inbox.settle_states(survey, now=now)
    if clocks_told:
        _tell_of_others(survey, rows, tell)
    for row, facts in inbox.facts_of(survey, held):
        doubts = "; ".join(need.text for need in facts.needs)
        which = row.identifier[:10]
        then = "--accept it" if settlement.accept else "--set-aside REASON"
        tell(f"{which} stays open, this is new: {doubts}. If so, {then} by itself.")
    return [messages.by_row(survey, row.row) for row in rows]


def is_recorded(
    survey: Survey, identifiers: Sequence[str], settlement: Settlement, *, by: str
) -> bool:
    """Whether this very decision is recorded already, and stands as it did then."""
    rows = [messages.find(survey, one) for one in identifiers]
    place = _place(survey, settlement.site) if settlement.site else None
    return repeats.is_known(survey, _said(rows, settlement, place, by))


def _said(
    rows: Sequence[MessageRow], settlement: Settlement, place: PlaceClaim | None, by: str
) -> str:
    identifiers = sorted(row.identifier for row in rows)
    return repeats.said("settle", by, identifiers, settlement, place)


def _refuse_two_places(survey: Survey, rows: Sequence[MessageRow]) -> None:
    for row in rows:
        shown = photos.appearances_of_message(survey, row.row)
        chosen = claims.choose_each(survey, [one.photo for one in shown])
        refuse_two_places(chosen.values(), row.identifier)


def _short(rows: Sequence[MessageRow]) -> str:
    return ", ".join(row.identifier[:12] for row in rows)


def _still_open(
    survey: Survey, rows: Sequence[MessageRow], settlement: Settlement
) -> list[MessageRow]:
    """Those of the messages that this decision was to close and left open."""
    now = [messages.by_row(survey, row.row) for row in rows if settlement.closes]
    return [row for row in now if row.hand_state == "open"]


def _asked(survey: Survey, row: MessageRow) -> set[tuple[str, str, str]]:
    """What a person must decide of a message, as they read it."""
    [(_, facts)] = inbox.facts_of(survey, [row])
    return {(need.kind, need.photo, need.text) for need in facts.needs}


def _tell_of_others(survey: Survey, rows: Sequence[MessageRow], tell: repeats.Tell) -> None:
    """Say how many other mails wait for the same correction of their camera."""
    same = set[str]()
    for row in rows:
        same |= claim_store.of_one_camera(survey, row.row)
    others = grouping.messages_of_photos(survey, same) - {row.row for row in rows}
    count = inbox.count_of_cameras_asked_about(survey, sorted(others))
    if count:
        have = counted(count, "other message has", "other messages have")
        tell(f"{have} photos of this camera: they are in the inbox, with the correction offered.")


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
) -> bool:
    """Append what the coordinator says of a message and all of its photos.

    Whether it says how far a clock was off; other mails of that camera hear of it.
    """
    shown = photos.appearances_of_message(survey, row.row)
    tells = settlement.tells_of_clocks
    seen = _asked(survey, row) if settlement.closes_what_it_says else set()
    before = claims.errors_of_clocks(survey, shown) if tells else {}
    if settlement.take_offer:
        _take_offers(survey, row, shown, action)
    if settlement.accept:
        # Where other mails doubt a camera, to accept its time is a word on its clock: it was right.
        stands = claims.choose_each(survey, [one.photo for one in shown])
        for camera, _ in _carried(survey, stands):
            _correct_clock(survey, row, camera, 0.0, action)
    offset = settlement.camera_offset_seconds
    for camera in _cameras_meant(survey, row, shown, offset) if offset is not None else ():
        _correct_clock(survey, row, camera, offset or 0.0, action)
    time = coordinator_time(settlement.date, latest=latest_day(now)) if settlement.date else None
    _say(survey, shown, (time, place), action)
    told = tells and claims.errors_of_clocks(survey, shown) != before
    if told:
        messages.reread_texts(survey, [row.row])
    if settlement.answers:
        what = inbox.say_answer(survey, row, settlement.answers, action=action)
        inbox.note_consent_answer(survey, row, what, action=action)
    if settlement.photographer:
        name, new = settlement.photographer, settlement.new_person
        consents.say_photographer(
            survey, [one.photo for one in shown], name, new=new, action=action
        )
    grouping.mark_dirty(survey, [one.photo for one in shown])
    if settlement.closes_what_it_says and _asked(survey, row) - seen:
        settlement = settlement.without_closing
    draft = ""
    if settlement.ask:
        draft = drafts.ask(survey, row, settlement.ask, action=action, now=now)
    messages.set_state(survey, row.row, *settlement.leaves(draft), now=now, action=action)
    return told


def _say(
    survey: Survey, shown: Iterable[AppearanceRow], said: Sequence[Claim | None], action: int
) -> None:
    """Append what a coordinator says of the time and the place of photos where they appear."""
    for one in shown:
        for claim in said:
            if claim is not None:
                claim_store.add(survey, one.photo, one.part, claim, action=action)


def _take_offers(
    survey: Survey, row: MessageRow, shown: Sequence[AppearanceRow], action: int
) -> None:
    """Take what the doubts of each photo's time and place suggest, as the coordinator's word."""
    stands = claims.choose_each(survey, [one.photo for one in shown])
    offers = [(one, *taken_offers(stands[one.photo])) for one in shown]
    for one, time, place in offers:
        _say(survey, [one], (time, place), action)
    clocks = _carried(survey, stands)
    for camera, offset in clocks:
        _correct_clock(survey, row, camera, offset, action)
    if not clocks and not any(time or place for _, time, place in offers):
        raise UnknownError(
            "nothing is offered here",
            failing=f"message {row.identifier[:12]}",
            next_step="Give a site or a date, or accept it as it is: see 'triage settle --help'.",
        )


def _carried(survey: Survey, stands: Mapping[str, Chosen]) -> list[tuple[str, float]]:
    """The corrections in other mails that the doubts of these photos offer, each with its camera.

    Where one camera is offered two, the one that most of its photos are offered.
    """
    rows = photos.load(survey, stands)
    offered = Counter(
        (camera_of(rows[photo].exif), chosen.carried.offset_seconds)
        for photo, chosen in stands.items()
        if chosen.carried
    )
    return list(
        {
            camera: (camera, seconds) for (camera, seconds), _ in reversed(offered.most_common())
        }.values()
    )


def _cameras_meant(
    survey: Survey, row: MessageRow, shown: Sequence[AppearanceRow], offset: float
) -> list[str]:
    """The cameras of a message that GPS shows to be wrong by so much; an empty name for all."""
    exifs = {
        photo: one.exif for photo, one in photos.load(survey, [s.photo for s in shown]).items()
    }
    offers = clock_offers(row, exifs, ClockWords(), zone=survey.settings.survey.time_zone)
    return [one.camera for one in offers if round(one.offset_seconds - offset) == 0] or [""]


def _correct_clock(
    survey: Survey, row: MessageRow, camera: str, offset: float, action: int
) -> None:
    claim_store.add_camera_correction(survey, row.row, camera, offset, action=action)
    messages.reread_texts(survey, [row.row])  # the age of a fix is told by the clock


def add_time(survey: Survey, photo: str, date: str, *, action: int, now: datetime) -> None:
    """Append the coordinator's date on every appearance of a photo."""
    time = coordinator_time(date, latest=latest_day(now))
    shown = photos.appearances(survey, [photo])
    before = claims.errors_of_clocks(survey, shown)
    _say(survey, shown, [time], action)
    after = claims.errors_of_clocks(survey, shown)
    changed = before.items() ^ after.items()
    messages.reread_texts(survey, {message for (message, _), _ in changed})


def add_place(survey: Survey, photo: str, site: str, *, action: int) -> None:
    """Append the coordinator's site, or "latitude,longitude", on every appearance of a photo."""
    _say(survey, photos.appearances(survey, [photo]), [_place(survey, site)], action)


def _place(survey: Survey, typed: str) -> PlaceClaim:
    """The typed coordinates or the site of this name."""
    around = survey.settings.survey
    return place_said(typed, evidence.sites(survey), area=around.area, zone=around.time_zone)
