"""A survey of mails as people really write them: none is silently wrong, plain ones stay plain.

Sixty invented mails in English, German, Polish and French, written before they were first read by
the program: 40 plain, of which at most two may be asked, and 20 odd, each with what is true of its
photo. A mail is silently wrong if it settles by itself with another place or day. At the first
reading none was, and eight of the plain ones were asked, most of them French.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from email.utils import format_datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW

from triage.demo.walk import import_tables
from triage.pipeline import photo_list
from triage.store import messages
from triage.store.connection import Survey, create_survey, open_survey

SENT = datetime(2026, 6, 14, 20, 15, tzinfo=ZoneInfo("Europe/Warsaw"))  # a Sunday
TODAY, YESTERDAY = "2026-06-14", "2026-06-13"
HERON, ALDER, KINGCUP = (53.9021, 21.6954), (53.9108, 21.7172), (53.8934, 21.7310)
ELSEWHERE = "elsewhere"  # at none of the survey's sites


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One mail: what it says, what its camera knew, and what is true of its photo."""

    text: str
    place: str
    day: str
    subject: str = ""
    taken: str = ""  # Exif form; empty for a picture without a time
    fix: tuple[float, float] | None = None


def plain(text: str, place: str, day: str = TODAY, **known: object) -> Written:
    return Written(text=text, place=place, day=day, **known)  # type: ignore[arg-type]


NOON, BEFORE = "2026:06:14 12:20:00", "2026:06:13 15:05:00"
PLAIN = [
    plain(
        "Hello,\nthis dragonfly was at Heron Mere today.\nKind regards\nTheo",
        "Heron Mere",
        taken=NOON,
    ),
    plain(
        "Dear all, please find attached a picture taken yesterday at Alder Pool.",
        "Alder Pool",
        YESTERDAY,
    ),
    plain(
        "Place: Kingcup Marsh\nDate: 13 June 2026\nObserver: Hanna Ling", "Kingcup Marsh", YESTERDAY
    ),
    plain("Photographed this afternoon by the water at Otter Reach.", "Otter Reach", taken=NOON),
    plain("", "Bulrush Pit", YESTERDAY, subject="Bulrush Pit, 13 June"),
    plain("", "Heron Mere", subject="Dragonfly at Heron Mere", taken=NOON),
    plain("Good evening! I saw this one at Ferry Bay at lunchtime.", "Ferry Bay", taken=NOON),
    plain("Resting on a sedge at Sallow Pond, 13.06.2026", "Sallow Pond", YESTERDAY),
    plain("From my walk round Heron Mere this morning.", "Heron Mere", taken=NOON),
    plain("We spotted it near Kingcup Marsh on Saturday.", "Kingcup Marsh", YESTERDAY),
    plain(
        "My grandson caught this with his new camera at Alder Pool yesterday.",
        "Alder Pool",
        YESTERDAY,
    ),
    plain("Otter Reach, yesterday about 3 pm, sunny and warm.", "Otter Reach", YESTERDAY),
    plain("Attached: one photo, Heron Mere, today. Thanks for looking!", "Heron Mere", taken=NOON),
    plain("What a lovely blue one! Seen at Bulrush Pit this morning.", "Bulrush Pit", taken=NOON),
    plain("No idea what it is, sorry. Taken at Alder Pool on 13 June.", "Alder Pool", YESTERDAY),
    plain("Here you go, hope it helps.", "near Heron Mere", taken=NOON, fix=HERON),
    plain("Sent from my phone, straight from the shore.", "near Alder Pool", taken=NOON, fix=ALDER),
    plain("Seen at Kingcup Marsh.", "near Kingcup Marsh", taken=BEFORE, day=YESTERDAY, fix=KINGCUP),
    plain("A hawker over the reeds of Heron Mere, yesterday at noon.", "Heron Mere", YESTERDAY),
    plain("Location: Ferry Bay, near the landing stage. Taken yesterday.", "Ferry Bay", YESTERDAY),
    plain(
        "Guten Abend,\nheute Mittag am Heron Mere aufgenommen.\nViele Grüße, Jutta",
        "Heron Mere",
        taken=NOON,
    ),
    plain("Fundort: Alder Pool\nDatum: 13.6.2026", "Alder Pool", YESTERDAY),
    plain("Hallo, diese hier flog gestern am Kingcup Marsh.", "Kingcup Marsh", YESTERDAY),
    plain("Ein Weibchen, am 13. Juni am Otter Reach gesehen.", "Otter Reach", YESTERDAY),
    plain("Anbei ein Bild vom Bulrush Pit von gestern.", "Bulrush Pit", YESTERDAY),
    plain("Gestern bei Sallow Pond entdeckt, leider etwas weit weg.", "Sallow Pond", YESTERDAY),
    plain("Bild von heute früh, Heron Mere.", "Heron Mere", taken=NOON),
    plain("Beim Spaziergang am Alder Pool gefunden, gestern Nachmittag.", "Alder Pool", YESTERDAY),
    plain(
        "Dzień dobry,\nwczoraj nad Heron Mere zrobiłem to zdjęcie.\nPozdrawiam, Olek",
        "Heron Mere",
        YESTERDAY,
    ),
    plain("Miejsce: Kingcup Marsh, data: 13.06.2026", "Kingcup Marsh", YESTERDAY),
    plain("Ta ważka siedziała dziś nad Alder Pool.", "Alder Pool", taken=NOON),
    plain("Przesyłam zdjęcie znad Otter Reach, z wczoraj.", "Otter Reach", YESTERDAY),
    plain("Samica, Bulrush Pit, wczoraj po południu.", "Bulrush Pit", YESTERDAY),
    plain("Zauważona dziś rano przy Ferry Bay.", "Ferry Bay", taken=NOON),
    plain("Bonjour,\nvue hier au Heron Mere.\nCordialement, Luc", "Heron Mere", YESTERDAY),
    plain("Lieu : Alder Pool. Date : 13 juin 2026.", "Alder Pool", YESTERDAY),
    plain("Photographiée ce matin près de Kingcup Marsh.", "Kingcup Marsh", taken=NOON),
    plain("Voici une photo prise hier à Sallow Pond.", "Sallow Pond", YESTERDAY),
    plain("Une femelle posée sur un roseau à Bulrush Pit, le 13 juin.", "Bulrush Pit", YESTERDAY),
    plain("Trouvée aujourd'hui au bord du Otter Reach.", "Otter Reach", taken=NOON),
]
ODD = [
    plain("We meant to go to Heron Mere but ended up at the gravel works.", ELSEWHERE, taken=NOON),
    plain(
        "I moved away from Alder Pool in spring; this is from my new balcony.",
        ELSEWHERE,
        taken=NOON,
    ),
    plain(
        "Thank you for the nice evening at Otter Reach! I found this at home.",
        ELSEWHERE,
        taken=NOON,
    ),
    plain("Is it the kind that you showed us at Kingcup Marsh?", ELSEWHERE, taken=NOON),
    plain("Greta Moll, Alder Pool Cottage, 4 Heron Mere Lane", ELSEWHERE, taken=NOON),
    plain(
        "My sister says they fly at Bulrush Pit. I had this one at the canal.",
        ELSEWHERE,
        taken=NOON,
    ),
    plain(
        "Nothing at all at Heron Mere, so I tried the moat by the castle.", ELSEWHERE, taken=NOON
    ),
    plain(
        "On Saturday at Heron Mere and today at Alder Pool, this is one of them.",
        "Alder Pool",
        taken=NOON,
    ),
    plain("Seen at Heron Mere.", "Alder Pool", taken=NOON, fix=ALDER),
    plain("Seen at Heron Mere.", ELSEWHERE, taken=NOON, fix=(54.23, 21.70)),
    plain("Seen at Heron Mere, 3/6/2026.", "Heron Mere", "2026-03-06"),
    plain("Seen at Heron Mere.", "Heron Mere", YESTERDAY, taken="2020:01:01 00:03:10"),
    plain("Seen yesterday at Heron Mere.", "Heron Mere", YESTERDAY, taken="2026:06:24 12:00:00"),
    plain(
        "Wir wohnen am Alder Pool, das Bild ist aus dem Urlaub an der See.", ELSEWHERE, taken=NOON
    ),
    plain("Nicht am Heron Mere, sondern am Dorfteich.", ELSEWHERE, taken=NOON),
    plain("Mój kuzyn był nad Otter Reach, a ja zrobiłem to na działce.", ELSEWHERE, taken=NOON),
    plain("Zamiast nad Kingcup Marsh pojechaliśmy nad morze.", ELSEWHERE, taken=NOON),
    plain("Nous habitons près du Heron Mere mais c'était au parc.", ELSEWHERE, taken=NOON),
    plain("Au lieu du Alder Pool nous sommes allés à la rivière.", ELSEWHERE, taken=NOON),
    plain(
        "The Heron Mere newsletter made me look: this sat on our washing line.",
        ELSEWHERE,
        taken=NOON,
    ),
]


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Written, str, str]]:
    """Each mail with its state and, if it settled, what is wrong with what stands."""
    folder = tmp_path_factory.mktemp("mess") / "survey"
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as survey:
        import_tables(survey, DEMO, now=NOW)
        every = [*PLAIN, *ODD]
        mails = [
            letter(
                one.text,
                number=number,
                subject=one.subject or "A dragonfly",
                sender=f"Writer {number} <writer{number}@example.org>",
                sent=format_datetime(SENT),
                pictures=(picture(100 + number, taken=one.taken, point=one.fix),),
            )
            for number, one in enumerate(every)
        ]
        identifiers = take_in(survey, Path(folder.parent) / "mails", mails, now=NOW)
        return [
            (one, messages.find(survey, which).state, wrong(survey, which, one))
            for one, which in zip(every, identifiers, strict=True)
        ]


def wrong(survey: Survey, which: str, one: Written) -> str:
    """What of the photo as it stands is not true; empty for nothing."""
    (row,) = photo_list.standing_photos(survey, [which])
    name = one.place.removeprefix("near ")
    right = row.locality == name or (
        row.place_source == "camera gps" and one.fix and one.place != ELSEWHERE
    )
    if not right:
        return f"place {row.locality or row.place_source or 'none'}"
    return "" if row.event_date.startswith(one.day) else f"day {row.event_date or 'none'}"


def test_there_are_forty_plain_mails_and_twenty_odd_ones():
    assert (len(PLAIN), len(ODD)) == (40, 20)


def test_no_mail_is_silently_wrong(read):
    silent = [(one.text, why) for one, state, why in read if state == "settled" and why]
    assert silent == []


def test_of_the_plain_mails_at_most_two_are_asked(read):
    asked = [one.text for one, state, _ in read if one in PLAIN and state != "settled"]
    assert len(asked) <= 2, "\n".join(asked)


def test_the_odd_mails_are_asked_unless_they_are_right(read):
    missed = [one.text for one, state, why in read if one in ODD and state == "settled" and why]
    assert missed == []
