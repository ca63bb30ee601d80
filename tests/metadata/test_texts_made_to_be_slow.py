"""Every reader of texts takes time in proportion to the text, whatever it repeats.

The bound is processor time of a process of its own (POSIX): some ten times what one of these texts
takes, a part of what it took when readers went back and forth. ``make slow`` searches for others.
"""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from triage.metadata import days_found, photo_days, text_dates
from triage.metadata.position import NamedPlace
from triage.metadata.text import MAX_CHARACTERS, read_text
from triage.metadata.text_coordinates import find_coordinates
from triage.metadata.text_spans import without_links

REPEATED = [
    "12:", "1",
    "12.", "12-", "1 ", "a", "at ", "N 53 ", "53.9 ", "\u00b0", "53\u00b0", "E", "+", "-",
    "/", "12/", "(", '"', "'", "12h", "am ", "x:", "Heron Mere ", "Heron Merr ", "5 m ", "Jun ",
    "1 June ", ".", "\n", "\t", "_", "1:1 ", "33U ", "33UXA", "http://a/", "@", "a@b.", "@1.1,",
    "geo:1.11", "#map=1/", "9 of ", "14-16 ", "yesterday ", "not ", "50.1,20.1 ", "lat ",
    "hier ", " ", "<", ",", "friday ", "wtorkowy ", "srodowa\n", "wczoraj, ", "the dzis ",
]  # fmt: skip
SITES = [
    NamedPlace(
        location_id=name,
        locality=name,
        aliases=(),
        decimal_latitude=53.9,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=100.0,
    )
    for name in ("Heron Mere", "Alder Pool", "Kingcup Marsh", "Otter Reach")
]
SECONDS = 4  # for all that is read of one text
PROGRAM = f"""
import signal
from test_texts_made_to_be_slow import REPEATED, read
from triage.mail.authorship import divide_text
from triage.mail.consent import read_consent
from triage.mail.headers import decode_words, parameters, read_address, read_date, read_identifiers

def too_slow(*_):
    raise SystemExit(f"{{piece!r}} takes more than {SECONDS} s")

signal.signal(signal.SIGPROF, too_slow)
readers = (read, read_consent, divide_text, decode_words, parameters, read_address, read_date,
           read_identifiers)
for piece in REPEATED:
    text = piece * (20_000 // len(piece))
    signal.setitimer(signal.ITIMER_PROF, {SECONDS})
    for reader in readers:
        reader(text)
print("all read")
"""


def read(text: str):
    return read_text(text, sent_at=datetime(2026, 7, 1, tzinfo=UTC), places=SITES, zone="UTC")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows limits no processor time")
def test_texts_of_20_kilobytes_are_read_in_proportion_to_their_length():
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        check=False,
    )
    assert done.stdout.strip() == "all read", done.stderr[-500:]


def test_of_a_day_named_a_thousand_times_few_mentions_are_looked_at(monkeypatch):
    looked_at = []
    monkeypatch.setattr(text_dates, "offer_of_day", lambda *words: looked_at.append(words) or "")
    assert [one.event_date for one in read("1/01. " * 3_000).times] == ["2026-01-01"]
    assert len(looked_at) == days_found.MENTIONS


@pytest.mark.parametrize("words", ["friday ", "wtorkowy ", "1/01. ", "yesterday "])
def test_whether_days_without_end_are_the_photos_own_nobody_asks_of_each(words, monkeypatch):
    looked_at = []
    monkeypatch.setattr(
        photo_days, "_is_said_of_the_photo", lambda day, _: looked_at.append(day) or False
    )
    read(words * days_found.MENTIONS)
    assert 0 < len(looked_at) <= days_found.MENTIONS
    looked_at.clear()
    read(words * 2_000)
    assert looked_at == []


def test_what_was_not_read_is_said():
    short, long = "x" * MAX_CHARACTERS, "x " * MAX_CHARACTERS
    assert read(short).questions == ()
    assert [question[:28] for question in read(long).questions] == ["Only the first 20,000 of 40,"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("see https://example.org/2026/06/14, yes", "see                                 yes"),
        ("write to ada.f12@example.org today", "write to                     today"),
        ("(www.example.org/12)", "(" + " " * 19),
        ("a@b is no address", "a@b is no address"),
    ],
)
def test_links_and_addresses_are_blanked_word_by_word(text, expected):
    assert without_links(text) == expected


def test_of_two_pairs_in_a_link_the_place_counts_and_not_the_view_of_the_map():
    link = "https://maps.example.org/@53.8000,21.6000,15z/data=!3d53.9000!4d21.7000?x"
    claims, spans = find_coordinates(f"here: {link} ok")
    assert [(one.decimal_latitude, one.decimal_longitude) for one in claims] == [(53.9, 21.7)]
    assert spans == [(6, 6 + len(link))]
