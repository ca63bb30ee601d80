"""Gather what a person's mails still need, to be asked in one list of a letter to them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from triage.errors import SourceError, TriageError
from triage.inbox import Need
from triage.replies.envelope import Picture
from triage.replies.letters import OpenKind, OpenQuestion
from triage.store import messages, photos, previews
from triage.store.connection import Survey

MOST_PICTURES = 6  # small copies in one letter: a mail stays below a megabyte

ASKED: Mapping[str, OpenKind] = {
    "place": "place",
    "place doubt": "place",
    "date": "date",
    "clock": "date",
    "date doubt": "date",
    "unreadable": "original",
    "link": "original",
    "two senders": "identity",
}
"""What a letter asks for each kind of need; the others are the coordinator's alone."""


def open_questions(
    survey: Survey, needs: Iterable[tuple[messages.MessageRow, Need]]
) -> tuple[list[OpenQuestion], list[Picture]]:
    """What a person's mails still need from them, with small copies of the photos it is about."""
    questions: list[OpenQuestion] = []
    pictures: dict[str, Picture] = {}
    for row, need in needs:
        kind = ASKED.get(need.kind)
        if kind is None:
            continue
        shown = photos.appearances_of_message(survey, row.row)
        name = next((one.file_name for one in shown if one.photo == need.photo), "")
        if need.photo and need.photo not in pictures and len(pictures) < MOST_PICTURES:
            try:
                content = previews.picture(survey, need.photo, "small").read_bytes()
                number = len(pictures) + 1
                pictures[need.photo] = Picture(name=f"photo-{number}.jpg", content=content)
            except (TriageError, SourceError, OSError):
                pass  # the letter goes without it
        picture = pictures.get(need.photo)
        questions.append(
            OpenQuestion(
                file_name=name or row.subject,
                day=row.sent_at[:10],
                kind=kind,
                picture=picture.name if picture else "",
            )
        )
    return list(dict.fromkeys(questions)), list(pictures.values())
