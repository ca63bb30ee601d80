"""Damage is found and named; work not yet done is none."""

from __future__ import annotations

from pathlib import Path

from tests_support import NOW

from triage.cli import main
from triage.determinations import Statement
from triage.pipeline import audit, determine, receive, repair, standing, tables, undo
from triage.store import originals
from triage.store.connection import Survey, create_survey, open_survey


def test_a_whole_survey_has_no_damage(survey: Survey):
    outcome = audit.check(survey, now=NOW)
    assert outcome.damage == ()
    assert outcome.messages == 14
    assert any("open" in line for line in outcome.not_done)


def test_a_changed_original_is_damage_and_its_owner_is_named(survey: Survey):
    path = next(iter(originals.all_digests(survey.originals).values()))
    path.chmod(0o600)
    path.write_bytes(path.read_bytes()[:-1])
    (damage,) = audit.check(survey, now=NOW).damage
    assert "is not what was kept (of message " in damage


def test_a_missing_message_is_damage(survey: Survey):
    path = next(iter(originals.all_digests(survey.messages).values()))
    path.unlink()
    (damage,) = audit.check(survey, now=NOW).damage
    assert damage.startswith("messages: the file of message ")


def test_a_row_that_names_nothing_is_damage(survey: Survey):
    survey.connection.execute("pragma foreign_keys = off")
    survey.connection.execute(
        "update parts set message_id = 999 where id = (select max(id) from parts)"
    )
    assert any("names a missing messages" in line for line in audit.check(survey, now=NOW).damage)


def test_a_part_without_account_is_damage(survey: Survey):
    survey.connection.execute("update parts set sha256 = null where outcome = 'taken in'")
    assert any("nothing kept" in line for line in audit.check(survey, now=NOW).damage)


def test_work_not_done_is_no_damage(small_inbox: Path, tmp_path: Path):
    create_survey(tmp_path / "new")
    with open_survey(tmp_path / "new") as survey:
        receive.take_in(survey, [small_inbox], now=NOW)
        outcome = audit.check(survey, now=NOW)
    assert outcome.damage == ()
    assert any("not examined yet" in line for line in outcome.not_done)


def test_what_a_killed_write_left_is_named_and_repair_removes_it(survey: Survey):
    half = survey.messages / "ab" / f".{'ab' * 32}.1.1.part"
    half.parent.mkdir(exist_ok=True)
    half.write_bytes(b"From: ada@example.org")
    assert any("1 half-written file" in line for line in audit.check(survey, now=NOW).not_done)
    repair.clear_leftovers(survey)
    assert not half.exists()
    assert not any("half-written" in line for line in audit.check(survey, now=NOW).not_done)


def test_a_lot_that_names_an_unknown_visit_is_listed_with_what_to_do(survey: Survey):
    assert not any("eventID" in line for line in audit.check(survey, now=NOW).not_done)
    survey.connection.execute("update lots set event_id = 'V99' where catalog_number = 'EX-0001'")
    (line,) = (line for line in audit.check(survey, now=NOW).not_done if "eventID" in line)
    assert line.startswith("lot EX-0001, eventID V99: ")
    assert "Import the visit" in line


def test_without_a_checklist_no_lot_is_asked_for_its_name(survey: Survey):
    survey.connection.execute("update lots set scientific_name = 'Felis catus', taxon_rank = ''")
    assert any(
        "scientificName Felis catus" in line for line in audit.check(survey, now=NOW).not_done
    )
    survey.connection.execute("delete from taxa")
    assert not any("scientificName" in line for line in audit.check(survey, now=NOW).not_done)


def test_an_interrupted_write_leaves_no_half_file(tmp_path: Path):
    (tmp_path / "ab").mkdir()
    (tmp_path / "ab" / ".abcd.77.part").write_bytes(b"half")
    assert originals.all_digests(tmp_path) == {}


def test_the_command_ends_with_1_on_damage_and_0_otherwise(walked: Path, capsys):
    assert main(["audit", "--survey", str(walked)]) == 0
    path = next(iter(originals.all_digests(walked / "originals").values()))
    path.unlink()
    assert main(["audit", "--survey", str(walked)]) == 1
    assert "Damaged: originals: the file of message" in capsys.readouterr().out


def test_receiving_the_same_mail_again_puts_back_what_was_lost(survey: Survey, small_inbox: Path):
    for folder in (survey.messages, survey.originals):
        for path in list(originals.all_digests(folder).values()):
            path.chmod(0o600)
            path.unlink()
    assert len(audit.check(survey, now=NOW).damage) > 20
    outcome = receive.take_in(survey, [small_inbox], now=NOW)
    assert (outcome.received, outcome.known_before) == (0, 14)
    assert audit.check(survey, now=NOW).damage == ()


def test_a_sighting_under_a_name_that_left_the_checklist_is_listed(survey: Survey, tmp_path: Path):
    table = tmp_path / "more.csv"
    table.write_text("scientificName,taxonRank,family\nAeshna affinis,species,Aeshnidae\n")
    tables.import_table(survey, "checklist", table, by="Bo", now=NOW)
    one, other = [one.identifier for one in standing.sightings(survey)][:2]
    for sighting in (one, other):
        said = Statement(taxon="Aeshna affinis")
        determine.determine(survey, sighting, said, by="Ida", now=NOW, new=True)
    determine.determine(survey, other, Statement(taxon="Aeshna"), by="Ida", now=NOW)
    assert audit.off_the_checklist(survey) == []
    undo.undo(survey, by="Bo", now=NOW)
    told = [line for line in audit.check(survey, now=NOW).not_done if "Aeshna affinis" in line]
    assert [line.startswith(f"sighting {one}, scientificName") for line in told] == [True]
    (need,) = (one for one in audit.record_needs(survey, now=NOW) if one.kind == "unresolved name")
    assert need.record == f"sighting {one}"
    assert "name the sighting anew" in need.fix
