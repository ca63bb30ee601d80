"""Figures of sites that are kept and renewed on change are those that the whole survey gives."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta
from pathlib import Path

import pytest
from tests_support import DEMO, NOW

from triage.demo.walk import DETERMINER, determine_some
from triage.determinations import Statement
from triage.exuviae import resolve_lots
from triage.matching import SiteEvidence, site_evidence
from triage.pipeline import (
    determine,
    edit,
    match,
    publish,
    queueing,
    sites,
    standing,
    tables,
    undo,
)
from triage.pipeline.audit import overview_of
from triage.store import audit, derived_rules, evidence, ground, matches, overview, sightings
from triage.store.connection import Survey

TAXA = ("Aeshna mixta", "Anax imperator", "Sympecma fusca", "Libellula quadrimaculata")


def from_everything(survey: Survey) -> list[SiteEvidence]:
    """As the pure function gives it of everything loaded."""
    return site_evidence(
        [one for one in standing.sightings(survey) if one.state != "set aside"],
        evidence.sites(survey),
        evidence.visits(survey),
        tables.counted_lots(survey),
        evidence.checklist(survey),
    )


@pytest.mark.parametrize("seed", range(3))
def test_after_any_actions_kept_evidence_is_that_of_everything(survey: Survey, seed: int):
    draw = random.Random(seed)
    determine_some(survey, DEMO / "truth.csv", now=NOW, every=1)
    changed = 0
    joined: set[str] = set()  # their parts are sightings already: parting them is an undo
    for number in range(10):
        before = sites.evidence_of_sites(survey)
        one = draw.choice(standing.sightings(survey))
        at = NOW + timedelta(minutes=number)
        kind = draw.randrange(5)
        if kind == 0:
            said = Statement(taxon=draw.choice(TAXA), life_stage=draw.choice(["", "teneral"]))
            determine.determine(survey, one.identifier, said, by="Bo", now=at, new=True)
        elif kind == 1:
            edit.set_aside(survey, one.identifier, "drawn", by="Bo", now=at)
        elif kind == 2 and len(one.photos) > 1 and not joined & {one.identifier}:
            edit.split(survey, one.identifier, [one.photos[0]], by="Bo", now=at)
        elif kind == 3:
            other = draw.choice(standing.sightings(survey))
            if other.identifier != one.identifier:
                joined |= {one.identifier, other.identifier}
                edit.merge(survey, [one.identifier, other.identifier], by="Bo", now=at)
        elif undo.actions.newest_of(survey, "Bo"):
            undo.undo(survey, by="Bo", now=at)
        after = sites.evidence_of_sites(survey)
        assert after == from_everything(survey)
        changed += after != before
    assert changed


def test_a_changed_site_moves_what_adults_are_evidence_of(survey: Survey, tmp_path: Path):
    determine_some(survey, DEMO / "truth.csv", now=NOW, every=1)
    before = sites.evidence_of_sites(survey)
    away = tmp_path / "sites.csv"
    away.write_text(
        "locationID,locality,decimalLatitude,decimalLongitude,coordinateUncertaintyInMeters\n"
        + "".join(
            f"{s.location_id},{s.locality},{s.decimal_latitude + 0.05},{s.decimal_longitude},50\n"
            for s in evidence.sites(survey)
        ),
        encoding="utf-8",
    )
    tables.import_table(survey, "sites", away, by="Bo", now=NOW)
    after = sites.evidence_of_sites(survey)
    assert after == from_everything(survey)
    assert after != before


def test_looking_at_adults_resumes_where_it_was_stopped(survey: Survey, monkeypatch):
    determine_some(survey, DEMO / "truth.csv", now=NOW, every=1)
    monkeypatch.setattr(derived_rules, "AT_ONCE", 3)

    class Stopped(Exception):
        pass

    def stop(what: str, done: int, total: int | None) -> None:
        raise Stopped

    with pytest.raises(Stopped):
        sites.renew_table(survey, progress=stop)
    told: list[tuple[int, int | None]] = []
    sites.renew_table(survey, progress=lambda _, done, total: told.append((done, total)))
    assert told[-1][0] == told[-1][1] == len(sightings.every(survey)) - 3
    assert sites.evidence_of_sites(survey) == from_everything(survey)


def test_spots_of_the_map_are_all_sightings_with_a_place(survey: Survey):
    placed = [s for s in sightings.every(survey) if s.decimal_latitude is not None]
    fine = ground.spots(survey, cell=20, most=1500)
    assert sum(one.count for one in fine) == len(placed)
    days = Counter(
        date.fromisoformat(s.event_date[:10]).timetuple().tm_yday for s in placed if s.event_date
    )
    assert Counter(int(day) for one in fine for day in one.days.split()) == days
    coarse = ground.spots(survey, cell=20, most=3)
    assert len(coarse) <= 3
    assert sum(one.count for one in coarse) == len(placed)


def test_a_month_alone_is_no_day_of_a_spot(survey: Survey):
    survey.connection.execute("update sightings set event_date = '2026-05'")
    found = ground.spots(survey, cell=20, most=1500)
    assert {one.days for one in found} == {""}
    assert {one.first for one in found} == {"2026-05"}


def test_a_determination_leaves_the_map_as_it_was_drawn(survey: Survey):
    before = ground.changes(survey)
    one = standing.sightings(survey)[0].identifier
    determine.determine(survey, one, Statement(taxon=TAXA[0]), by="Bo", now=NOW, new=True)
    assert ground.changes(survey) == before
    survey.connection.execute("update sightings set decimal_latitude = 53.95")
    assert ground.changes(survey) > before


def test_only_what_changed_is_matched_again_unless_waters_or_searches_did(survey: Survey):
    match.match(survey)
    told: list[tuple[int, int | None]] = []

    def note(_: str, done: int, total: int | None) -> None:
        told.append((done, total))

    match.refresh(survey, progress=note)
    assert told == []
    survey.connection.execute(
        "insert into matches_due values (?)", (sightings.every(survey)[0].identifier,)
    )
    match.refresh(survey, progress=note)
    assert told == [(1, 1)]
    survey.connection.execute("update visits set passes = passes + 1")
    match.refresh(survey, progress=note)
    assert told[-1] == (0, None)
    kept = matches.every(survey)
    assert kept == match.match(survey)


def test_figures_counted_from_indexes_are_those_of_the_rows(survey: Survey):
    determine_some(survey, DEMO / "truth.csv", now=NOW, every=1)
    undo.undo(survey, by=DETERMINER, now=NOW)
    counted = overview.holdings(survey)
    run = survey.connection.execute
    rows = [row[0] for row in run("select photo from appearances")]
    assert counted.photos == len(set(rows))
    live = run(
        "select person_id from determinations d join live_actions a on a.id = d.action_id"
    ).fetchall()
    assert counted.determinations == len(live)
    assert counted.determiners == len({row[0] for row in live})
    assert counted.sightings == len(sightings.every(survey))


def test_what_waits_is_counted_after_the_last_determination(survey: Survey):
    before = overview_of(survey, now=NOW).waiting
    one = next(s for s in standing.sightings(survey) if s.state == "queued").identifier
    determine.determine(survey, one, Statement(cannot_tell="far"), by="Bo", now=NOW, new=True)
    assert overview_of(survey, now=NOW).waiting == before - 1


def test_what_waits_for_a_determiner_is_counted_as_the_room_counts_it(survey: Survey):
    one = next(s for s in standing.sightings(survey) if s.state == "queued").identifier
    said = Statement(cannot_tell="far", second_opinion=True)
    determine.determine(survey, one, said, by="Bo", now=NOW, new=True)
    for who in ("Bo", ""):
        found = overview_of(survey, now=NOW, for_determiner=who)
        counted = queueing.count_waiting(survey, now=NOW, for_determiner=who)
        assert found.waiting_for_you == counted == found.waiting - bool(who)


def test_odd_days_and_odd_names_are_found_without_reading_every_row(survey: Survey):
    """Against the rows read whole, with one of each kind planted."""
    first, second = [row.identifier for row in sightings.every(survey)][:2]
    plant = survey.connection.execute
    plant("update sightings set event_date = '1026-06-01' where identifier = ?", (first,))
    plant(
        "update sightings set event_date = '2026-06-01/2926-06-02' where identifier = ?", (second,)
    )
    odd = {one.record for one in audit.dated_outside(survey, "1826", "2027-01-01")}
    assert odd == {f"sighting {first}", f"sighting {second}"}
    plant("update lots set scientific_name = 'Nymphula nowhere' where catalog_number = 'EX-0001'")
    whole = resolve_lots(evidence.lots(survey), evidence.checklist(survey))[1]
    assert [one.value for one in whole] == ["Nymphula nowhere"]
    assert tables.unresolved_lots(survey) == whole


def test_the_lots_of_one_water_are_those_of_all(survey: Survey):
    every = tables.counted_lots(survey)
    assert every
    for site in evidence.sites(survey):
        here = [lot for lot in every if lot.location_id == site.location_id]
        assert tables.counted_lots(survey, at=[site.location_id]) == here
    survey.connection.execute("update lots set location_id = ''")
    placed = {lot.location_id for lot in tables.counted_lots(survey)} - {""}
    assert placed
    for name in placed:
        here = [lot for lot in tables.counted_lots(survey) if lot.location_id == name]
        assert tables.counted_lots(survey, at=[name]) == here


def test_a_sighting_that_an_export_fixes_is_not_looked_at_again(survey: Survey):
    determine_some(survey, DEMO / "truth.csv", now=NOW, every=2)
    match.match(survey)
    sites.renew_table(survey)
    queueing.bring_up_to_date(survey, now=NOW)
    free = [row.identifier for row in sightings.every(survey) if not row.frozen_at]
    assert free
    publish.note_out(survey, free, now=NOW)
    assert all(row.frozen_at for row in sightings.every(survey))
    assert [derived_rules.due(survey, table) for table in derived_rules.DUE] == [[], [], []]
    survey.connection.execute("update sightings set event_date = '2026-07-07'")
    due = {derived_rules.count_due(survey, table) for table in derived_rules.DUE}
    assert due == {len(sightings.every(survey))}
