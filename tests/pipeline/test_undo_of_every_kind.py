"""Every kind of action that the program records is taken back whole, brought back, taken back."""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from test_house import ROOT
from tests_support import NOW

from triage.desk.packet_page import page
from triage.determinations import Statement
from triage.inbox import Settlement
from triage.pipeline import (
    consents,
    correct,
    determine,
    edit,
    inbox,
    jars,
    packet,
    persons,
    photo_list,
    queueing,
    settle,
    standing,
    tables,
    undo,
)
from triage.store import actions, evidence, people
from triage.store.connection import Survey
from triage.store.rows import holds

Work = Callable[[Survey, Path], object]
NO = "Please do not publish my photos"
AS_BO = {"by": "Bo", "now": NOW}
TABLES = {
    "sites": "locationID,locality,decimalLatitude,decimalLongitude\nN1,Fern Pool,53.951,21.751",
    "visits": "eventID,locationID,eventDate\nX1,{site},2026-06-20",
    "lots": "catalogNumber,locationID,eventDate,scientificName,individualCount\n"
    "E9,{site},2026-06-20,Anax imperator,3",
    "checklist": "scientificName,taxonRank,family\nAeshna affinis,species,Aeshnidae",
    "scores": "scientificName,score\nLibellula depressa,3",
    "site-values": "site,date,variable,value\n{site},2026-06-01,pH,7.1",
}


def taken_in(kind: tables.Kind) -> Work:
    def work(survey: Survey, to: Path) -> object:
        site = evidence.sites(survey)[0].location_id
        (to / "table.csv").write_text(TABLES[kind].format(site=site) + "\n", encoding="utf-8")
        return tables.import_table(survey, kind, to / "table.csv", **AS_BO)

    return work


def found(survey: Survey, place: int = 0) -> str:
    return standing.sightings(survey)[place].identifier


def photo(survey: Survey) -> str:
    return max(standing.sightings(survey), key=lambda one: len(one.photos)).photos[0]


def parted(survey: Survey, _: Path) -> object:
    one = max(standing.sightings(survey), key=lambda one: len(one.photos))
    return edit.split(survey, one.identifier, one.photos[:1], **AS_BO)


def two(survey: Survey) -> list[str]:
    return [one.code for one in people.listed(survey) if one.name][:2]


def renamed(survey: Survey, _: Path) -> object:
    number = evidence.lots(survey)[0].catalog_number
    return jars.name_again(survey, number, name="Aeshna cf. mixta", identified_by="", **AS_BO)


def undecided(survey: Survey) -> str:
    return next(one.code for one in people.listed(survey) if one.publish == "unstated")


def mails(survey: Survey, count: int = 2) -> list[str]:
    return [one.message.identifier for one in inbox.entries(survey)[:count]]


def settled(**said: str) -> Work:
    decision = Settlement(**said)  # type: ignore[arg-type]
    return lambda survey, _: settle.settle(survey, mails(survey), decision, **AS_BO)


KINDS: dict[str, list[Work]] = {
    "determine": [
        lambda s, _: determine.determine(s, found(s), Statement(taxon="Aeshna"), new=True, **AS_BO)
    ],
    "correct": [
        lambda s, _: correct.correct_all(s, photo(s), {"view": "anterior"}, **AS_BO),
        lambda s, _: correct.correct_all(s, photo(s), {"time": "2026-07-01"}, **AS_BO),
        lambda s, _: correct.correct_all(s, photo(s), {"place": "53.9,21.7"}, **AS_BO),
    ],
    "withdraw": [lambda s, _: correct.withdraw(s, [photo(s)], reason="asked", **AS_BO)],
    "settle": [settled(set_aside="seen"), settled(date="2026-07-03"), settled(site="LNT-01")],
    "sightings split": [parted],
    "sightings merge": [lambda s, _: edit.merge(s, [found(s, 0), found(s, 1)], **AS_BO)],
    "sightings add": [lambda s, _: edit.add_animal(s, photo(s), **AS_BO)],
    "sightings set-aside": [lambda s, _: edit.set_aside(s, found(s), "drawn", **AS_BO)],
    "people": [
        lambda s, _: persons.join(s, *two(s), **AS_BO),
        lambda s, _: persons.tell_apart(s, *two(s), **AS_BO),
        lambda s, _: persons.set_short_name(s, "XX", people.find(s, two(s)[0]).name, **AS_BO),
    ],
    "consent": [lambda s, _: consents.record_consent(s, undecided(s), NO, **AS_BO)],
    "guardian": [
        lambda s, _: consents.record_guardian(
            s, two(s)[0], given_by="A. Parent", message=mails(s)[0], **AS_BO
        )
    ],
    "packet": [
        lambda s, to: packet.make(
            s, to / "p.zip", whom="Ada Moor", count=2, megabytes=9, page=page, new=True, **AS_BO
        )
    ],
    "jar": [renamed],
    **{kind: [taken_in(kind)] for kind in TABLES},  # type: ignore[arg-type]
}
ELSEWHERE = {
    "replies",
    "examine",
}  # letters: test_volunteer_letters; what was learned: test_learning
NAMED_IN_PARTS = {"sightings set-aside", "withdraw", *TABLES}  # of which the code holds no one text


def recorded() -> set[str]:
    """The commands under which the pipeline records actions, where the code names them."""
    places = {"acting": 1, "record": 1, "act": 2}
    found = set()
    for path in (ROOT / "pipeline").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
                continue
            place = places.get(node.func.attr)
            if place is not None and len(node.args) > place:
                command = node.args[place]
                if isinstance(command, ast.Constant) and isinstance(command.value, str):
                    found.add(command.value)
    return found


def test_no_kind_of_action_is_left_out():
    assert recorded() - set(actions.LASTING) - ELSEWHERE == (KINDS.keys() - NAMED_IN_PARTS) | {
        "sites"
    }


def seen(survey: Survey) -> dict[str, object]:
    """What people see of a survey."""
    return {
        # Whatever was named or handed out keeps its identifier for good.
        "sightings": [replace(one, frozen=True) for one in standing.sightings(survey)],
        "queue": [one.sighting.identifier for one in queueing.queue(survey, now=NOW)],
        "photos": photo_list.standing_photos(survey),
        "mails": [(one.message.identifier, one.needs) for one in inbox.entries(survey)],
        "people": people.all_people(survey),
        "who": people.known(survey),
        "tables": [evidence.sites(survey), evidence.visits(survey), evidence.lots(survey)],
        "taxa": evidence.taxa(survey),
        "packets": survey.column(
            "select packet from packets where action_id in (select id from live_actions) order by 1"
        ),
        "apart": survey.column(
            "select person_id from told_apart where action_id in (select id from live_actions)"
        ),
        "values": survey.column("select count(*) from site_measurements"),
        "scores": survey.column("select count(*) from taxon_scores"),
        "guardians": survey.column(f"select id from guardian_consents where {holds()}"),
    }


@pytest.mark.parametrize(
    ("kind", "number"), [(kind, n) for kind, works in KINDS.items() for n in range(len(works))]
)
def test_every_kind_is_taken_back_and_brought_back(
    survey: Survey, tmp_path: Path, kind: str, number: int
):
    before = seen(survey)
    KINDS[kind][number](survey, tmp_path)
    after = seen(survey)
    assert after != before
    undone = undo.undo(survey, by="Bo", now=NOW)
    assert undone.taken.command == kind
    assert seen(survey) == before
    again = undo.undo(survey, by="Bo", now=NOW, number=undone.number)
    assert seen(survey) == after
    undo.undo(survey, by="Bo", now=NOW, number=again.number)
    assert seen(survey) == before
