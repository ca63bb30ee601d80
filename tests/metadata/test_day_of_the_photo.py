"""Of several days the one said of the photo itself stands where the others are days of events.

The mail of these tests was sent on Tuesday 2026-06-16 at 20:00 in Warsaw.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from triage.metadata.position import NamedPlace
from triage.metadata.text import read_text

SENT = datetime(2026, 6, 16, 20, 0, tzinfo=timezone(timedelta(hours=2)))
MERE = NamedPlace(
    location_id="S1",
    locality="Heron Mere",
    aliases=(),
    decimal_latitude=53.9021,
    decimal_longitude=21.6954,
    coordinate_uncertainty_in_meters=260.0,
)


def days(text: str) -> list[str]:
    """The days that stand in the words without a doubt."""
    found = read_text(text, sent_at=SENT, places=[MERE], zone="Europe/Warsaw")
    return [claim.event_date for claim in found.times if not claim.doubts]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("Your talk on 2 June was wonderful. The picture is from yesterday.", "2026-06-15"),
        (
            "Thanks for the walk on Saturday, we loved it! The photo was taken on 11 June at Heron"
            " Mere.",
            "2026-06-11",
        ),
        ("The newsletter of 5 June asked for records. This picture is from Sunday.", "2026-06-14"),
        ("We met at your stand on 30 May. My photo is from 12 June.", "2026-06-12"),
        (
            "The photos are from 13 June, Heron Mere. I hope to see you at the meeting on 28 June.",
            "2026-06-13",
        ),
        ("I took this picture yesterday. The lecture on 9 June was sold out.", "2026-06-15"),
        ("Ihr Vortrag am 2. Juni war toll. Das Bild ist von gestern.", "2026-06-15"),
        ("Danke für die Exkursion am 6. Juni! Die Fotos sind vom 12. Juni.", "2026-06-12"),
        (
            "In der Zeitung vom Samstag stand Ihr Aufruf. Das Foto ist vom Sonntag, Heron Mere.",
            "2026-06-14",
        ),
        (
            "Am 20. Juni bin ich leider nicht beim Treffen. Das Bild stammt von vorgestern.",
            "2026-06-14",
        ),
        ("Die Aufnahme ist vom 10. Juni. Zum Kurs am 27. Juni komme ich gern.", "2026-06-10"),
        ("Das Bild habe ich gestern gemacht. Der Kurs am 5. Juni hat geholfen.", "2026-06-15"),
        ("Wykład 2 czerwca był świetny. Zdjęcie jest z wczoraj.", "2026-06-15"),
        ("Dziękuję za spacer w sobotę. Zdjęcia są z 11 czerwca, Heron Mere.", "2026-06-11"),
        ("Zdjęcie zrobiłam wczoraj. Na spotkanie 20 czerwca przyjdę z synem.", "2026-06-15"),
        (
            "W gazecie z 5 czerwca czytałem o Państwa badaniu. To zdjęcie jest z niedzieli.",
            "2026-06-14",
        ),
        ("Warsztaty 30 maja były ciekawe. Fotografia pochodzi z 12 czerwca.", "2026-06-12"),
        ("Votre conférence du 2 juin était passionnante. La photo est d'hier.", "2026-06-15"),
        ("Merci pour la sortie de samedi. Les photos sont du 11 juin, Heron Mere.", "2026-06-11"),
        ("J'ai lu votre article du 5 juin. Cette photo date de dimanche.", "2026-06-14"),
        ("Je serai à la réunion du 20 juin. La photo a été prise avant-hier.", "2026-06-14"),
        ("L'atelier du 30 mai m'a beaucoup plu. Ma photo est du 12 juin.", "2026-06-12"),
    ],
)
def test_the_day_said_of_the_photo_stands_beside_the_day_of_an_event(text, day):
    assert days(text) == [day]


@pytest.mark.parametrize(
    "text",
    [
        "The picture is from yesterday. I saw another one on 2 June.",
        "The first picture is from yesterday, the second from 2 June.",
        "The picture is from yesterday or from Sunday.",
        "The picture is not from yesterday; your talk on 2 June was great.",
        "Your talk on 2 June was great. The picture is from yesterday, I think.",
        "My neighbour says the picture is from yesterday. Your talk on 2 June was great.",
        "The picture is from your walk on 6 June. I came home yesterday.",
        "Is the picture from yesterday? Your talk on 2 June was great.",
        "We were at Heron Mere on 2 June. The picture is from yesterday.",
        "The picture is from yesterday. At the meeting on 2 June I photographed the other.",
        "Das Bild ist von gestern, das andere vom 2. Juni.",
        "Das erste Bild ist von gestern. Beim Vortrag am 2. Juni entstand das zweite Bild.",
        "Beim Treffen am 2. Juni habe ich sie fotografiert. Das Bild ist von gestern.",
        "Das Bild ist wohl von gestern. Ihr Kurs am 2. Juni war toll.",
        "Das Bild ist nicht von gestern. Ihr Vortrag am 2. Juni war toll.",
        "Auf der Exkursion am 6. Juni sah ich sie zuerst. Das Bild ist von gestern.",
        "Das Bild habe ich gestern bekommen. Der Vortrag am 2. Juni war toll.",
        "Zdjęcie jest z wczoraj. Drugie zdjęcie jest z 2 czerwca.",
        "Zdjęcie jest chyba z wczoraj. Wykład 2 czerwca był świetny.",
        "Na spacerze 6 czerwca zrobiłem zdjęcie. Zdjęcie jest z wczoraj.",
        "The picture isn't from yesterday.",
        "Das Bild ist nicht von gestern.",
        "Zdjęcie nie jest z wczoraj.",
        "La photo n'est pas d'hier.",
        "La photo n'est pas d'hier. Votre conférence du 2 juin était super.",
        "La photo est d'hier, l'autre du 2 juin.",
        "La photo est peut-être d'hier. Votre sortie du 6 juin était super.",
    ],
)
def test_where_it_may_be_another_day_it_is_asked(text):
    assert days(text) == []
