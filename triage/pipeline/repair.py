"""Mend a damaged survey, as far as its own mail, a copy or computing anew can.

No original is ever deleted: a file that is not what was kept is moved to ``damaged/`` beside the
shelves, and only ``forget`` removes it there. Rows that people made are never touched; what is
computed from them is computed anew.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.errors import SourceError, TriageError
from triage.mail.message import read_message
from triage.pipeline import audit, match, queueing
from triage.pipeline.examine import examine
from triage.pipeline.persons import finish_forgetting
from triage.pipeline.receive import limits_of
from triage.standards.digests import digest_of
from triage.store import audit as kept_rows
from triage.store import derived_rules, originals, previews, shape, sightings, turns, unfinished
from triage.store.connection import SETTINGS, Survey
from triage.store.damaged import digest_of_kept, files_of_copy, kind_of
from triage.workers.progress import Progress, silent


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairOutcome:
    """What was mended and cleared away, a sentence each, and what audit still calls damaged."""

    mended: tuple[str, ...]
    cleared: tuple[str, ...]
    damage: tuple[str, ...]

    @property
    def lines(self) -> list[str]:
        """The same for people."""
        return [
            *(f"Removed, left by an interrupted run: {text}" for text in self.cleared),
            *(f"Mended: {text}" for text in self.mended),
            *(f"Still damaged: {text}" for text in self.damage),
            *(() if self.damage else (audit.SOUND,)),
        ]


def repair(
    survey: Survey,
    copies: Sequence[Path] = (),
    *,
    now: datetime,
    processes: int | None = None,
    progress: Progress = silent,
) -> RepairOutcome:
    """Mend what can be mended; twice is as good as once.

    Parameters
    ----------
    copies : sequence of Path
        Copies of the survey's folder, backups, or folders with kept files.

    Raises
    ------
    SourceError
        If a copy is not there.
    """
    for copy in copies:
        if not copy.exists():
            raise SourceError(
                "there is nothing at this path",
                failing=str(copy),
                next_step="Name a copy of the survey's folder, or a file of 'triage backup'.",
            )
    finish_forgetting(survey)
    with turns.turn(survey, progress=progress):
        cleared = [str(path) for path in clear_leftovers(survey)]
        mended = shape.put_back(survey)
        mended += _fixed_again(survey, now=now)
        mended += _put_back(survey)
        mended += _from_mail(survey)
        for copy in copies:
            mended += _from_copy(survey, copy)
    mended += _computed_anew(survey, now=now, processes=processes, progress=progress)
    found = audit.check(survey, now=now, progress=progress)
    return RepairOutcome(mended=tuple(mended), cleared=tuple(cleared), damage=found.damage)


def clear_leftovers(survey: Survey) -> list[Path]:
    """Remove half-written files and folders of killed runs; to be called in one's turn."""
    removed = unfinished.clear_all(survey)
    for folder in (survey.originals, survey.messages, survey.previews, survey.replies):
        removed += originals.clear_leftovers(folder)
    return removed


def _lacking(survey: Survey, folder: Path) -> dict[str, str]:
    """Digests that the survey names and that lie nowhere, each with whose they are."""
    return {
        digest: owner
        for digest, owner in kept_rows.kept_digests(survey)[folder].items()
        if originals.path_of(folder, digest) is None
    }


def _fixed_again(survey: Survey, *, now: datetime) -> list[str]:
    """Fix again the sightings that were named: as proposals they would be grouped anew."""
    loose = sightings.unfixed(survey)
    with survey.transaction():
        for identifier in loose:
            sightings.freeze(survey, identifier, now=now)
    return [f"sighting {identifier} is fixed again" for identifier in loose]


def _put_back(survey: Survey) -> list[str]:
    """Move what is not what its name says aside, and what was renamed under its digest."""
    mended = []
    for folder in (survey.originals, survey.messages):
        for path in sorted(p for p in folder.glob("??/*") if p.is_file()):
            digest = digest_of_kept(path)
            if digest == path.stem and originals.path_of(folder, digest) == path:
                continue
            if digest in _lacking(survey, folder):
                with path.open("rb") as file:
                    kind = kind_of(file.read(4096))
                originals.rename(path, folder, digest, media_type=kind)
                mended.append(f"{folder.name}: {path.name} lies under its digest again")
            elif digest != path.stem:
                aside = originals.set_aside(path, folder)
                mended.append(f"{folder.name}: {path.name} is not what was kept; now in {aside}")
    return mended


def _from_mail(survey: Survey) -> list[str]:
    """Take missing files out of the kept mails that brought them."""
    mended = []
    lacking = _lacking(survey, survey.originals)
    for raw in kept_rows.raw_of_parts(survey, lacking):
        path = originals.path_of(survey.messages, raw)
        if path is not None:
            with contextlib.suppress(TriageError):
                for part in read_message(path.read_bytes(), limits=limits_of(survey)).parts:
                    digest = digest_of(part.content) if part.content else ""
                    if digest in lacking:
                        originals.keep(survey.originals, part.content, media_type=part.media_type)
                        whose = lacking.pop(digest)
                        mended.append(f"originals: {digest[:12]}, from the kept mail ({whose})")
    return mended


def _from_copy(survey: Survey, copy: Path) -> list[str]:
    """Take missing kept files, and the settings, from a copy whose files have what we lack."""
    mended = []
    lacking = {f: _lacking(survey, f) for f in (survey.originals, survey.messages)}
    settings = survey.folder / SETTINGS
    for name, content in files_of_copy(copy):
        if name == SETTINGS and not (settings.exists() and settings.stat().st_size):
            settings.write_bytes(content)
            mended.append(f"{SETTINGS}, from {copy.name}")
        digest = digest_of(content)
        for folder, wanted in lacking.items():
            if digest in wanted:
                originals.keep(folder, content, media_type=kind_of(content))
                owner = wanted.pop(digest)
                mended.append(f"{folder.name}: {digest[:12]}, from {copy.name} ({owner})")
    mended += _from_mail(survey)
    return mended


def _computed_anew(
    survey: Survey, *, now: datetime, processes: int | None, progress: Progress
) -> list[str]:
    """Measure what lost its measurement; compare, group, match, order and picture all anew."""
    mended = [f"photo {photo[:12]} has its row again" for photo in derived_rules.add_photos(survey)]
    unmeasured = derived_rules.measure_again(survey)
    derived_rules.all_anew(survey)
    examine(survey, now=now, processes=processes, progress=progress)
    match.match(survey)
    queueing.bring_up_to_date(survey, now=now)
    mended += [f"photo {photo[:12]} was measured again" for photo in unmeasured]
    for photo in derived_rules.with_pictures(survey):
        if not previews.is_made(previews.path_of(survey, photo, "small")):
            with contextlib.suppress(TriageError):
                previews.picture(survey, photo, "small")
                mended.append(f"previews: {photo[:12]} was made again")
    return mended
