"""A backup of a survey at work gives the same survey back, and a damaged one gives none."""

from __future__ import annotations

import json
import re
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
from tests_support import NOW

from triage.cli import main
from triage.errors import SourceError, SurveyError
from triage.pipeline import audit, backup
from triage.store import backups
from triage.store.connection import Survey, connect, open_survey
from triage.store.dump import canonical_dump


def dump_of(folder: Path) -> list[str]:
    with open_survey(folder) as survey:
        assert audit.check(survey, now=NOW).damage == ()
        return list(canonical_dump(survey))


def test_a_restored_survey_is_the_same_survey(walked: Path, tmp_path: Path):
    before = dump_of(walked)
    target = tmp_path / "there" / "linnet.zip"
    assert main(["backup", "--to", str(target), "--survey", str(walked)]) == 0
    assert [path.name for path in target.parent.iterdir()] == ["linnet.zip"]
    assert main(["restore", str(target), "--survey", str(tmp_path / "again")]) == 0
    assert dump_of(tmp_path / "again") == before


def test_what_another_writes_meanwhile_is_wholly_in_or_wholly_out(survey: Survey, tmp_path: Path):
    other = connect(survey.folder / "survey.db")
    other.execute("begin immediate")
    other.execute("insert into notes values ('half', 'written')")
    target = tmp_path / "a.zip"

    def commit_meanwhile(what: str, done: int, total: int | None) -> None:
        if other.in_transaction:
            other.execute("commit")

    outcome = backup.back_up(survey, target, now=NOW, progress=commit_meanwhile)
    other.close()
    assert outcome.missing == ()
    backups.restore(target, tmp_path / "again")
    with open_survey(tmp_path / "again") as again:
        assert not again.connection.execute("select 1 from notes where name = 'half'").fetchall()


def test_a_missing_file_is_said_and_the_rest_is_backed_up(survey: Survey, tmp_path: Path):
    min(path for path in survey.messages.rglob("*") if path.is_file()).unlink()
    outcome = backup.back_up(survey, tmp_path / "a.zip", now=NOW)
    assert len(outcome.missing) == 1
    assert outcome.missing[0].startswith("messages: ")


def flipped(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 0xFF
    path.write_bytes(bytes(content))


def escaping(path: Path) -> None:
    with zipfile.ZipFile(path) as archive:
        entries = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(entries["backup.json"])
    manifest["sha256"]["../outside.txt"] = "0" * 64
    entries["backup.json"] = json.dumps(manifest).encode()
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in {**entries, "../outside.txt": b"x"}.items():
            archive.writestr(name, content)


def flagged(path: Path, flags: int, database: bytes = b"survey.db") -> None:
    """Set these flags of every file in the directory of a zip (PKWARE APPNOTE 4.3.12, 4.4.4)."""
    content = re.sub(
        rb"(PK\x01\x02....)..",
        lambda found: found[1] + flags.to_bytes(2, "little"),
        path.read_bytes(),
        flags=re.DOTALL,
    )
    path.write_bytes(content.replace(b"survey.db", database))


DAMAGE = {
    "one byte": flipped,
    "cut off": lambda path: path.write_bytes(path.read_bytes()[:-2000]),
    "no zip": lambda path: path.write_bytes(b"hello"),
    "a name that is no text": lambda path: flagged(path, 0x0800, b"survey\xa4db"),
    "behind a password": lambda path: flagged(path, 0x0001),
    "another zip": lambda path: zipfile.ZipFile(path, "w").close(),
    "a file outside the folder": escaping,
    "missing": lambda path: path.unlink(),
}


@pytest.mark.parametrize("name", DAMAGE)
def test_a_damaged_backup_restores_nothing(name: str, survey: Survey, tmp_path: Path):
    target = tmp_path / "a.zip"
    backup.back_up(survey, target, now=NOW)
    DAMAGE[name](target)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(SourceError, match="not a sound backup"):
        backups.restore(target, tmp_path / "again")
    assert sorted(tmp_path.iterdir()) == before


def test_a_backup_replaces_no_survey(walked: Path, tmp_path: Path):
    with open_survey(walked) as survey:
        backup.back_up(survey, tmp_path / "a.zip", now=NOW)
    with pytest.raises(SurveyError, match="already"):
        backups.restore(tmp_path / "a.zip", walked)


def test_a_backup_that_cannot_be_written_leaves_the_older_one(
    survey: Survey, tmp_path: Path, monkeypatch
):
    target = tmp_path / "a.zip"
    backup.back_up(survey, target, now=NOW)
    older = target.read_bytes()

    def full(*_: object, **options: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backups, "write", full)
    with pytest.raises(SourceError, match="No space left"):
        backup.back_up(survey, target, now=NOW)
    assert target.read_bytes() == older
    assert [path.name for path in tmp_path.glob("a.zip*")] == ["a.zip"]


@pytest.mark.parametrize(
    ("days", "words"), [(None, "no backup"), (0, ""), (7, ""), (8, "8 days old")]
)
def test_audit_reminds_of_a_backup_after_a_week(survey: Survey, tmp_path: Path, days, words):
    if days is not None:
        backup.back_up(survey, tmp_path / "a.zip", now=NOW - timedelta(days=days))
    told = [line for line in audit.check(survey, now=NOW).not_done if "backup" in line]
    assert [words in line for line in told] == ([True] if words else [])
