"""Mentions of sites in mails that were written before the program read them, two tables.

At their first reading none of the second table was silently taken, and eight of the forty plain
ones were asked; what was missing in the forms has been added since.
"""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from triage.metadata.position import NamedPlace
from triage.metadata.reading import Surroundings, read_layer
from triage.metadata.text import TextEvidence

SENT = datetime(2026, 6, 14, 20, 15, tzinfo=ZoneInfo("Europe/Warsaw"))
SITES = [
    NamedPlace(
        location_id=name[0],
        locality=name,
        aliases=(),
        decimal_latitude=latitude,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=100.0,
    )
    for name, latitude in (("Heron Mere", 53.9), ("Kestrel Fen", 53.8), ("Alder Pool", 53.7))
]
AROUND = Surroundings(places=SITES, zone="Europe/Warsaw")

PLAIN = """
I was walking the dog around Heron Mere yesterday and this landed on my hat.
Hi, is this common? It was on the boardwalk at Heron Mere yesterday.
Kestrel Fen yesterday evening. Light was fading.
Two of these were chasing each other over Alder Pool yesterday.
I came across this beauty yesterday while fishing at Heron Mere.
Yesterday's find from Heron Mere.
Picture from Alder Pool, taken on the 13th of June 2026.
Could you please tell me what this is? It was sitting by Heron Mere on 13 June.
It sat on a nettle beside Kestrel Fen yesterday.
Please see attached, Heron Mere, Saturday 13 June.
Observed on 13/06/2026 at Alder Pool, 14:30, sunny, 23 degrees.
First one of the year for me! Heron Mere, yesterday.
We had a picnic at Heron Mere yesterday and this one joined us.
Found dead on the path at Kestrel Fen yesterday.
A newly emerged one, Alder Pool, 13.6.26
Site Heron Mere, date 13 June 2026, weather fine
hi there big green one at heron mere yesterday
HERON MERE 13 JUNE
Heute habe ich am Heron Mere diese Libelle entdeckt.
Am Ufer vom Heron Mere saß gestern dieses Tier.
Hallo zusammen, könnt ihr mir sagen, was das ist? Gestern am Alder Pool.
Frisch geschlüpft, Kestrel Fen, gestern früh.
Ort: Heron Mere, Datum: gestern
Meine erste Libelle dieses Jahr! Gestern am Heron Mere.
Gestern Abend bei Heron Mere im Gras.
Am 13.06. am Alder Pool, Männchen.
Cześć, co to za ważka? Wczoraj nad Heron Mere.
Spacerowałem wczoraj wokół Heron Mere i usiadła mi na ręce.
Dwie ważki nad Alder Pool, wczoraj.
Jezioro Heron Mere, wczoraj, słonecznie.
Stanowisko: Kestrel Fen, 13 czerwca 2026
Zdjęcie z wczoraj, Heron Mere.
Hier après-midi au Heron Mere.
Libellule au Heron Mere hier.
Endroit : Kestrel Fen, hier matin
Je l'ai prise en photo hier au bord du Heron Mere.
Elle était posée sur un jonc à Alder Pool hier.
Bonjour, qu'est-ce que c'est ? Vue à Heron Mere hier.
Hello from Ida. This is from yesterday, Heron Mere, south shore.
One more from yesterday's visit to Alder Pool.
""".strip().splitlines()
ODD = """
I usually go to Heron Mere, yesterday I took the ferry instead and saw this.
My friend Bo found it at Heron Mere, mine is the second picture from the harbour.
After Heron Mere we stopped at the quarry, where this sat.
I thought of your talk at Kestrel Fen when I saw this in town.
Heron Mere is dry this year so I went to the reservoir yesterday.
Taken from the train between Heron Mere and the city.
We stay in a cabin at Heron Mere until Friday. Yesterday's trip was to the coast.
Same species as last week at Heron Mere? This one is from the river.
Heron Mere Angling Club, secretary: B. Holm
Do you count at Heron Mere again this year? Here is one from our school pond.
Looks like the Heron Mere ones, but this was in the city park.
Not sure if it was Heron Mere or the pond next to it.
I lost my hat at Heron Mere. The photo is from yesterday in Ahlen.
Anders als am Heron Mere gab es hier viele.
Früher gab es die am Heron Mere, jetzt im Stadtpark.
Ich komme aus Heron Mere und war gestern im Moor.
Jadąc do Heron Mere zatrzymałem się nad rzeką.
Takie same jak nad Heron Mere, ale z miasta.
Je pensais aller au Heron Mere, finalement c'est la Loire.
Comme au Heron Mere l'an dernier, mais dans mon jardin.
""".strip().splitlines()


def read(text: str) -> TextEvidence:
    return read_layer("A dragonfly", text, sent_at=SENT, around=AROUND)


def is_asked(text: str) -> bool:
    """Whether place or day of a mail is left to a person, where its camera says nothing."""
    found = read(text)
    places = [claim for claim in found.places if not claim.doubts]
    return len(places) != 1 or not any(not claim.doubts for claim in found.times)


def test_of_forty_plain_mails_at_most_four_are_asked_for_place_or_day():
    asked = [text for text in PLAIN if is_asked(text)]
    assert len(PLAIN) == 40
    assert len(asked) <= 4, asked


def test_of_forty_plain_mails_at_most_two_are_asked_for_the_place():
    asked = [text for text in PLAIN if all(claim.doubts for claim in read(text).places)]
    assert len(asked) <= 2, asked


@pytest.mark.parametrize("text", PLAIN)
def test_a_plain_mail_names_its_site_and_a_day_of_that_weekend(text):
    found = read(text)
    (place,) = found.places
    assert place.locality in text or place.locality.casefold() in text.casefold()
    assert {claim.event_date[:10] for claim in found.times} <= {"2026-06-13", "2026-06-14"}


@pytest.mark.parametrize("text", ODD)
def test_no_site_is_taken_silently_where_the_photo_is_from_elsewhere(text):
    assert all(claim.doubts for claim in read(text).places)
