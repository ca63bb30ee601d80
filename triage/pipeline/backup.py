"""Back up a survey in use as one zip file, read back and checked; make a survey of one again.

The database is copied through SQLite's own backup interface, so that the copy is of one moment
whatever is written meanwhile. Kept files are written before the rows that name them: those that the
copied rows name are there. Previews are left out, they are made anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import shutil
import stat
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import IO

from triage.errors import SourceError, SurveyError, TriageError
from triage.pipeline.progress import Progress, silent
from triage.store import audit, backups, forgetting, originals, whole_files
from triage.store.actions import utc_text
from triage.store.connection import DATABASE, FOLDERS, SETTINGS, Survey

MANIFEST = "backup.json"
REMINDED_AFTER = timedelta(days=7)
_STEP = 1024 * 1024
# What may stand in a backup: nothing that could be written outside the survey's folder.
_NAME = re.compile(
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


def back_up(
    survey: Survey, target: Path, *, now: datetime, progress: Progress = silent
) -> BackupOutcome:
    """Write the survey into one zip file, read it back, and only then give it its name.

    Raises
    ------
    SourceError
        If the file cannot be written, or does not read back as it was written.
    """
    copy = target.with_name(target.name + ".db.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        if not backups.copy_database(survey, copy):
            raise SurveyError(
                "the database is damaged, and a backup of it would be too",
                failing=str(survey.folder / DATABASE),
                next_step="See 'triage audit'; restore the newest sound backup.",
            )
        files, missing = _files_of(survey, copy)
        with whole_files.written(target) as part:
            digests = _write(part, copy, files, now, progress)
            _check(part, digests, progress)
    except OSError as error:
        raise SourceError(
            f"the backup cannot be written ({error.strerror or error})",
            failing=str(target),
            next_step="Choose another place with more room; nothing of the survey was changed.",
        ) from error
    finally:
        copy.unlink(missing_ok=True)
    backups.note(survey, now)
    return BackupOutcome(
        path=target,
        files=len(files),
        byte_size=target.stat().st_size,
        missing=tuple(missing),
    )


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
            shutil.rmtree(part, onerror=_made_writable)
    return BackupOutcome(path=folder, files=len(digests) - 1, byte_size=source.stat().st_size)


def reminder(survey: Survey, *, now: datetime) -> list[str]:
    """A line if there is no backup newer than a week, or the newest holds who was forgotten."""
    newest = backups.newest(survey)
    advice = "'triage backup --to FILE.zip' makes one"
    if newest is None:
        return [f"there is no backup of this survey yet; {advice}"]
    forgotten = forgetting.since_backup(survey)
    held = [
        f"the newest backup still holds {forgotten} person(s) who were forgotten since; make a new"
        " one and delete the older"
    ]
    age = now - newest
    old = [f"the newest backup is {age.days} days old; {advice}"] if age > REMINDED_AFTER else []
    return [*(held if forgotten else []), *old]


def _files_of(survey: Survey, copy: Path) -> tuple[dict[str, Path], list[str]]:
    """The files that the copied rows name, by their place in the survey, and those missing."""
    with backups.opened_copy(survey, copy) as frozen:
        wanted = [(survey.originals, digest) for digest in audit.kept_digests(frozen)]
        wanted += [(survey.messages, digest) for digest in audit.raw_digests(frozen)]
    files = {SETTINGS: survey.folder / SETTINGS} if (survey.folder / SETTINGS).exists() else {}
    missing = []
    for folder, digest in wanted:
        path = originals.path_of(folder, digest)
        if path is None:
            missing.append(f"{folder.name}: {digest[:12]}")
        else:
            files[path.relative_to(survey.folder).as_posix()] = path
    for path in survey.replies.glob("*.eml"):
        files[f"replies/{path.name}"] = path
    return {name: path for name, path in files.items() if _NAME.fullmatch(name)}, missing


def _write(
    part: Path, copy: Path, files: dict[str, Path], now: datetime, progress: Progress
) -> dict[str, str]:
    digests = {}
    with zipfile.ZipFile(part, "w", zipfile.ZIP_STORED) as archive:
        for done, (name, path) in enumerate({DATABASE: copy, **files}.items(), 1):
            with path.open("rb") as source, archive.open(name, "w", force_zip64=True) as entry:
                digests[name] = _copied(source, entry)
            progress("copying", done, len(files) + 1)
        manifest = {"made_at": utc_text(now), "sha256": digests}
        archive.writestr(MANIFEST, json.dumps(manifest, indent=1))
    whole_files.flush(part)
    return digests


def _copied(source: IO[bytes], target: IO[bytes] | None) -> str:
    digest = hashlib.sha256()
    for step in _steps(source):
        digest.update(step)
        if target is not None:
            target.write(step)
    return digest.hexdigest()


def _steps(source: IO[bytes]) -> Iterator[bytes]:
    while step := source.read(_STEP):
        yield step


def _check(part: Path, digests: dict[str, str], progress: Progress) -> None:
    with zipfile.ZipFile(part) as archive:
        for done, (name, digest) in enumerate(digests.items(), 1):
            with archive.open(name) as entry:
                if _copied(entry, None) != digest:
                    raise _no_backup(part, f"{name} does not read back as it was written")
            progress("checking the backup", done, len(digests))


def _manifest(archive: zipfile.ZipFile, source: Path) -> dict[str, str]:
    try:
        digests = json.loads(archive.read(MANIFEST))["sha256"]
        sound = DATABASE in digests and all(_NAME.fullmatch(name) for name in digests)
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
            path.chmod(stat.S_IRUSR | stat.S_IRGRP)


def _made_writable(remove: object, path: str, error: object) -> None:
    """Windows removes no read-only files."""
    del remove, error
    with contextlib.suppress(OSError):
        os.chmod(path, stat.S_IRUSR | stat.S_IWUSR)
        os.unlink(path)


def _no_backup(source: Path, why: str) -> SourceError:
    return SourceError(
        f"this is not a sound backup of a survey: {why}",
        failing=str(source),
        next_step="Take another backup; nothing was restored.",
    )
