"""Mails as volunteers write them, in four languages: what stands is true, and little is asked.

Batches of forty plain mails and of thirty odd ones (tests/data/mails). Each was read once before
the rules were mended by it; docs/metadata.md has what came of it then.
"""

from __future__ import annotations

import tomllib
from datetime import datetime
from pathlib import Path
from typing import TypedDict
from zoneinfo import ZoneInfo

import pytest

from triage.mail.authorship import divide_text
from triage.metadata.position import NamedPlace
from triage.metadata.reading import Surroundings, read_layer

WARSAW = ZoneInfo("Europe/Warsaw")
NAMES = (
    "Teal Pool",
    "Rushy Fleet",
    "Alder Carr",
    "Kingcup Pond North",
    "Kingcup Pond South",
    "Schilfteich",
    "Kranichmoor",
    "Alte Lehmgrube",
    "Staw Olchowy",
    "Jezioro Bobrowe",
    "Torfowisko Kaczeniec",
    "Étang aux Roseaux",
    "Mare du Héron",
    "Tourbière de l'Aulne",
)
AROUND = Surroundings(
    places=[
        NamedPlace(
            location_id=name,
            locality=name,
            aliases=(),
            decimal_latitude=53 + number / 10,
            decimal_longitude=21.7,
            coordinate_uncertainty_in_meters=100.0,
        )
        for number, name in enumerate(NAMES)
    ],
    zone="Europe/Warsaw",
)


class Mail(TypedDict):
    """``place`` and ``when`` are what is true, empty where nothing may stand in silence."""

    sent: str
    subject: str
    text: str
    place: str
    when: str


def mails(kind: str) -> list[tuple[str, Mail]]:
    return [
        (path.stem, mail)
        for path in sorted((Path(__file__).parent.parent / "data" / "mails").glob(f"{kind}_*.toml"))
        for mail in tomllib.loads(path.read_text("utf-8"))["mails"]
    ]


PLAIN, ODD = mails("plain"), mails("odd")


def standing(mail: Mail) -> tuple[set[str], set[str]]:
    """The sites and the days that stand without a doubt in the sender's own words."""
    own = divide_text(mail["text"], subject=mail["subject"])[0].text
    sent = datetime.fromisoformat(f"{mail['sent']}T21:15").replace(tzinfo=WARSAW)
    found = read_layer(mail["subject"], own, sent_at=sent, around=AROUND)
    places = {claim.location_id or claim.verbatim for claim in found.places if not claim.doubts}
    return places, {claim.event_date for claim in found.times if not claim.doubts}


def fits(event_date: str, truth: str) -> bool:
    """Whether a day that stands is true; of a stretch of days, whether the true day lies in it."""
    first, last = ((part[:10]) for part in (event_date + "/" + event_date).split("/")[:2])
    if "/" in event_date:
        last = event_date.partition("/")[2][:10]
    if not truth:
        return first != last
    true_first, _, true_last = truth.partition("/")
    return first <= (true_last or true_first) and true_first <= last


@pytest.mark.parametrize(("batch", "mail"), PLAIN + ODD)
def test_no_place_and_no_day_stands_that_is_not_true(batch: str, mail: Mail):
    places, days = standing(mail)
    assert places <= {mail["place"]}, (batch, mail["subject"])
    assert all(fits(day, mail["when"]) for day in days), (batch, mail["subject"], days)


def test_of_forty_plain_mails_two_are_asked():
    asked = [mail["subject"] for _, mail in PLAIN if not all(standing(mail))]
    assert len(PLAIN) == 800
    assert len(asked) <= len(PLAIN) / 20, asked
