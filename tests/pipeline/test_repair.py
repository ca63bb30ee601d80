"""Damage is planted in a finished survey; repair mends it from mail, a copy, or computing anew."""

from __future__ import annotations

import errno
import shutil
import sqlite3
import threading
from pathlib import Path

import pytest
from tests_support import NOW

from triage.cli import main
from triage.errors import SourceError, SurveyError
from triage.pipeline import audit, backup, persons, receive, repair
from triage.store import damaged, originals, people, turns
from triage.store.connection import Survey, open_survey
from triage.store.dump import canonical_dump


def kept(folder: Path, where: str) -> list[Path]:
    return sorted(path for path in (folder / where).glob("??/*") if path.is_file())


def dump(folder: Path) -> list[str]:
    with open_survey(folder) as survey:
        assert audit.check(survey, now=NOW).damage == ()
        return list(canonical_dump(survey))


def mend(folder: Path, *copies: Path) -> repair.RepairOutcome:
    with open_survey(folder) as survey:
        return repair.repair(survey, copies, now=NOW, processes=0)


def deleted(path: Path) -> None:
    path.chmod(0o600)
    path.unlink()


def flipped(path: Path) -> None:
    path.chmod(0o600)
    content = path.read_bytes()
    path.write_bytes(bytes([content[0] ^ 1]) + content[1:])


def linked(path: Path) -> None:
    """A link that leads nowhere: every try to read it fails, as on a disk that fails."""
    deleted(path)
    path.symlink_to(path.with_name("nowhere"))


DAMAGE = {
    "deleted": deleted,
    "a link to nowhere": linked,
    "flipped": flipped,
    "renamed": lambda path: path.rename(path.with_name("holiday.jpg")),
    "another ending": lambda path: path.rename(path.with_suffix(".jpeg")),
    "on another shelf": lambda path: path.rename(
        next(p for p in path.parent.parent.iterdir() if p != path.parent) / path.name
    ),
}


@pytest.mark.parametrize("name", DAMAGE)
def test_an_original_comes_back_from_the_mail_that_brought_it(name: str, walked: Path):
    before = dump(walked)
    path = kept(walked, "originals")[0]
    content = path.read_bytes()
    DAMAGE[name](path)
    outcome = mend(walked)
    assert outcome.damage == ()
    assert any(line.startswith("originals: ") for line in outcome.mended)
    with open_survey(walked) as survey:
        assert originals.content_of(survey.originals, path.stem) == content
    assert dump(walked) == before
    if name == "flipped":
        (aside,) = (walked / "originals" / "damaged").iterdir()
        assert len(aside.read_bytes()) == len(content)
    assert not [line for line in mend(walked).mended if "originals" in line]


def test_a_file_that_the_disk_no_longer_gives_is_named_and_replaced(walked: Path, monkeypatch):
    path = kept(walked, "originals")[0]
    read = audit.digest_of_file

    def failing(file: Path) -> str:
        if file == path and file.read_bytes() == content:
            raise OSError(errno.EIO, "Input/output error")
        return read(file)

    content = b"on a bad place of the disk"
    flipped(path)
    path.write_bytes(content)
    for module in (audit, damaged):
        monkeypatch.setattr(module, "digest_of_file", failing)
    with open_survey(walked) as survey:
        (damage,) = audit.check(survey, now=NOW).damage
    assert f"{path.name} cannot be read: Input/output error (of message" in damage
    assert mend(walked).damage == ()


@pytest.mark.parametrize("packed", [False, True])
def test_a_raw_mail_comes_back_from_a_copy_or_a_backup(packed: bool, walked: Path, tmp_path: Path):
    copy = tmp_path / "copy"
    if packed:
        copy = tmp_path / "copy.zip"
        with open_survey(walked) as survey:
            backup.back_up(survey, copy, now=NOW)
    else:
        shutil.copytree(walked, copy)
    before = dump(walked)
    for path in kept(walked, "messages"):
        deleted(path)
    deleted(kept(walked, "originals")[0])
    deleted(walked / "survey.toml")
    told = mend(walked)
    assert len(told.damage) > 1  # without a copy this cannot be mended, and repair says so
    assert mend(walked, copy).damage == ()
    assert dump(walked) == before


def test_a_copy_that_is_not_there_is_named(survey: Survey, tmp_path: Path):
    with pytest.raises(SourceError, match="nothing at this path"):
        repair.repair(survey, [tmp_path / "gone"], now=NOW)


@pytest.mark.parametrize(
    "sql",
    [
        "delete from measurements",
        "delete from photo_links",
        "delete from photo_groups",
        "delete from matches",
        "delete from queue_order",
    ],
)
def test_what_is_computed_is_computed_anew(sql: str, walked: Path):
    before = dump(walked)
    connection = sqlite3.connect(walked / "survey.db")
    connection.execute(sql)
    connection.commit()
    connection.close()
    shutil.rmtree(walked / "previews")
    assert mend(walked).damage == ()
    assert dump(walked) == before
    assert kept(walked, "previews")


def left_by_a_killed_run(folder: Path) -> list[Path]:
    shelf = folder / "messages" / "ab"
    shelf.mkdir(exist_ok=True)
    paths = [shelf / f".{'ab' * 32}.1.1.part", folder / "originals" / ".half.part"]
    for path in paths:
        path.write_bytes(b"From: ada@example.org")
    return paths


def test_halves_of_killed_runs_are_named_and_removed(walked: Path):
    paths = left_by_a_killed_run(walked)
    assert sorted(mend(walked).cleared) == sorted(map(str, paths))
    assert not any(path.exists() for path in paths)


def test_forgetting_a_person_reaches_the_halves_of_killed_runs(survey: Survey):
    paths = left_by_a_killed_run(survey.folder)
    persons.forget(survey, people.all_people(survey)[0].code, now=NOW)
    assert not any(path.exists() for path in paths)


def test_forgetting_reaches_what_repair_moved_aside(survey: Survey):
    path = kept(survey.folder, "messages")[0]
    originals.set_aside(path, survey.messages)
    originals.remove(survey.messages, path.stem)
    assert not list((survey.messages / "damaged").iterdir())


def test_the_command_says_what_it_did_and_what_is_left(walked: Path, capsys):
    deleted(kept(walked, "messages")[0])
    assert main(["repair", "--survey", str(walked), "--processes", "1"]) == 1
    assert "Still damaged: messages: the file of" in capsys.readouterr().out


def test_a_second_receive_waits_for_its_turn_and_says_so(survey: Survey, small_inbox: Path):
    told: list[str] = []
    begun, waiting = threading.Event(), threading.Event()

    def other() -> None:
        with open_survey(survey.folder) as again, turns.turn(again):
            begun.set()
            waiting.wait()
            told.append("done")

    def progress(what: str, *_: object) -> None:
        told.append(what)
        waiting.set()

    thread = threading.Thread(target=other, daemon=True)
    thread.start()
    begun.wait()
    receive.take_in(survey, [small_inbox], now=NOW, progress=progress)
    thread.join()
    assert told[0] == "waiting for another command at this survey"
    assert told.index("done") < told.index("receiving")


def test_whoever_waits_too_long_is_told_what_to_do(survey: Survey):
    with (
        open_survey(survey.folder) as other,
        turns.turn(other),
        pytest.raises(SurveyError, match="another command is at work"),
        turns.turn(survey, patience=0),
    ):
        pass
    with turns.turn(survey, patience=0):
        pass
