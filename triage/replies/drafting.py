"""Drafts the reply that asks a sender one thing, or place and date together."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from triage.errors import SettingsError
from triage.replies import marks, wording
from triage.replies.envelope import SUBJECT_LENGTH, Addressee, draft, one_line
from triage.replies.wording import QUESTIONS, Question
from triage.standards.cautions import cautions

MOST_FILES = 12  # named in one question
_QUOTED_SUBJECT = re.compile(r" [\"\u201e\u00ab]\s?\$subject\s?[\"\u201c\u201d\u00bb]")
"""The subject as our wordings quote it; a mail without one is thanked for without it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedMessage:
    """The message that lacks something, as its sender wrote it: nothing here is trusted.

    ``sent_on`` is the ISO day on which it was sent, or empty. ``places`` are site names that may
    be offered; ``photos`` the file names of the photos that the question is about.
    """

    to: Addressee
    sent_on: str = ""
    places: tuple[str, ...] = ()
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Asker:
    """Who asks: the survey, its own address, the name below the text, the licence asked for."""

    survey: str
    address: str
    name: str = ""
    licence_name: str = ""
    licence_uri: str = ""


def draft_reply(
    asked: AskedMessage,
    what: Question,
    *,
    code: str,
    asker: Asker,
    now: datetime,
    language: str = wording.DEFAULT_LANGUAGE,
    templates: Path | None = None,
) -> bytes:
    """A reply that asks one question, as the bytes of an .eml. It is never sent from here.

    Parameters
    ----------
    asked : AskedMessage
        The message that is answered.
    what : Question
        What to ask.
    code : str
        The question's code (:func:`triage.replies.marks.question_code`); it stands in a sentence
        of the text and in the draft's own Message-ID.
    asker : Asker
        Who asks.
    now : datetime
        Aware; the Date of the draft.
    language : str
        Of the template; English where there is none in it.
    templates : Path, optional
        The survey's own templates, looked at first: ``LANGUAGE/WHAT.txt``, then ``WHAT.txt``.

    Returns
    -------
    bytes
        RFC 5322, UTF-8, opened by mail programs as a draft. A search invitation always carries the
        cautions, and every question its reference.

    Raises
    ------
    TriageError
        If the recipient's or the survey's address is none.
    SettingsError
        If a template of the survey cannot be read or uses a word in ``$`` that does not exist, or
        if consent to publish is asked for without naming a licence.
    ValueError
        If ``what`` or ``code`` is not one of ours, or ``now`` is naive.
    """
    if what not in QUESTIONS or not marks.CODE.fullmatch(code):
        raise ValueError("unknown question or malformed code")
    if what == "publish" and not (asker.licence_name.strip() or asker.licence_uri.strip()):
        raise SettingsError(
            "nobody can be asked for consent to a licence that is not named",
            failing="publishing.asked_photo_licence",
            next_step="Set it in survey.toml to the address of the licence that you ask for.",
        )
    return draft(
        asked.to,
        _body(asked, what, code=code, asker=asker, language=language, templates=templates),
        from_name=asker.name or asker.survey,
        from_address=asker.address,
        message_id_left=marks.own_message_id_left(code),
        now=now,
    )


def _waters(asked: AskedMessage, what: Question, phrases: Mapping[str, str]) -> str:
    """The waters, a line each; a question about the place says that they are those we know."""
    lines = [f"- {one_line(place)}" for place in asked.places]
    if lines and what != "search":
        lines.insert(0, phrases["known_waters"])
    return "\n".join(lines)


def _body(
    asked: AskedMessage,
    what: Question,
    *,
    code: str,
    asker: Asker,
    language: str,
    templates: Path | None,
) -> str:
    lines = cautions(language)
    phrases = wording.phrases(language)
    reference = wording.say(phrases["reference"], code=code)
    values = {
        "recipient": one_line(asked.to.name) or one_line(asked.to.address),
        "subject": one_line(asked.to.subject)[:SUBJECT_LENGTH],
        "sent_on": wording.day_words(asked.sent_on, language),
        "photo_count": str(len(asked.photos)),
        "photos": _files(asked, phrases, language),
        "places": _waters(asked, what, phrases),
        "survey": one_line(asker.survey),
        "asker": one_line(asker.name) or one_line(asker.survey),
        "licence": " ".join(
            filter(None, (one_line(asker.licence_name), one_line(asker.licence_uri)))
        ),
        "cautions": "\n".join(f"- {line}" for line in lines),
        "reference": reference,
    }
    template = wording.template(what, language, templates)
    if not values["subject"]:
        template = replace(template, text=_QUOTED_SUBJECT.sub("", template.text))
    text = wording.filled(template, values)
    # What a survey's own wording must not leave out.
    if what == "search" and not all(line in text for line in lines):
        text += "\n" + values["cautions"] + "\n"
    return text if code in text else f"{text}\n{reference}\n"


def _files(asked: AskedMessage, phrases: Mapping[str, str], language: str) -> str:
    """Which files are meant, with the day on which they were sent."""
    day = wording.day_words(asked.sent_on, language)
    named = [one_line(name)[:SUBJECT_LENGTH] for name in asked.photos[:MOST_FILES]]
    lines = [wording.say(phrases["photo_of_day"], file=name, day=day) for name in named if name]
    return "\n".join(lines) if day else "\n".join(f"- {name}" for name in named if name)
