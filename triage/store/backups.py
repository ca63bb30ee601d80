"""Copy the database of an open survey, write the zip file of a backup, check it and restore it.

What such a file may hold lies inside a survey's folder; restoring needs no open survey.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import shutil
import sqlite3
import stat
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from triage.errors import SourceError, SurveyError, TriageError
from triage.standards.counting import counted
from triage.store import notes, whole_files
from triage.store.actions import utc_text
from triage.store.connection import DATABASE, FOLDERS, SETTINGS, Survey
from triage.workers.progress import Progress, silent

_NOTE = "newest backup"


def copy_database(survey: Survey, copy: Path) -> bool:
    """Copy the database through SQLite's backup interface; tell whether the copy is whole."""
    copy.unlink(missing_ok=True)
    with closing(sqlite3.connect(copy)) as target:
        survey.connection.backup(target)
        target.execute("pragma journal_mode = delete")
        return bool(target.execute("pragma integrity_check").fetchone()[0] == "ok")


@contextmanager
def opened_copy(survey: Survey, copy: Path) -> Iterator[Survey]:
    """The survey as the copied database has it, with the files of the one at work."""
    with closing(sqlite3.connect(copy)) as connection:
        connection.row_factory = sqlite3.Row
        yield Survey(survey.folder, connection, survey.settings)


def note(survey: Survey, moment: datetime) -> None:
    """Note when the survey was backed up."""
    notes.write(survey, _NOTE, utc_text(moment))


def newest(survey: Survey) -> datetime | None:
    """When the survey was last backed up, or None."""
    noted = notes.read(survey, _NOTE)
    return datetime.fromisoformat(noted) if noted else None


MANIFEST = "backup.json"
_STEP = 1024 * 1024
# What may stand in a backup: nothing that could be written outside the survey's folder.
NAME = re.compile(
    rf"{re.escape(DATABASE)}|{re.escape(SETTINGS)}|replies/[A-Za-z0-9_-]{{1,80}}\.eml"
    r"|(?:originals|messages)/[0-9a-f]{2}/[0-9a-f]{64}\.[a-z]{3,4}"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupOutcome:
    """What was copied: files besides the database, bytes in all; what was missing already."""

    path: Path
    files: int
    byte_size: int
    missing: tuple[str, ...] = ()

    @property
    def lines(self) -> list[str]:
        """The same for people."""
        return [
            f"{self.path}: {counted(self.files, 'file')} and the database,"
            f" {self.byte_size / 1e6:.1f} MB, read back and found whole.",
            *(f"Missing in the survey already: {text}" for text in self.missing),
        ]


def restore(source: Path, folder: Path, *, progress: Progress = silent) -> BackupOutcome:
    """Make a survey folder of a backup; every file is checked before the folder has its name.

    Raises
    ------
    SurveyError
        If the folder is there already.
    SourceError
        If the file is no backup, or is damaged.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise SurveyError(
            "there is something in this folder already",
            failing=str(folder),
            next_step="Name a new folder with --survey: a backup never replaces a survey.",
        )
    part = folder.with_name(folder.name + ".part")
    try:
        with zipfile.ZipFile(source) as archive:
            digests = _manifest(archive, source)
            for done, (name, digest) in enumerate(digests.items(), 1):
                _take_out(archive, name, digest, part, source)
                progress("restoring", done, len(digests))
        for name in FOLDERS:
            (part / name).mkdir(exist_ok=True)
        if folder.exists():
            folder.rmdir()
        os.replace(part, folder)
    except TriageError:
        raise
    except Exception as error:  # zipfile and what unpacks for it raise many kinds
        raise _no_backup(source, getattr(error, "strerror", None) or str(error)) from error
    finally:
        if part.exists():
            # Windows removes no read-only files by itself.
            shutil.rmtree(part, onerror=lambda _, path, __: whole_files.discard(Path(path)))
    return BackupOutcome(path=folder, files=len(digests) - 1, byte_size=source.stat().st_size)


def write(
    part: Path, files: Mapping[str, Path], *, now: datetime, progress: Progress
) -> dict[str, str]:
    """Write these files under their names, with a list of them; returns their digests."""
    digests = {}
    with zipfile.ZipFile(part, "w", zipfile.ZIP_STORED) as archive:
        for done, (name, path) in enumerate(files.items(), 1):
            with path.open("rb") as source, archive.open(name, "w", force_zip64=True) as entry:
                digests[name] = _copied(source, entry)
            progress("copying", done, len(files))
        manifest = {"made_at": utc_text(now), "sha256": digests}
        archive.writestr(MANIFEST, json.dumps(manifest, indent=1))
    whole_files.flush(part)
    return digests


def _copied(source: IO[bytes], target: IO[bytes]) -> str:
    digest = hashlib.sha256()
    while step := source.read(_STEP):
        digest.update(step)
        target.write(step)
    return digest.hexdigest()


def check(part: Path, digests: Mapping[str, str], *, progress: Progress) -> None:
    """Read every file of a backup back.

    Raises
    ------
    SourceError
        If one is not as it was written.
    """
    with zipfile.ZipFile(part) as archive:
        for done, (name, digest) in enumerate(digests.items(), 1):
            with archive.open(name) as entry:
                if hashlib.file_digest(entry, "sha256").hexdigest() != digest:  # type: ignore[arg-type]
                    raise _no_backup(part, f"{name} does not read back as it was written")
            progress("checking the backup", done, len(digests))


def _manifest(archive: zipfile.ZipFile, source: Path) -> dict[str, str]:
    try:
        digests = json.loads(archive.read(MANIFEST))["sha256"]
        sound = DATABASE in digests and all(NAME.fullmatch(name) for name in digests)
    except (KeyError, ValueError, TypeError) as error:
        raise _no_backup(source, "it holds no list of its files") from error
    if not sound:
        raise _no_backup(source, "it names files that no survey has")
    return {str(name): str(digest) for name, digest in digests.items()}


def _take_out(archive: zipfile.ZipFile, name: str, digest: str, part: Path, source: Path) -> None:
    path = part / name
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with archive.open(name) as entry, path.open("wb") as target:
            sound = _copied(entry, target) == digest
    except KeyError:
        sound = False
    if not sound:
        raise _no_backup(source, f"{name} is not what was backed up")
    if name.startswith(("originals/", "messages/")):
        with contextlib.suppress(OSError):
            path.chmod(stat.S_IRUSR)


def _no_backup(source: Path, why: str) -> SourceError:
    return SourceError(
        f"this is not a sound backup of a survey: {why}",
        failing=str(source),
        next_step="Take another backup; nothing was restored.",
    )
