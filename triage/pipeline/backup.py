"""Back up a survey in use as one zip file, read back and checked.

The database is copied through SQLite's own backup interface, so that the copy is of one moment
whatever is written meanwhile. Kept files are written before the rows that name them: those that the
copied rows name are there. Previews are left out, they are made anew.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from triage.errors import SurveyError
from triage.standards.counting import counted
from triage.store import audit, backups, forgetting, originals, whole_files
from triage.store.backups import BackupOutcome
from triage.store.connection import DATABASE, SETTINGS, Survey
from triage.workers.progress import Progress, silent

REMINDED_AFTER = timedelta(days=7)


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
        with whole_files.handed_out(target, "the backup") as part:
            if not backups.copy_database(survey, copy):
                raise SurveyError(
                    "the database is damaged, and a backup of it would be too",
                    failing=str(survey.folder / DATABASE),
                    next_step="See 'triage audit'; restore the newest sound backup.",
                )
            files, missing = _files_of(survey, copy)
            digests = backups.write(part, {DATABASE: copy, **files}, now=now, progress=progress)
            backups.check(part, digests, progress=progress)
    finally:
        copy.unlink(missing_ok=True)
    backups.note(survey, now)
    return BackupOutcome(
        path=target,
        files=len(files),
        byte_size=target.stat().st_size,
        missing=tuple(missing),
    )


def reminder(survey: Survey, *, now: datetime) -> list[str]:
    """A line if there is no backup newer than a week, or the newest holds who was forgotten."""
    newest = backups.newest(survey)
    advice = "'triage backup --to FILE.zip' makes one"
    if newest is None:
        return [f"there is no backup of this survey yet; {advice}"]
    lines = []
    if forgotten := forgetting.since_backup(survey):
        held = counted(forgotten, "person", "people")
        lines.append(
            f"the newest backup still holds {held} forgotten since; make a new one and delete the"
            " older"
        )
    if (age := now - newest) > REMINDED_AFTER:
        lines.append(f"the newest backup is {age.days} days old; {advice}")
    return lines


def _files_of(survey: Survey, copy: Path) -> tuple[dict[str, Path], list[str]]:
    """The files that the copied rows name, by their place in the survey, and those missing."""
    with backups.opened_copy(survey, copy) as frozen:
        wanted = audit.kept_digests(frozen)
    files = {SETTINGS: survey.folder / SETTINGS} if (survey.folder / SETTINGS).exists() else {}
    missing = []
    for folder, digest in ((folder, one) for folder, ones in wanted.items() for one in ones):
        path = originals.path_of(folder, digest)
        if path is None:
            missing.append(f"{folder.name}: {digest[:12]}")
        else:
            files[path.relative_to(survey.folder).as_posix()] = path
    for path in survey.replies.glob("*.eml"):
        files[f"replies/{path.name}"] = path
    return {name: path for name, path in files.items() if backups.NAME.fullmatch(name)}, missing
