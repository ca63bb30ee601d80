"""What the pages call things: the filters and words that every template may use."""

from __future__ import annotations

import re

from flask import Flask, request
from markupsafe import Markup, escape

from triage.checklist.names import is_italic
from triage.desk import keys, opened
from triage.desk.said_here import at_desk
from triage.metadata.camera_clock import signed_duration
from triage.replies.language import LEAST_WORDS, language_of
from triage.standards.counting import counted

SOURCES = {
    "coordinator": "the coordinator",
    "sender's answer": "the sender's answer",
    "camera clock": "the camera's time",
    "gps clock": "the satellites' time",
    "file name": "the file's name",
    "message text": "the mail's words",
    "camera gps": "the camera's place",
    "message coordinates": "coordinates in the mail",
    "message site name": "the place in the mail",
}
VIEWS = {
    "dorsal": "from the back",
    "lateral": "from the side",
    "anterior": "from the front",
    "oblique": "at a slant",
    "other": "view not told",
}


def install(app: Flask) -> None:
    """Give every page its person, theme, keys and the survey's title."""
    app.jinja_env.filters["count"] = counted
    app.jinja_env.filters["metres"] = metres
    app.jinja_env.filters["seconds"] = seconds
    app.jinja_env.filters["offset"] = signed_duration
    app.jinja_env.filters["plainly"] = plainly
    app.jinja_env.filters["at_desk"] = at_desk
    app.jinja_env.filters["taxon"] = taxon
    app.jinja_env.filters["lang"] = lang
    app.jinja_env.filters["quoting"] = quoting
    app.jinja_env.globals["source_words"] = SOURCES
    app.jinja_env.globals["view_words"] = VIEWS

    @app.context_processor
    def everywhere() -> dict[str, object]:
        return {
            "person": opened.person(),
            "theme": request.cookies.get(opened.cookie("theme"), ""),
            "keys_everywhere": keys.EVERYWHERE,
            "survey_title": opened.title(),
        }


def taxon(name: str) -> Markup:
    """A scientific name as it is set: in italics from the genus down.

    Examples
    --------
    >>> taxon("Aeshna mixta"), taxon("Aeshnidae")
    (Markup('<i>Aeshna mixta</i>'), Markup('Aeshnidae'))
    """
    return Markup("<i>%s</i>") % name if is_italic(name) else escape(name)


def lang(text: str, beside: str = "") -> Markup:
    """The attribute for what holds somebody's words, where they are in another language.

    ``beside`` is what else was written there, where the words are too few to tell. WCAG 2.2, 3.1.2.

    Examples
    --------
    >>> lang("Das Bild ist von gestern, ich habe es am Teich gemacht."), lang("Heron Mere")
    (Markup(' lang="de"'), Markup(''))
    """
    language = language_of(text, otherwise=language_of(beside, otherwise=PAGES))
    return Markup("") if language == PAGES else Markup(' lang="%s"') % language


def quoting(text: str, beside: str = "") -> Markup:
    """A sentence of ours with the words that it quotes, or has behind its colon, in their language.

    Examples
    --------
    >>> quoting("the mail says: 'Das Bild ist von gestern'")
    Markup('the mail says: <span lang="de">&#39;Das Bild ist von gestern&#39;</span>')
    """
    pieces = _QUOTED.split(text)
    if len(pieces) == 1:
        before, colon, behind = text.partition(": ")
        pieces = [f"{before}{colon}", behind]
    for at in range(1, len(pieces), 2):
        attribute = lang(pieces[at], beside if len(pieces[at].split()) >= LEAST_WORDS else "")
        if attribute:
            pieces[at] = Markup("<span%s>%s</span>") % (attribute, pieces[at])
    return Markup("").join(pieces)


PAGES = "en"  # the language of every page
_QUOTED = re.compile(r"(?<!\w)('.+?')(?!\w)", re.DOTALL)


def metres(distance: float) -> str:
    """A distance as said: metres below a kilometre, kilometres above.

    Examples
    --------
    >>> metres(8.4), metres(1407.0)
    ('8 m', '1.4 km')
    """
    return f"{distance:.0f} m" if distance < 1000 else f"{distance / 1000:.1f} km"


def seconds(length: float) -> str:
    """A length of time as said, in the largest unit that leaves a number above one.

    Examples
    --------
    >>> seconds(60), seconds(1800), seconds(86_400), seconds(2.5)
    ('1 min', '30 min', '1 d', '2.5 s')
    """
    for unit, size in (("d", 86_400), ("h", 3600), ("min", 60)):
        if length >= size:
            return f"{length / size:.3g} {unit}"
    return f"{length:.3g} s"


_NOUN = r"(?:sightings?|photos?|messages?) "
_IDENTIFIERS = r"[0-9a-f]{8,}(?:, [0-9a-f]{8,})*"


def plainly(summary: str) -> str:
    """What was done, as said to whoever just did it: without identifiers, which nobody reads.

    Examples
    --------
    >>> plainly("sighting acfa52fad46187a9: Aeshna cyanea")
    'Aeshna cyanea'
    >>> plainly("took back: photo 1a1f8a333464 shows animal 2")
    'took back: a photo shows animal 2'
    >>> plainly("Heron Mere, 2026-06-13: jar L-3190bb42b22dceba, 3 exuviae")
    'Heron Mere, 2026-06-13: a jar, 3 exuviae'
    >>> plainly("one animal: acfa52fad46187a9, 1a1f8a3334640000")
    'one animal'
    """
    text = re.sub(rf"\b{_NOUN}{_IDENTIFIERS}: ", "", summary)
    text = re.sub(rf"\b(photo|sighting|message) {_IDENTIFIERS}", r"a \1", text)
    text = re.sub(r"\bjar L-[0-9a-f]{8,}", "a jar", text)
    return re.sub(rf":? ?\b{_IDENTIFIERS}", "", text)
