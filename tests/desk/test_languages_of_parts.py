"""Words in another language than the page say in which: WCAG 2.2, 3.1.2 Language of Parts."""

from __future__ import annotations

import io
from html.parser import HTMLParser
from pathlib import Path

import pytest
from desk.desks import come_in, desk_of
from pipeline.mail_writing import letter, picture, take_in
from pypdf import PdfReader
from tests_support import DEMO, NOW

from triage.demo.walk import import_tables
from triage.inbox import Settlement
from triage.pipeline import settle, standing
from triage.store.connection import create_survey, open_survey

WORDS = {
    "de": (
        "Eine Libelle am Teich",
        "Das Bild ist nicht von mir, ich habe es von meiner Schwester.",
    ),
    "pl": ("Ważka nad wodą", "To zdjęcie nie jest moje, zrobiła je moja siostra, proszę o nazwę."),
    "fr": ("Une libellule au bord", "Cette photo n'est pas de moi, c'est ma sœur qui l'a prise."),
    "en": ("A dragonfly of ours", "This photo is not by me, my sister took it at our pond today."),
}


class Parts(HTMLParser):
    """Every stretch of text of a page with the language of the element that holds it."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.held: list[tuple[str, str]] = []
        self.found: list[tuple[str, str]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        inherited = self.held[-1][1] if self.held else ""
        if tag not in ("meta", "link", "input", "img", "br", "base"):
            self.held.append((tag, dict(attrs).get("lang") or inherited))

    def handle_endtag(self, tag: str) -> None:
        while self.held and self.held.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        self.found.append((" ".join(data.split()), self.held[-1][1] if self.held else ""))

    def of(self, words: str) -> set[str]:
        """The languages of what holds these words, beside the page's title."""
        return {language for text, language in self.found if words in text and "·" not in text}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """A survey with one mail in each language, and their identifiers."""
    folder = tmp_path_factory.mktemp("languages") / "survey"
    create_survey(folder, title="Linnet Water Survey")
    settings = folder / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    address = 'reply_address = "linnet@example.org"'
    settings.write_text(text.replace('reply_address = ""', address), encoding="utf-8")
    found = {}
    with open_survey(folder) as survey:
        import_tables(survey, DEMO, now=NOW)
        for number, (language, (subject, words)) in enumerate(WORDS.items(), 1):
            sent = letter(
                words,
                number=number,
                subject=subject,
                sender=f"Sam Ferry {number} <sam{number}@example.org>",
                pictures=(picture(60 + number, taken=f"2026:06:1{number} 12:00:00"),),
            )
            before = set(found.values())
            now = take_in(survey, folder.parent / language, [sent], now=NOW)
            found[language] = next(one for one in now if one not in before)
    return folder, found


@pytest.mark.parametrize("language", WORDS)
def test_a_mail_its_doubt_its_letter_and_its_print_say_their_language(desk, language):
    folder, found = desk
    client = come_in(desk_of(folder))
    page = Parts(client.get(f"/inbox/{found[language]}").get_data(as_text=True))
    subject, words = WORDS[language]
    assert page.of(subject) - {""} >= {language}
    assert page.of(words[-30:]) == {language}  # in the mail, and quoted in what is asked
    assert page.of("Other decisions") == {"en"}
    with open_survey(folder) as survey:
        ask = Settlement(ask="date")
        (row,) = settle.settle(survey, [found[language]], ask, by="Co", now=NOW)
        code = row.state_reason.rpartition("(")[2].removesuffix(".eml)")
    letter_page = Parts(client.get(f"/letter/{code}").get_data(as_text=True))
    assert letter_page.of("Sam Ferry") - {"en"} == {language} - {"en"}
    assert letter_page.of("Save these words") == {"en"}
    printed = PdfReader(io.BytesIO(client.get(f"/letter/{code}.pdf").data))
    assert printed.trailer["/Root"]["/Lang"] == language


@pytest.mark.parametrize("language", WORDS)
def test_a_determiner_sees_a_senders_words_in_their_language(desk, language):
    folder, _ = desk
    client = come_in(desk_of(folder))
    with open_survey(folder) as survey:
        shown = [one.identifier for one in standing.sightings(survey)]
    pages = [
        client.get(f"/determine/sighting/{one}", headers={"Accept": "text/html"}) for one in shown
    ]
    parts = [Parts(f'<html lang="en">{one.get_data(as_text=True)}</html>') for one in pages]
    assert {language} in [one.of(WORDS[language][1][-30:]) for one in parts]
