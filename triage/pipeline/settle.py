"""Carry out what a coordinator decides about messages, and draft the questions to their senders."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from triage.errors import SettingsError, UnknownError
from triage.inbox import Settlement, coordinator_time, place_of_site, typed_place
from triage.metadata.position import PlaceClaim
from triage.pipeline import inbox, proposals
from triage.replies.drafting import QUESTIONS, AskedMessage, Asker, draft_reply
from triage.replies.marks import question_code
from triage.store import actions, evidence, grouping, messages, photos, questions
from triage.store import claims as claim_store
from triage.store.connection import Survey


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
    place = place_of_site(evidence.sites(survey), settlement.site) if settlement.site else None
    with survey.transaction():
        for row in rows:
            _settle_one(survey, row, settlement, place, by, now)
    proposals.propose(survey, now=now)
    inbox.settle_states(survey, now=now)
    return [messages.by_row(survey, row.row) for row in rows]


def _settle_one(
    survey: Survey,
    row: messages.MessageRow,
    settlement: Settlement,
    place: PlaceClaim | None,
    by: str,
    now: datetime,
) -> None:
    words = settlement.words
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


def add_time(survey: Survey, photo: str, date: str, *, action: int) -> None:
    """Append the coordinator's date on every appearance of a photo."""
    for one in photos.appearances(survey, [photo]):
        claim_store.add_time(survey, photo, one.part, coordinator_time(date), action=action)


def add_place(survey: Survey, photo: str, site: str, *, action: int) -> None:
    """Append the coordinator's site, or "latitude,longitude", on every appearance of a photo."""
    claim = typed_place(site) or place_of_site(evidence.sites(survey), site)
    for one in photos.appearances(survey, [photo]):
        claim_store.add_place(survey, photo, one.part, claim, action=action)


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
        q["message_id"] == row.row and q["what"] == what for q in questions.ever_drafted(survey)
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
    questions.add(survey, code=code, message=row.row, what=what, draft_name=name, action=action)
    return name


def _bracketed(message_id: str) -> str:
    """A Message-ID as the header has it (RFC 5322 section 3.6.4); kept without the brackets."""
    return f"<{message_id.strip('<>')}>" if message_id else ""


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
        for question in questions.live(survey)
    ]
