"""Received and examined messages in, those that need a human, and their settling, out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from triage.errors import SettingsError, UnknownError
from triage.metadata.camera_clock import CameraTime, camera_corrections
from triage.metadata.capture_time import TimeClaim
from triage.metadata.position import PlaceClaim
from triage.pipeline import claims, proposals
from triage.pipeline.needs import Need, PhotoFacts, needs_of, severity
from triage.replies.answers import read_answer, recognise_answer
from triage.replies.drafting import QUESTIONS, AskedMessage, Asker, draft_reply
from triage.replies.marks import question_code
from triage.store import actions, copies, evidence, grouping, messages, originals, people, photos
from triage.store import claims as claim_store
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class InboxEntry:
    """A message that is open or waiting, with what it needs."""

    message: messages.MessageRow
    needs: tuple[Need, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Settlement:
    """What the coordinator decided about one message; every field is optional."""

    site: str = ""
    date: str = ""
    camera_offset_seconds: float | None = None
    set_aside: str = ""
    ask: str = ""
    accept: bool = False


@dataclass(slots=True, kw_only=True)
class _Context:
    """What the states and needs of many messages are read from, loaded once."""

    newest_question: dict[int, sqlite3.Row] = field(default_factory=dict)
    answers: dict[int, str] = field(default_factory=dict)


def settle_states(survey: Survey, *, now: datetime) -> int:
    """Derive the state of every message that is due; returns how many are open.

    Due are new messages and those of whose photos, questions or settling something changed.
    """
    _recognise_answers(survey, now=now)
    context = _context(survey)
    with survey.transaction():
        for row in messages.due(survey):
            state, reason = _stands(survey, row, context)
            messages.set_state(survey, row.row, state, reason, now=now)
    return messages.count_open(survey)


def review_messages_of(survey: Survey, changed: Iterable[str], *, now: datetime) -> None:
    """Derive the states anew of messages whose photos changed, and of all that are due."""
    if claims.read_claims_of(survey, messages.texts_to_reread(survey)):
        proposals.propose(survey, now=now)
    messages.make_due(survey, sorted(grouping.messages_of_photos(survey, changed)))
    context = _context(survey)
    for row in messages.due(survey):
        messages.set_state(survey, row.row, *_stands(survey, row, context), now=now)


def _stands(survey: Survey, row: messages.MessageRow, context: _Context) -> tuple[str, str]:
    """What a person decided about a message, as long as it holds; else what its facts say."""
    question = context.newest_question.get(row.row)
    answered = question is not None and question["answered_by"] is not None
    if row.hand_state in ("set aside", "settled") or (row.hand_state == "waiting" and not answered):
        return row.hand_state, row.hand_reason
    return _derive(survey, row, context)


def entries(survey: Survey) -> list[InboxEntry]:
    """What needs a human, worst first; waiting messages come last."""
    found = [
        InboxEntry(message=row, needs=tuple(_needs(survey, row)))
        for row in messages.unsettled(survey)
    ]
    return sorted(
        found,
        key=lambda e: (
            e.message.state == "waiting",
            min(map(severity, e.needs), default=99),
            e.message.sent_at,
            e.message.identifier,
        ),
    )


def settle(
    survey: Survey, identifiers: Sequence[str], settlement: Settlement, *, by: str, now: datetime
) -> list[messages.MessageRow]:
    """Carry out what the coordinator decided for one or several messages.

    Raises
    ------
    UnknownError
        If a message or the site is unknown; nothing is changed then.
    """
    rows = [messages.find(survey, one) for one in identifiers]
    place = _site_claim(survey, settlement.site) if settlement.site else None
    with survey.transaction():
        for row in rows:
            _settle_one(survey, row, settlement, place, by, now)
    proposals.propose(survey, now=now)
    settle_states(survey, now=now)
    return [messages.by_row(survey, row.row) for row in rows]


def _settle_one(
    survey: Survey,
    row: messages.MessageRow,
    settlement: Settlement,
    place: PlaceClaim | None,
    by: str,
    now: datetime,
) -> None:
    words = _words(settlement)
    action = actions.record(
        survey, command="settle", summary=f"message {row.identifier[:12]}: {words}", by=by, now=now
    )
    shown = photos.appearances_of_message(survey, row.row)
    if settlement.camera_offset_seconds is not None:
        claim_store.add_camera_correction(
            survey, row.row, "", settlement.camera_offset_seconds, action=action
        )
    for one in shown:
        if place is not None:
            claim_store.add_place(survey, one.photo, one.part, place, action=action)
        if settlement.date:
            claim = coordinator_time(settlement.date)
            claim_store.add_time(survey, one.photo, one.part, claim, action=action)
    grouping.mark_dirty(survey, [one.photo for one in shown])
    if settlement.set_aside:
        messages.set_state(
            survey, row.row, "set aside", settlement.set_aside, now=now, action=action
        )
    elif settlement.ask:
        name = _ask(survey, row, settlement.ask, action, now)
        messages.set_state(
            survey, row.row, "waiting", f"asked: {settlement.ask} ({name})", now=now, action=action
        )
    elif settlement.accept:
        messages.set_state(survey, row.row, "settled", "accepted as it is", now=now, action=action)
    else:
        messages.set_state(survey, row.row, "open", words, now=now, action=action)


def coordinator_time(date: str) -> TimeClaim:
    """A date or time as typed by the coordinator: a day, a local time, an instant or an interval.

    Raises
    ------
    UnknownError
        If it is no ISO 8601 date.
    """
    first = date.split("/")[0]
    try:
        for piece in date.split("/"):
            datetime.fromisoformat(piece)
    except ValueError as error:
        raise UnknownError(
            "this is no date",
            failing=date,
            next_step="Give it as YYYY-MM-DD, YYYY-MM-DDTHH:MM or FIRST/LAST.",
        ) from error
    day_seconds = 86_400.0
    return TimeClaim(
        source="coordinator",
        event_date=date,
        uncertainty_seconds=60.0 if "T" in first else day_seconds,
        verbatim=date,
    )


def add_time(survey: Survey, photo: str, date: str, *, action: int) -> None:
    """Append the coordinator's date on every appearance of a photo."""
    for one in photos.appearances(survey, [photo]):
        claim_store.add_time(survey, photo, one.part, coordinator_time(date), action=action)


def add_place(survey: Survey, photo: str, site: str, *, action: int) -> None:
    """Append the coordinator's site, or "latitude,longitude", on every appearance of a photo."""
    claim = _typed_coordinates(site) or _site_claim(survey, site)
    for one in photos.appearances(survey, [photo]):
        claim_store.add_place(survey, photo, one.part, claim, action=action)


def _typed_coordinates(text: str) -> PlaceClaim | None:
    try:
        latitude, longitude = (float(piece) for piece in text.split(","))
    except ValueError:
        return None
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        return None
    return PlaceClaim(
        source="coordinator",
        decimal_latitude=latitude,
        decimal_longitude=longitude,
        coordinate_uncertainty_in_meters=100.0,
        verbatim=text,
        georeference_protocol="coordinates typed by the coordinator, 100 m assumed",
    )


def _site_claim(survey: Survey, text: str) -> PlaceClaim:
    wanted = text.strip().casefold()
    found = [
        site
        for site in evidence.sites(survey)
        if wanted in {site.location_id.casefold(), site.locality.casefold()}
        or wanted in {alias.casefold() for alias in site.aliases}
    ]
    if len(found) != 1:
        raise UnknownError(
            "no site has that name" if not found else f"{len(found)} sites have that name",
            failing=text,
            next_step="See 'triage sites' for the identifiers, or import the site first.",
        )
    site = found[0]
    return PlaceClaim(
        source="coordinator",
        decimal_latitude=site.decimal_latitude,
        decimal_longitude=site.decimal_longitude,
        coordinate_uncertainty_in_meters=site.coordinate_uncertainty_in_meters,
        location_id=site.location_id,
        locality=site.locality,
        verbatim=text,
        georeference_protocol="site chosen by the coordinator",
    )


def _ask(survey: Survey, row: messages.MessageRow, ask: str, action: int, now: datetime) -> str:
    what = next((one for one in QUESTIONS if one == ask), None)
    if what is None:
        raise UnknownError(
            "there is no such question", failing=ask, next_step=f"One of: {', '.join(QUESTIONS)}."
        )
    settings = survey.settings
    if not settings.survey.reply_address:
        raise SettingsError(
            "a question needs the survey's own address",
            failing="reply_address in [survey] of survey.toml",
            next_step='Set it, such as reply_address = "linnet@example.org", then ask again.',
        )
    if not row.sender_address:
        raise UnknownError(
            "the message names no sender who could be asked",
            failing=f"message {row.identifier[:12]}",
            next_step="Settle it with --site, --date, --accept or --set-aside REASON.",
        )
    asked_before = sum(
        q["message_id"] == row.row and q["what"] == what for q in messages.all_questions(survey)
    )
    code = question_code(row.identifier, what, number=asked_before + 1)
    draft = draft_reply(
        AskedMessage(
            recipient_address=row.sender_address,
            recipient_name=row.sender_name,
            subject=row.subject,
            message_id=_bracketed(row.message_id),
            references=tuple(_bracketed(one) for one in row.references),
            sent_on=row.sent_at[:10],
            places=tuple(
                site.locality
                for site in evidence.sites(survey)
                if not site.private and not site.sensitivity
            )[:8],
            photo_count=len(photos.appearances_of_message(survey, row.row)),
        ),
        what,
        code=code,
        asker=Asker(
            survey=settings.survey.title,
            address=settings.survey.reply_address,
            name=settings.survey.contact,
            licence_uri=settings.publishing.asked_photo_licence,
        ),
        now=now,
        language=settings.survey.language,
        templates=survey.folder / "templates",
    )
    name = f"{code}.eml"
    (survey.replies / name).write_bytes(draft)
    messages.add_question(
        survey, code=code, message=row.row, what=what, draft_name=name, action=action
    )
    return name


def _bracketed(message_id: str) -> str:
    """A Message-ID as the header has it (RFC 5322 section 3.6.4); kept without the brackets."""
    return f"<{message_id.strip('<>')}>" if message_id else ""


def _recognise_answers(survey: Survey, *, now: datetime) -> None:
    """Find messages that answer a question; their words become claims on what was asked about."""
    open_questions = {q["code"]: q for q in messages.questions(survey) if q["answered_by"] is None}
    for row in messages.due(survey) if open_questions else ():
        code = recognise_answer(row.in_reply_to, row.references, row.subject, list(open_questions))
        # A machine that replies has read nothing.
        if code is None or row.automatic:
            continue
        question = open_questions[code]
        asked = messages.by_row(survey, question["message_id"])
        # Whoever else writes in the thread is heard by the coordinator, not believed.
        if asked.row == row.row or asked.sender != row.sender:
            continue
        del open_questions[code]
        with survey.transaction():
            messages.answer_question(survey, code, row.row)
            _note_consent_answer(survey, row, question["what"])
    if claims.read_claims_of(survey, messages.texts_to_reread(survey)):
        proposals.propose(survey, now=now)


def _note_consent_answer(survey: Survey, row: messages.MessageRow, what: str) -> None:
    if row.sender is None or what not in ("publish", "name"):
        return
    text = "\n".join(envelope.text for envelope in messages.envelopes_of(survey, row.row)[:1])
    reading = read_answer(text, "publish" if what == "publish" else "name")
    if reading.answer == "unclear":
        return
    yes = reading.answer == "yes"
    before = next(p for p in people.all_people(survey) if p.row == row.sender)
    asked_for = survey.settings.publishing.asked_photo_licence
    people.add_consent(
        survey,
        row.sender,
        publish=("yes" if yes else "no") if what == "publish" else before.publish,
        name_public=yes if what == "name" else before.name_public,
        licence=asked_for if yes and what == "publish" else before.licence,
        wording=reading.wording,
        message=row.row,
    )


def _context(survey: Survey) -> _Context:
    questions = messages.questions(survey)
    return _Context(
        newest_question={q["message_id"]: q for q in questions},
        answers={q["answered_by"]: q["code"] for q in questions if q["answered_by"] is not None},
    )


def _derive(survey: Survey, row: messages.MessageRow, context: _Context) -> tuple[str, str]:
    if row.automatic:
        return "set aside", f"an automatic {row.automatic}"
    shown = photos.appearances_of_message(survey, row.row)
    if row.row in context.answers and not shown:
        return "settled", f"answers {context.answers[row.row]}"
    needs = _needs(survey, row)
    if needs:
        kinds = list(dict.fromkeys(need.kind for need in needs))
        return "open", ", ".join(kinds)
    facts = _facts(survey, row)
    if facts and all(fact.repeats for fact in facts):
        return "settled", "every photo was sent before"
    return "settled", f"{len(facts)} photo(s) with time and place"


def _needs(survey: Survey, row: messages.MessageRow) -> list[Need]:
    facts = _facts(survey, row)
    parts = messages.parts_of(survey, row.row)
    other = [
        f"{part.file_name or part.media_type} ({part.reason})"
        for part in parts
        if part.outcome == "kept, other kind"
    ]
    found = needs_of(
        facts,
        links=row.links,
        other_files=other,
        text_only=True,
        least_odonate=survey.settings.sightings.least_odonate,
    )
    return _with_camera_offer(survey, row, found)


def _with_camera_offer(survey: Survey, row: messages.MessageRow, needs: list[Need]) -> list[Need]:
    """One constant error of a camera is offered as one correction for all its photos."""
    if not any(need.kind == "clock" for need in needs):
        return needs
    shown = photos.appearances_of_message(survey, row.row)
    rows = photos.load(survey, [one.photo for one in shown])
    times = [
        CameraTime(photo=photo, exif=one.exif, sent_at=messages.parse_moment(row.sent_at))
        for photo, one in rows.items()
    ]
    offers = camera_corrections(times, zone=survey.settings.survey.time_zone)
    if not offers:
        return needs
    offset = round(offers[0].offset_seconds)
    offer = f"--correct-camera {offset:+d}s for all {len(offers[0].photos)} photos of this camera"
    return [
        Need(kind=n.kind, text=n.text, photo=n.photo, offer=offer) if n.kind == "clock" else n
        for n in needs
    ]


def _facts(survey: Survey, row: messages.MessageRow) -> list[PhotoFacts]:
    shown = photos.appearances_of_message(survey, row.row)
    groups = copies.exposures(survey, [one.photo for one in shown])
    best_of = {photo: best for best, everyone in groups.items() for photo in everyone}
    chosen = claims.choose(survey, groups)
    rows = photos.load(survey, {p for members in groups.values() for p in members})
    seen: dict[str, list[photos.AppearanceRow]] = {}
    for one in photos.appearances(survey, rows):
        seen.setdefault(one.photo, []).append(one)
    facts = []
    for one in shown:
        best = best_of[one.photo]
        everywhere = sorted(
            (a for p in groups[best] for a in seen.get(p, ())), key=lambda a: a.part
        )
        first = everywhere[0]
        time, place = chosen[best].time, chosen[best].place
        measured = rows[best].measurement
        others = {a.person for a in everywhere} - {first.person}
        facts.append(
            PhotoFacts(
                photo=one.photo,
                file_name=one.file_name,
                problem=rows[one.photo].photo.problem,
                odonate=measured.odonate if measured else None,
                kind=measured.kind if measured else "",
                faces=measured.faces if measured else 0,
                publication=rows[best].publication or rows[one.photo].publication,
                has_time=time is not None,
                time_doubts=chosen[best].clock_doubts or (time.doubts if time else ()),
                has_place=place is not None and place.decimal_latitude is not None,
                place_doubts=place.doubts if place else (),
                others_who_sent_it=len(others) if one.person != first.person else 0,
                in_sighting=bool(grouping.sightings_of_photos(survey, groups[best])),
                repeats=first.photo if _repeats(one, first) else "",
            )
        )
    return facts


def _repeats(one: photos.AppearanceRow, first: photos.AppearanceRow) -> bool:
    """Whether this picture came earlier, in another message, from the same sender."""
    return first.message != one.message and first.person == one.person


def _words(settlement: Settlement) -> str:
    pieces = [
        f"site {settlement.site}" if settlement.site else "",
        f"date {settlement.date}" if settlement.date else "",
        f"camera clock {settlement.camera_offset_seconds:+.0f} s"
        if settlement.camera_offset_seconds is not None
        else "",
        f"set aside: {settlement.set_aside}" if settlement.set_aside else "",
        f"asked {settlement.ask}" if settlement.ask else "",
        "accepted" if settlement.accept else "",
    ]
    return ", ".join(piece for piece in pieces if piece) or "looked at"


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A drafted question, where it lies, and whether its answer has come."""

    code: str
    what: str
    message: str
    path: str
    answered: bool


def drafts(survey: Survey) -> list[Draft]:
    """Every question that was drafted and not taken back."""
    return [
        Draft(
            code=question["code"],
            what=question["what"],
            message=messages.by_row(survey, question["message_id"]).identifier,
            path=str(survey.replies / question["draft_name"]),
            answered=question["answered_by"] is not None,
        )
        for question in messages.questions(survey)
    ]


def open_of_senders(survey: Survey, addresses: Sequence[str]) -> list[str]:
    """Identifiers of the open messages of these senders.

    Raises
    ------
    UnknownError
        If none of them has an open message.
    """
    wanted = {address.strip().casefold() for address in addresses}
    senders = {p.row for p in people.all_people(survey) if wanted & set(p.addresses)}
    found = [
        row.identifier
        for row in messages.unsettled(survey)
        if row.sender in senders and row.state == "open"
    ]
    if not found:
        raise UnknownError(
            "no open message came from there",
            failing=", ".join(addresses),
            next_step="See 'triage inbox' and 'triage people'.",
        )
    return found


def kept_files(survey: Survey, identifier: str) -> list[tuple[str, str]]:
    """The kept files of a message: their names in the mail and where they lie."""
    message = messages.find(survey, identifier)
    found = []
    for part in messages.parts_of(survey, message.row):
        path = originals.path_of(survey.originals, part.sha256) if part.sha256 else None
        if path is not None:
            found.append((part.file_name or part.path, str(path)))
    return found
