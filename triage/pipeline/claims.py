"""Read claims of time and place on every appearance of examined photos.

A claim hangs on an appearance (a photo in a message). What file and text claim by themselves is
computed anew whenever the list of sites changes, so that the order of imports never matters; what
people claim is appended and never touched.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from triage.mail.kept import AppearanceRow
from triage.metadata.camera_clock import camera_of
from triage.metadata.carried_clock import PutRight, words_of_typed_times, words_on
from triage.metadata.choosing import Chosen, Shown, correction_for
from triage.metadata.choosing import choose as choose_among
from triage.metadata.position import NamedPlace
from triage.metadata.reading import (
    SentPhoto,
    Surroundings,
    as_answer,
    claims_of_message,
    read_layer,
    time_in_answer,
)
from triage.metadata.text import TextEvidence
from triage.metadata.text_dates import days_of_no_calendar
from triage.quality.kept import Exposures, PhotoRow
from triage.replies.answers import OF_PLACE_AND_DATE, Stated
from triage.standards.digests import short_digest_of
from triage.standards.groups import in_groups
from triage.standards.iso_dates import moment_of
from triage.store import claims, copies, evidence, grouping, messages, photos, questions
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

METHOD = "claims 32"


def surroundings(survey: Survey) -> Surroundings:
    """The survey's sites and settings as the reader of texts and clocks needs them."""
    settings = survey.settings.survey
    names = NamedPlace.__dataclass_fields__
    return Surroundings(
        places=[
            NamedPlace(**{name: getattr(site, name) for name in names})
            for site in evidence.sites(survey)
        ],
        zone=settings.time_zone,
        area=settings.area,
        season=settings.season,
    )


def read_claims(survey: Survey, *, progress: Progress = silent) -> int:
    """Read files and texts of every message not yet read with these sites; returns how many."""
    key = _key(surroundings(survey))
    return read_claims_of(survey, messages.texts_not_read_with(survey, key), progress=progress)


def read_claims_of(survey: Survey, rows: Sequence[int], *, progress: Progress = silent) -> int:
    """Read files and texts of these messages with the sites as they are; returns how many.

    Where the list of sites alone is another, photos are grouped anew only of which something else
    is said now, or that somebody put at a site.
    """
    if not rows:
        return 0
    around = surroundings(survey)
    key = _key(around)
    answers = _answers(survey)
    read_before = messages.texts_read_by(survey, rows, _rules(around))
    for done, row in enumerate(rows, 1):
        with survey.transaction():
            touched, changed = _read_message(survey, row, answers.get(row, ()), around)
            if row in read_before:
                touched = changed | claims.at_chosen_sites(survey, touched)
            grouping.mark_dirty(survey, touched)
            if claims.ever_corrected(survey, [row]):
                have_camera_doubted(survey, row)
            messages.mark_texts_read(survey, [row], key)
            messages.make_due(survey, [row])
        progress("reading texts", done, len(rows))
    return len(rows)


def reread_corrected(survey: Survey, touched: Iterable[str]) -> None:
    """Have mails with a corrected clock read anew whose photos became another person's."""
    of_these = grouping.messages_of_photos(survey, touched)
    messages.reread_texts(survey, claims.ever_corrected(survey, of_these))


def have_camera_doubted(survey: Survey, row: int) -> None:
    """Have what a message says of its cameras told of their photos in the sender's other mails."""
    same = claims.of_one_camera(survey, row)
    grouping.mark_dirty(survey, same)
    messages.make_due(survey, sorted(grouping.messages_of_photos(survey, same)))


def _key(around: Surroundings) -> str:
    """With what texts are read: by which rules, then with which list of sites."""
    return f"{_rules(around)} {short_digest_of(repr(list(around.places)))}"


def _rules(around: Surroundings) -> str:
    return short_digest_of(repr((METHOD, around.zone, around.area, around.season)))


def _answers(survey: Survey) -> dict[int, list[int]]:
    """By questioned message: the messages that answered where or when its photos were taken.

    The days and waters of any other answer are of something else: "I can look there on Sunday".
    """
    return in_groups(
        (question.message, question.answered_by)
        for question in questions.live(survey)
        if question.answered_by is not None and question.what in OF_PLACE_AND_DATE
    )


def _read_message(
    survey: Survey, row: int, answers: Iterable[int], around: Surroundings
) -> tuple[set[str], set[str]]:
    """The photos of a message, and those of which something else is claimed now."""
    shown = photos.appearances_of_message(survey, row)
    known = photos.load(survey, [one.photo for one in shown])
    corrections = claims.camera_corrections(survey, [row]).get(row, {})
    offsets = {
        photo: correction_for(camera_of(one.exif), corrections) for photo, one in known.items()
    }
    sent = [
        SentPhoto(
            photo=one.photo,
            exif=known[one.photo].exif,
            file_name=one.file_name,
            sent_at=moment_of(one.sent_at),
            envelope=one.envelope,
            offset_seconds=put_right.offset_seconds if put_right else 0.0,
        )
        for one, put_right in ((one, offsets[one.photo]) for one in shown)
    ]
    layers = _layers(survey, row, around)
    answered = [_layers(survey, answer, around)[0] for answer in answers]
    claimed = claims_of_message(sent, layers, answered, around)
    changed = {
        one.photo
        for one, (times, places) in zip(shown, claimed, strict=True)
        if claims.replace_derived(survey, one.photo, one.part, times, places)
    }
    return {one.photo for one in shown}, changed


def said_in_answer(survey: Survey, row: int, around: Surroundings) -> Stated:
    """What the words of an answer state of a place and a date without a doubt."""
    said = _layers(survey, row, around)[0]
    places = [as_answer(claim) for claim in said.places]
    at = [one for one in places if not one.doubts and one.decimal_latitude is not None]
    times = [one for one in map(time_in_answer, said.times) if not one.doubts]
    no_day = days_of_no_calendar(messages.own_text(survey, row))
    words = [*(one.verbatim for one in at), *(one.verbatim for one in times)]
    return Stated(
        place=bool(at),
        date=bool(times) and not no_day,
        words=tuple(", ".join(words).split(", ")),
    )


def told_above_forwarded(survey: Survey, row: int) -> str:
    """What whoever forwards a mail in their own text tells there of a place or a day, else empty.

    Its files are those of the forwarded mail's author, or the forwarder's own: nothing tells which.
    """
    if any(part.media_type == "message/rfc822" for part in messages.parts_of(survey, row)):
        return ""  # a mail that is attached has its own files
    said = _layers(survey, row, surroundings(survey))[0]
    told = [one.verbatim for one in said.places] + [one.verbatim for one in said.times]
    return ", ".join(dict.fromkeys(told))


def _layers(survey: Survey, row: int, around: Surroundings) -> dict[int, TextEvidence]:
    return {
        one.number: read_layer(one.subject, one.text, sent_at=moment_of(one.sent_at), around=around)
        for one in messages.envelopes_of(survey, row)
    }


def exposures(survey: Survey, wanted: Iterable[str]) -> Exposures:
    """Load these photos with all their copies, and the claims that stand over all of these."""
    groups = copies.exposures(survey, wanted)
    best_of = {photo: best for best, members in groups.items() for photo in members}
    rows, everywhere = photos.load(survey, best_of), _everywhere(survey, best_of)
    chosen = _choose(survey, groups, rows, everywhere)
    return Exposures(
        copies=groups, best_of=best_of, rows=rows, everywhere=everywhere, chosen=chosen
    )


def choose_each(
    survey: Survey, wanted: Iterable[str], *, rows: Mapping[str, PhotoRow] | None = None
) -> dict[str, Chosen]:
    """By photo: the claims that stand of it alone, whatever its copies say.

    ``rows`` are these photos, from whoever has loaded them already.
    """
    alone = {photo: [photo] for photo in wanted}
    everywhere = _everywhere(survey, {photo: photo for photo in alone})
    return _choose(survey, alone, photos.load(survey, alone) if rows is None else rows, everywhere)


def _everywhere(survey: Survey, best_of: Mapping[str, str]) -> dict[str, list[AppearanceRow]]:
    """By best copy: where any of its copies was seen, the first appearance first."""
    return in_groups((best_of[one.photo], one) for one in photos.appearances(survey, best_of))


def _choose(
    survey: Survey,
    groups: Mapping[str, Sequence[str]],
    rows: Mapping[str, PhotoRow],
    everywhere: Mapping[str, Sequence[AppearanceRow]],
) -> dict[str, Chosen]:
    claimed = claims.of_photos(survey, [photo for members in groups.values() for photo in members])
    seen = [one for ones in everywhere.values() for one in ones]
    corrections = claims.camera_corrections(survey, {one.message for one in seen})
    cameras = {photo: camera_of(row.exif) for photo, row in rows.items()}
    zone = survey.settings.survey.time_zone
    elsewhere = _put_right(survey, {one.person for one in seen if one.person is not None}, zone)
    shown: dict[int | None, Shown] = {}
    for one in seen:
        put_right = correction_for(cameras[one.photo], corrections.get(one.message, {}))
        others = elsewhere.get(one.person or 0, {}) if put_right is None else {}
        shown[one.part] = Shown(
            sender=one.person,
            offset_seconds=put_right.offset_seconds if put_right else None,
            corrected_by=put_right.action if put_right else 0,
            elsewhere=words_on(rows[one.photo].exif, others.values()) if others else (),
            sent_at=moment_of(one.sent_at),
        )
    return {
        best: choose_among(
            [(claim, shown.get(part)) for m in members for part, claim in claimed[m].times],
            [(claim, shown.get(part)) for m in members for part, claim in claimed[m].places],
            owner=everywhere[best][0].person if best in everywhere else None,
            zone=zone,
        )
        for best, members in groups.items()
    }


def errors_of_clocks(
    survey: Survey, shown: Iterable[AppearanceRow]
) -> dict[tuple[int, str], float]:
    """What stands of the clocks of photos where they appear: by message and photo, seconds."""
    where = {(one.message, one.photo): one.person for one in shown if one.person is not None}
    words = _put_right(survey, set(where.values()), survey.settings.survey.time_zone)
    found = ((key, words.get(person, {}).get(key)) for key, person in where.items())
    return {key: word.offset_seconds for key, word in found if word}


def _put_right(
    survey: Survey, people: set[int], zone: str
) -> dict[int, dict[tuple[int, str], PutRight]]:
    """By person, message and photo: the newest word on the camera's clock.

    A correction of the camera, or a typed time that its clock contradicts.
    """
    corrected = claims.put_right(survey, people)
    for person, typed in claims.typed_times(survey, people).items():
        words = corrected.setdefault(person, {})
        for key, word in words_of_typed_times(typed, zone=zone).items():
            if key not in words or words[key].action < word.action:
                words[key] = word
    return corrected
