"""Load what the inbox must know of messages, their photos, and the questions that they answer."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from email import message_from_bytes, policy

from triage.errors import UnknownError
from triage.inbox import MessageFacts, Need, PhotoFacts, Wording, needs_of, severity
from triage.mail.photographers import another_took_it
from triage.mail.wishes import asks_to_delete
from triage.metadata.camera_clock import CameraCorrection, CameraTime, camera_corrections
from triage.metadata.choosing import Chosen
from triage.metadata.clock_words import ClockWords, corrections_said, read_clock_words
from triage.metadata.durations import typed_span
from triage.metadata.exif import ExifRecord
from triage.metadata.position import PlaceClaim
from triage.pipeline import claims
from triage.replies.answers import is_understood, recognise_answer
from triage.replies.threads import AskedQuestion, ThreadFound, recognise_without_thread
from triage.sightings.words import words_of_several
from triage.standards.iso_dates import moment_of
from triage.standards.person_names import likeness
from triage.store import (
    copies,
    evidence,
    grouping,
    messages,
    photographers,
    photos,
    questions,
    text_reading,
)
from triage.store.connection import Survey
from triage.store.messages import MessageRow
from triage.store.photos import AppearanceRow, PhotoRow

BATCH = 500  # messages whose photos are held in memory together


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What the photos of a batch of messages, and all copies of them, are read from."""

    shown: dict[int, list[AppearanceRow]]  # by message
    best_of: dict[str, str]
    everywhere: dict[str, list[AppearanceRow]]  # by best copy: the first appearance first
    rows: dict[str, PhotoRow]
    chosen: dict[str, Chosen]
    in_sightings: set[str]  # best copies
    other_files: dict[int, list[messages.PartRow]]
    texts: dict[int, str]
    sites: list[str]  # their names
    photographers: dict[str, int]  # by photo, who is said to have taken it
    waiting: list[sqlite3.Row]  # questions without an answer


def facts_of(
    survey: Survey, rows: Sequence[MessageRow]
) -> Iterator[tuple[MessageRow, MessageFacts]]:
    """Each message with all that its state and its needs follow from."""
    asked = questions.live(survey)
    newest = {q["message_id"]: q for q in asked}
    answers = {q["answered_by"]: q for q in asked if q["answered_by"] is not None}
    for start in range(0, len(rows), BATCH):
        batch = rows[start : start + BATCH]
        known = _load(survey, [row.row for row in batch])
        for row in batch:
            found = _photos_of(known, row.row)
            question = newest.get(row.row)
            yield (
                row,
                MessageFacts(
                    automatic=row.automatic,
                    forgotten=row.origin == messages.ORIGIN_FORGOTTEN,
                    hand_state=row.hand_state,
                    hand_reason=row.hand_reason,
                    asked=question is not None,
                    answered=question is not None and question["answered_by"] is not None,
                    answers=answers[row.row]["code"] if row.row in answers else "",
                    photos=tuple(found),
                    needs=tuple(_needs_of(survey, row, found, known, answers.get(row.row))),
                ),
            )


def _load(survey: Survey, rows: list[int]) -> _Known:
    shown = photos.appearances_of_messages(survey, rows)
    groups = copies.exposures(survey, [one.photo for ones in shown.values() for one in ones])
    best_of = {photo: best for best, everyone in groups.items() for photo in everyone}
    everywhere: dict[str, list[AppearanceRow]] = {}
    for one in photos.appearances(survey, best_of):
        everywhere.setdefault(best_of[one.photo], []).append(one)
    loaded = photos.load(survey, best_of)
    return _Known(
        shown=shown,
        best_of=best_of,
        everywhere={b: sorted(ones, key=lambda a: a.part) for b, ones in everywhere.items()},
        rows=loaded,
        chosen=claims.choose(survey, groups, rows=loaded),
        in_sightings={best_of[p] for p in grouping.photos_in_sightings(survey, best_of)},
        other_files=messages.other_files(survey, rows),
        texts=text_reading.texts_of(survey, rows),
        sites=[site.locality for site in evidence.sites(survey)],
        photographers=photographers.named(survey, best_of),
        waiting=[q for q in questions.live(survey) if q["answered_by"] is None],
    )


def _photos_of(known: _Known, message: int) -> list[PhotoFacts]:
    return [_photo(known, one) for one in known.shown.get(message, ())]


def _photo(known: _Known, one: AppearanceRow) -> PhotoFacts:
    best = known.best_of[one.photo]
    first = known.everywhere[best][0]
    chosen, measured = known.chosen[best], known.rows[best].measurement
    time, place = chosen.time, chosen.place
    others = {a.person for a in known.everywhere[best]} - {first.person}
    return PhotoFacts(
        photo=one.photo,
        file_name=one.file_name,
        problem=known.rows[one.photo].photo.problem,
        odonate=measured.odonate if measured else None,
        kind=measured.kind if measured else "",
        faces=measured.faces if measured else 0,
        publication=known.rows[best].publication or known.rows[one.photo].publication,
        has_time=time is not None,
        clock_doubts=chosen.clock_doubts,
        date_doubts=() if chosen.clock_doubts else chosen.time_doubts,
        offered_date=chosen.offered_date,
        has_place=place is not None and place.decimal_latitude is not None,
        place_doubts=chosen.place_doubts,
        offered_place=_shown_place(chosen.offered_place),
        others_who_sent_it=len(others) if one.person != first.person else 0,
        in_sighting=best in known.in_sightings,
        repeats=first.photo if _repeats(one, first) else "",
        photographer_known=one.photo in known.photographers,
    )


def _shown_place(place: PlaceClaim | None) -> str:
    """A place as a person reads it; empty for none."""
    if place is None:
        return ""
    return place.locality or f"{place.decimal_latitude:.5f}, {place.decimal_longitude:.5f}"


def _repeats(one: AppearanceRow, first: AppearanceRow) -> bool:
    """Whether this picture came earlier, in another message, from the same sender."""
    return first.message != one.message and first.person == one.person


def _needs_of(
    survey: Survey,
    row: MessageRow,
    found: Sequence[PhotoFacts],
    known: _Known,
    question: sqlite3.Row | None,
) -> Iterable[Need]:
    text = known.texts.get(row.row, "")
    needs = needs_of(
        found,
        links=row.links,
        other_files=[
            f"{part.file_name or part.media_type} ({part.reason})"
            for part in known.other_files.get(row.row, ())
        ],
        least_odonate=survey.settings.sightings.least_odonate,
        said=replace(
            _wording(row, text, known.sites),
            answers=question is not None,
            may_answer=""
            if question is not None or found or not known.waiting
            else answered(survey, row, known.waiting).offered,
            answer=_left_of_answer(survey, row, text, question, brings=bool(found)),
        ),
    )
    return _with_camera_offer(survey, row, needs, known)


def _left_of_answer(
    survey: Survey, row: MessageRow, text: str, question: sqlite3.Row | None, *, brings: bool
) -> str:
    """What a person must read of an answer, with its words; empty if all of it was understood."""
    if question is None or (question["what"] == "original" and brings):
        return ""
    place, date = claims.said_in_answer(survey, row.row, claims.surroundings(survey))
    if is_understood(text, question["what"], place=place, date=date):
        return ""
    asked = messages.by_row(survey, question["message_id"])
    words = shortened(text) or "nothing"
    return f"asked for {question['what']} of message {asked.identifier[:10]}, says: '{words}'"


WORDS_SHOWN = 240  # characters of a mail's own words in a row


def shortened(text: str) -> str:
    """The beginning of a text, in one line."""
    line = " ".join(text.split())
    return line if len(line) <= WORDS_SHOWN else line[: WORDS_SHOWN - 3] + "..."


def _wording(row: MessageRow, text: str, places: Collection[str]) -> Wording:
    """What the words of a message ask or tell that no claim says."""
    sentence, name = another_took_it(text, places=places)
    if name and row.sender_name and likeness(name, row.sender_name) == "same":
        sentence = name = ""  # a caption with the sender's own name
    return Wording(
        delete=asks_to_delete(f"{row.subject}.\n{text}"),
        several=words_of_several(text),
        photographer=sentence,
        photographer_name=name,
        sender=row.sender_address or "",
        distribution=row.distribution,
    )


def _with_camera_offer(
    survey: Survey, row: MessageRow, needs: list[Need], known: _Known
) -> list[Need]:
    """One constant error of a camera is offered as one correction for all its photos."""
    shown = known.shown.get(row.row, ())
    words = ClockWords()
    if any(_stands_by_its_clock(known.chosen[known.best_of[one.photo]]) for one in shown):
        words = read_clock_words(known.texts.get(row.row, ""))
    if words.sentence and not any(need.kind == "clock" for need in needs):
        said = Need(kind="clock", text=f"the mail says: '{words.sentence}'")
        needs = sorted([*needs, said], key=severity)
    if not any(need.kind == "clock" for need in needs):
        return needs
    exifs = {one.photo: known.rows[one.photo].exif for one in shown}
    offers = clock_offers(survey, row, exifs, words)
    if not offers:
        return needs
    spans = " or ".join(typed_span(one.offset_seconds) for one in offers)
    count = len(offers[0].photos)
    whole = "its photo" if count == 1 else f"all {count} photos of this camera"
    offer = f"--correct-camera {spans} for {whole}"
    return [replace(need, offer=offer) if need.kind == "clock" else need for need in needs]


def _stands_by_its_clock(chosen: Chosen) -> bool:
    """Whether a photo's time is its camera's, and nobody has said anything of it."""
    time = chosen.time
    return time is not None and time.source == "camera clock" and not time.said


def clock_offers(
    survey: Survey, row: MessageRow, exifs: Mapping[str, ExifRecord], words: ClockWords
) -> tuple[CameraCorrection, ...]:
    """What the clocks of a message's photos may be corrected by: as GPS shows, else as it says."""
    zone, sent_at = survey.settings.survey.time_zone, moment_of(row.sent_at)
    times = [CameraTime(photo=photo, exif=exif, sent_at=sent_at) for photo, exif in exifs.items()]
    return camera_corrections(times, zone=zone) or corrections_said(words, times, zone=zone)


def answered(survey: Survey, row: MessageRow, waiting: Iterable[sqlite3.Row]) -> ThreadFound:
    """The question that a mail surely answers, or one that it may answer, of those that wait.

    Whoever else writes in the thread is heard by the coordinator, not believed.
    """
    asked = {q["code"]: q for q in waiting if _is_asked_of(survey, q, row)}
    if not asked or row.automatic:  # a machine that replies has read nothing
        return ThreadFound()
    layers = messages.envelopes_of(survey, row.row)
    quoted = "\n".join(one.quoted_text for one in layers)
    words = "\n".join((row.subject, *(one.text for one in layers), quoted))
    code = recognise_answer(row.in_reply_to, row.references, words, list(asked))
    if code:
        return ThreadFound(code=code)
    # A subject tells only where nothing else does: photos may be new ones on the old subject.
    brings = bool(photos.appearances_of_message(survey, row.row))
    threaded = bool(row.in_reply_to or row.references)
    found = recognise_without_thread(
        "" if brings or threaded else row.subject,
        quoted,
        [_asked(survey, question) for question in asked.values()],
    )
    return ThreadFound(code=found.code) if brings else found


def say_answer(survey: Survey, row: MessageRow, code: str, *, action: int) -> str:
    """Append that a message answers the question of this code; returns what was asked.

    Raises
    ------
    UnknownError
        If no question of that code waits for this message's sender.
    """
    known = [q for q in questions.live(survey) if q["code"] == code.strip().lower()]
    if not known or not _is_asked_of(survey, known[0], row):
        raise UnknownError(
            "no such question was asked of this sender",
            failing=code,
            next_step="See 'triage replies' for the codes.",
        )
    questions.say_answer(survey, known[0]["code"], row.row, action=action)
    return str(known[0]["what"])


def _is_asked_of(survey: Survey, question: sqlite3.Row, row: MessageRow) -> bool:
    asked = messages.by_row(survey, question["message_id"])
    return asked.row != row.row and asked.sender is not None and asked.sender == row.sender


def _asked(survey: Survey, question: sqlite3.Row) -> AskedQuestion:
    return AskedQuestion(
        code=question["code"],
        subject=messages.by_row(survey, question["message_id"]).subject,
        words=_words_of(survey, question["draft_name"]),
    )


def _words_of(survey: Survey, draft_name: str) -> str:
    """The text of a draft as it lies in the survey, empty where it lies there no more."""
    path = survey.replies / draft_name
    if not path.is_file():
        return ""
    body = message_from_bytes(path.read_bytes(), policy=policy.default).get_body(("plain",))
    return body.get_content() if body is not None else ""
