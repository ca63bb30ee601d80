"""A second survey with a mess of its own: odd tables, odd names, mails in four languages.

Everything is invented. What a person must see is on a row with its words, what is doubtful stands
nowhere in silence, and what is refused says why.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW

from triage.pipeline import audit, inbox, persons, photo_list, tables
from triage.store import evidence, messages, people
from triage.store.connection import Survey, create_survey, open_survey

SITES = """locationID;locality;verbatimLocality;decimalLatitude;decimalLongitude
M-1;Staw Ol\u015bniony;;53,912;21,701
M-2;\u00c9tang aux Roseaux;l'\u00e9tang;53,921;21,722
M-3;Mokrad\u0142o \u0179r\u00f3dlane;;53,933;21,741
M-4;Lehmgrube;;21,75;53,94
"""
LOTS = """catalogNumber;locationID;scientificName;individualCount;eventDate;recordedBy
L-1;M-1;Aeshna cf. mixta;3;2026-07-01;J. Wolski
L-2;M-1;Passer domesticus;1;2026-07-01;Jan Wolski
L-3;M-2;Coenagrion puella lub pulchellum;2;2026-07-02;Jan Wolski
L-4;M-2;Anax imperator;1;2126-07-02;Jan Wolski
L-5;M-3;Libellula q;4;2026-07-03;Jan Wolski
;;;;;
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One mail, the needs that it must raise, and the place and day that may stand."""

    text: str
    needs: frozenset[str] = frozenset()
    place: str = ""
    day: str = ""
    subject: str = ""
    sender: str = "Jan Wolski <jan@example.org>"
    publish: str = "unstated"


MAILS = [
    Written(
        subject="nad Stawem O\u015blnionym",
        text="Wczoraj nad Stawem Ol\u015bnionym, samiec na trzcinie.",
        place="Staw Ol\u015bniony",
        day="2026-06-13",
    ),
    Written(
        text="Bonjour, vue hier \u00e0 l'\u00c9tang aux Roseaux, pos\u00e9e sur un jonc.",
        sender="Odile Brun <odile@example.org>",
        place="\u00c9tang aux Roseaux",
        day="2026-06-13",
    ),
    Written(
        text="Mieszkam obok Mokrad\u0142a \u0179r\u00f3dlanego, a ta by\u0142a dzi\u015b"
        " na balkonie.",
        needs=frozenset({"place doubt", "date doubt", "private place"}),
    ),
    Written(
        text="Merci de ne pas publier ma photo. \u00c9tang aux Roseaux, 12 juin.",
        sender="Luc Aubin <luc@example.org>",
        place="\u00c9tang aux Roseaux",
        day="2026-06-12",
        publish="no",
    ),
    Written(
        text="Vous pouvez publier mes photos sous CC BY 4.0. \u00c9tang aux Roseaux, hier.",
        sender="Nina Faure <nina@example.org>",
        place="\u00c9tang aux Roseaux",
        day="2026-06-13",
        publish="unstated",  # until somebody has seen the words
    ),
    Written(
        text="Mon amie Rose Petit l'a prise hier \u00e0 l'\u00c9tang aux Roseaux.",
        sender="Luc Aubin <luc@example.org>",
        needs=frozenset({"photographer", "date doubt", "place doubt"}),  # both are his friend's
        place="",
        publish="no",
    ),
    Written(
        text="Je retire mes photos, merci de les supprimer du site.",
        sender="Nina Faure <nina@example.org>",
        needs=frozenset({"delete request", "place", "date"}),
    ),
    Written(
        text="Lehmgrube oder Staw Ol\u015bniony, ich wei\u00df es nicht mehr, am 12. Juni.",
        sender="Udo Rast <udo@example.org>",
        needs=frozenset({"place doubt", "date doubt"}),
    ),
    Written(
        text="Ihr Vortrag am 2. Juni war toll. Das Bild ist von gestern, Staw Ol\u015bniony.",
        sender="Udo Rast <udo@example.org>",
        place="Staw Ol\u015bniony",
        day="2026-06-13",
    ),
    Written(
        text="A first: two different ones, Staw Ol\u015bniony, 13 June.",
        sender="May Orr <may@example.org>",
        needs=frozenset({"several animals"}),
        place="Staw Ol\u015bniony",
        day="2026-06-13",
    ),
]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Survey, list[str], list[str]]]:
    """The survey, the identifiers of its mails, and what its tables were refused for."""
    base = tmp_path_factory.mktemp("mess")
    create_survey(base / "survey", title="Enqu\u00eate Ol\u015bniona")
    (base / "sites.csv").write_bytes(SITES.encode("utf-16"))
    (base / "lots.csv").write_bytes(LOTS.encode("cp1250"))
    refused: list[str] = []
    with open_survey(base / "survey") as survey:
        tables.import_table(survey, "checklist", DEMO / "checklist.csv", by="Co", now=NOW)
        for kind in ("sites", "lots"):
            outcome = tables.import_table(
                survey,
                kind,
                base / f"{kind}.csv",
                by="Co",
                now=NOW,  # type: ignore[arg-type]
            )
            refused += [f"{kind} {one.line}: {one.reason}" for one in outcome.refused]
        mails = [
            letter(
                one.text,
                number=number,
                subject=one.subject,
                sender=one.sender,
                pictures=(picture(number),),
            )
            for number, one in enumerate(MAILS)
        ]
        yield survey, take_in(survey, base / "mails", mails, now=NOW), refused


def test_odd_rows_are_refused_with_a_reason_or_wait_unresolved(made):
    survey, _, refused = made
    assert [line.partition(":")[0] for line in refused] == ["sites 5", "lots 5"]
    assert "Exchange latitude and longitude" in refused[0]
    assert "lies in the future" in refused[1]
    unresolved = {one.identifier for one in tables.unresolved_lots(survey)}
    assert unresolved == {"L-2", "L-5"}
    counted = {one.catalog_number: one for one in tables.counted_lots(survey)}
    assert set(counted) == {"L-1", "L-3"}
    assert (counted["L-1"].scientific_name, counted["L-1"].identification_qualifier) == (
        "Aeshna mixta",
        "cf.",
    )
    assert (counted["L-3"].scientific_name, counted["L-3"].taxon_rank) == ("Coenagrion", "genus")


def test_sites_of_a_table_in_utf_16_keep_their_letters(made):
    survey, _, _ = made
    names = {site.locality for site in evidence.sites(survey)}
    assert names == {
        "Staw Ol\u015bniony",
        "\u00c9tang aux Roseaux",
        "Mokrad\u0142o \u0179r\u00f3dlane",
    }


@pytest.mark.parametrize("number", range(len(MAILS)))
def test_what_a_person_must_see_is_a_row_and_nothing_else_stands(made, number):
    survey, identifiers, _ = made
    written, identifier = MAILS[number], identifiers[number]
    entries = [e for e in inbox.entries(survey) if e.message.identifier == identifier]
    assert {need.kind for entry in entries for need in entry.needs} == written.needs
    assert messages.find(survey, identifier).state == ("open" if written.needs else "settled")
    (photo,) = photo_list.standing_photos(survey, [identifier])
    stands = "" if photo.place_doubts else photo.locality
    assert stands == written.place
    assert ("" if photo.time_doubts else photo.event_date[:10]) == written.day


def test_consent_stands_by_what_was_said_last_and_seen(made):
    survey, _, _ = made
    said = {one.name: one.publish for one in people.all_people(survey)}
    assert said["Luc Aubin"] == "no"
    assert said["Nina Faure"] == "no"  # the grant was never seen, and taken back
    wanted = {need.kind for need in audit.record_needs(survey, now=NOW)}
    assert wanted == {"unresolved name"}


def test_whoever_is_forgotten_leaves_no_word(made):
    survey, _, _ = made
    persons.forget(survey, "nina@example.org", now=NOW, photos=True)
    whole = "\n".join(survey.connection.iterdump())
    assert "Nina" not in whole
    assert "nina@" not in whole
