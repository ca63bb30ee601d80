"""The command line: exit codes, one JSON document, errors that say what to do, tables and pages."""

from __future__ import annotations

import codecs
import csv
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest
from tests_support import DEMO

from triage.cli import main
from triage.cli.intake import QUESTIONS
from triage.cli.reviewing import why_empty
from triage.replies.drafting import Question
from triage.store.connection import create_survey


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    folder = tmp_path / "survey"
    create_survey(folder, title="Linnet Water Survey")
    return folder


def shown(capsys: pytest.CaptureFixture[str]) -> str:
    return capsys.readouterr().out


def test_without_a_survey_the_message_names_folder_and_next_step(tmp_path: Path, capsys):
    assert main(["queue", "--survey", str(tmp_path)]) == 1
    message = capsys.readouterr().err
    assert str(tmp_path) in message
    assert "triage init" in message


def test_a_missing_source_is_named(empty: Path, capsys):
    assert main(["receive", "nowhere.mbox", "--survey", str(empty)]) == 1
    assert "nowhere.mbox" in capsys.readouterr().err


def test_a_mistyped_command_ends_with_2(capsys):
    assert main(["quueue"]) == 2
    assert "quueue" in capsys.readouterr().err


def test_the_current_folder_is_the_survey(empty: Path, capsys, monkeypatch):
    monkeypatch.chdir(empty)
    assert main(["inbox"]) == 0
    assert "The inbox is clear" in shown(capsys)


def test_a_new_survey_says_where_it_is_and_what_comes_next(tmp_path: Path, capsys, monkeypatch):
    here, other = tmp_path / "here", tmp_path / "my surveys" / "linnet"
    here.mkdir()
    monkeypatch.chdir(here)
    assert main(["init"]) == 0
    told = capsys.readouterr()
    assert told.out.startswith(f"{here}: survey made")
    assert "'triage sites FILE'" in told.err
    assert main(["init", "--survey", str(other)]) == 0
    assert f"--survey '{other}'" in capsys.readouterr().err
    assert main(["init"]) == 0
    assert f"{here}: already a survey" in shown(capsys)


def test_a_split_is_answered_by_what_it_made(walked: Path, capsys):
    def sightings(*words: str) -> dict[str, set[str]]:
        assert main(["sightings", *words, "--survey", str(walked), "--json"]) == 0
        return {one["identifier"]: set(one["photos"]) for one in json.loads(shown(capsys))}

    whole, photos = next((k, v) for k, v in sightings().items() if len(v) > 1)
    apart = sorted(photos)[0]
    made = sightings("split", whole, apart)
    assert sorted(map(sorted, made.values())) == sorted([[apart], sorted(photos - {apart})])
    assert list(sightings("merge", *made).values()) == [photos]
    aside = next(iter(sightings()))
    assert list(sightings("set-aside", aside)) == [aside]
    assert len(sightings("list")) > 1


def test_a_withdrawn_site_says_what_is_left_of_it(walked: Path, capsys):
    assert main(["sites", "--withdraw", "LNT-02", "--survey", str(walked)]) == 0
    told = capsys.readouterr()
    assert "LNT-02 withdrawn" in told.out
    assert "8 visits and lots of it are kept" in told.err  # three visits with five lots


def test_a_table_asked_for_in_a_new_folder_is_written_there(walked: Path, tmp_path: Path, capsys):
    table = tmp_path / "new" / "folder" / "queue.csv"
    assert main(["queue", "--csv", str(table), "--survey", str(walked)]) == 0
    assert table.exists()
    assert str(table) in capsys.readouterr().err


@pytest.mark.parametrize(
    "command",
    ["inbox", "replies", "people", "sightings", "queue", "match", "log", "audit", "sites"],
)
def test_json_is_one_document_and_nothing_else(command: str, walked: Path, capsys):
    assert main([command, "--json", "--survey", str(walked)]) == 0
    json.loads(shown(capsys))


def test_a_whole_walk_from_the_command_line(tmp_path: Path, small_inbox: Path, capsys):
    folder = str(tmp_path / "survey")
    assert main(["init", "--survey", folder, "--title", "Linnet"]) == 0
    for noun in ("sites", "visits", "lots", "checklist"):
        assert main([noun, str(DEMO / f"{noun}.csv"), "--survey", folder]) == 0
    capsys.readouterr()
    code = main(["run", str(small_inbox), "--survey", folder, "--json", "--processes", "1"])
    assert code == 0
    ranked = json.loads(shown(capsys))
    assert [row["position"] for row in ranked] == list(range(1, len(ranked) + 1))
    first = ranked[0]["sighting"]
    table = tmp_path / "queue.csv"
    assert main(["queue", "--survey", folder, "--csv", str(table)]) == 0
    assert table.read_bytes().startswith(codecs.BOM_UTF8)  # it is filled in with a spreadsheet
    with table.open(encoding="utf-8-sig", newline="") as file:
        assert next(row["sighting"] for row in csv.DictReader(file)) == first
    done = ["determine", first[:10], "Libellula", "--by", "Ida Kvist", "--new", "--survey", folder]
    assert main(done) == 0
    assert "determined: Libellula" in shown(capsys)
    assert main(["match", "--survey", folder]) == 0
    assert main(["export", "--to", str(tmp_path / "out"), "--survey", folder]) == 0
    assert (tmp_path / "out" / "darwin-core-archive.zip").exists()
    capsys.readouterr()
    taking = ["undo", "--survey", folder, "--by", "Ida Kvist"]
    for _ in range(2):  # saying it changes nothing
        assert main([*taking, "--show"]) == 0
        assert re.match(r"would take back: \d+ determine by Ida Kvist: .*Libellula", shown(capsys))
    assert main(taking) == 0
    assert re.match(r"takes back: \d+ determine by Ida Kvist: .*Libellula", shown(capsys))
    assert main([*taking, "--show"]) == 1
    assert "no such action to take back" in capsys.readouterr().err
    assert main(["audit", "--survey", folder]) == 0


def test_a_determination_without_a_determiner_is_refused(walked: Path, capsys):
    assert main(["determine", "00", "Aeshna", "--survey", str(walked)]) == 1
    assert '--by "YOUR NAME"' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("sex", "told"), [("w", "may mean weiblich"), ("Femal", "Did you mean female?")]
)
def test_a_sex_that_is_not_plain_is_asked_about_and_nothing_recorded(
    sex: str, told: str, walked: Path, capsys
):
    main(["queue", "--survey", str(walked), "--json"])
    first = json.loads(shown(capsys))[0]["sighting"]
    given = [first, "Anax", "--by", "Ida Kvist", "--new", "--sex", sex, "--survey", str(walked)]
    assert main(["determine", *given]) == 2
    message = capsys.readouterr().err
    assert told in message
    assert "Value error" not in message
    main(["queue", "--survey", str(walked), "--json"])
    assert json.loads(shown(capsys))[0]["sighting"] == first


def test_what_is_kept_back_is_told_beside_the_evidence(walked: Path, capsys):
    assert main(["evidence", "--survey", str(walked)]) == 0
    said = capsys.readouterr().err
    assert re.search(r"Not in this table, as in an export: \d+ ", said)
    assert "--internal" in said
    assert main(["evidence", "--internal", "--survey", str(walked)]) == 0
    assert "Not in this table" not in capsys.readouterr().err


def test_determinations_from_a_table_and_again(walked: Path, tmp_path: Path, capsys):
    main(["queue", "--json", "--survey", str(walked)])
    names = [row["sighting"] for row in json.loads(shown(capsys))][:3]
    table = tmp_path / "determinations.csv"
    rows = [
        "sighting,scientificName,identifiedBy,cannotTell",
        f"{names[0]},Aeshna,Ida Kvist,",
        f"{names[1]},,Ida Kvist,wings folded",
        f"{names[2]},Nosuchia nulla,Ida Kvist,",
    ]
    table.write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert main(["determine", "--from", str(table), "--new", "--survey", str(walked)]) == 0
    text = shown(capsys)
    assert "2 new" in text
    assert "line 4" in text
    assert main(["determine", "--from", str(table), "--survey", str(walked)]) == 0
    assert "0 new" in shown(capsys)


def test_explain_accounts_for_every_part(walked: Path, capsys):
    main(["inbox", "--json", "--survey", str(walked)])
    identifier = json.loads(shown(capsys))[0]["message"]["identifier"]
    assert main(["receive", "--explain", identifier, "--survey", str(walked)]) == 0
    lines = shown(capsys).splitlines()
    assert lines[0].startswith(f"message {identifier[:12]}")
    assert any(line.startswith("  from: ") for line in lines)
    assert any("taken in: a picture" in line for line in lines)


def test_an_export_says_which_records_fail_which_published_test(walked: Path, tmp_path, capsys):
    assert main(["export", "--to", str(tmp_path / "out"), "--survey", str(walked)]) == 0
    lines = shown(capsys).splitlines()
    failing = next(line for line in lines if "VALIDATION_LICENCE_NOTEMPTY" in line)
    assert re.search(r" and \d+ more\. .*survey\.toml", failing)


def test_loose_photos_are_measured_and_grouped_without_a_survey(tmp_path: Path, capsys):
    photos = tmp_path / "photos"
    shutil.copytree(DEMO / "photos", photos)
    first = sorted(photos.iterdir())[0]
    shutil.copyfile(first, photos / f"again{first.suffix}")
    (photos / "broken.jpg").write_bytes(b"\xff\xd8\xff broken")
    table = tmp_path / "measured.csv"
    assert main(["measure", str(photos), "--csv", str(table), "--processes", "1"]) == 0
    with table.open(encoding="utf-8", newline="") as file:
        rows = {row["file"]: row for row in csv.DictReader(file)}
    assert rows["broken.jpg"]["problem"]
    assert not rows[first.name]["problem"]
    assert len(rows[first.name]["phash"]) == 64
    capsys.readouterr()
    assert main(["copies", str(photos), "--json"]) == 0
    groups = json.loads(shown(capsys))["groups"]
    assert main(["measure", str(photos / "broken.jpg"), str(first), "--processes", "1"]) == 0
    told = shown(capsys).splitlines()
    assert any("broken.jpg: " in line for line in told)
    assert any(re.search(r": odonate [\d.]+, (Anisoptera|Zygoptera), \w+, focus", x) for x in told)
    assert {first.name, f"again{first.suffix}"} in [set(group["files"]) for group in groups]


def test_the_queue_page_holds_its_pictures_and_asks_for_nothing(walked: Path, tmp_path: Path):
    page = tmp_path / "queue.html"
    assert main(["queue", "--survey", str(walked), "--html", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    assert "data:image/jpeg;base64," in text
    assert "default-src 'none'" in text
    assert "http://" not in text
    assert "https://" not in text


def test_the_installed_command_runs():
    done = subprocess.run(
        [sys.executable, "-c", "from triage.cli import entry_point; entry_point()", "--help"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert "Usage: triage" in done.stdout.replace("-c", "triage")


def test_the_version_is_told(capsys):
    assert main(["--version"]) == 0
    assert re.fullmatch(r"triage \d+\.\d+\.\d+\n", shown(capsys))


@pytest.mark.parametrize("retired", ["priorities", "measurements"])
def test_a_renamed_command_has_only_its_new_name(retired: str, capsys):
    assert main([retired, "--help"]) == 2
    assert retired in capsys.readouterr().err


@pytest.mark.parametrize(
    ("states", "determiner", "told"),
    [
        ([], "", "No sightings yet"),
        ([], "Ida Kvist", "No sightings yet"),
        (["queued"], "Ida Kvist", "Nothing is left for Ida Kvist"),
        (["determined", "set aside", "determined"], "", "2 determined, 1 set aside"),
    ],
)
def test_an_empty_queue_says_why(states: list[str], determiner: str, told: str):
    assert told in why_empty(states, determiner)


def test_the_queue_of_a_new_survey_says_that_there_are_no_sightings(empty: Path, capsys):
    assert main(["queue", "--survey", str(empty)]) == 0
    assert "No sightings yet" in shown(capsys)


def test_every_question_that_can_be_asked_is_in_the_help():
    assert set(QUESTIONS) == set(get_args(Question))


@pytest.mark.parametrize(
    ("command", "told"),
    [
        ("sites", "No site is imported yet: 'triage sites"),
        ("match", "No sighting is matched"),
        ("people", "Nobody has written"),
        ("sightings", "No sightings yet: 'triage run MAIL'"),
        ("log", "Nothing has been done"),
        ("inbox", "no message is open or waiting"),
        ("replies", "No question has been drafted: 'triage settle"),
        ("where-next", "No place stands out"),
        ("evidence", "No site has a determined adult"),
    ],
)
def test_a_new_survey_says_what_is_not_there_yet(command: str, told: str, empty: Path, capsys):
    assert main([command, "--survey", str(empty)]) == 0
    text = shown(capsys)
    assert told in text
    assert len(text.splitlines()) == 1
