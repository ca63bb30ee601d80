"""Tell where a survey stands: its counts, what must be decided, what is damaged or not yet done."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from triage.checklist import Checklist, read_name
from triage.exuviae import UnresolvedReference
from triage.inbox import EARLIEST_PHOTO, RecordNeed, needs_of_records
from triage.pipeline import backup, consents, linking, proposals, publish, queueing, standing
from triage.pipeline.backup import REMINDED_AFTER
from triage.pipeline.examine import method_key
from triage.pipeline.tables import latest_day, references, unresolved_lots
from triage.standards.counting import counted
from triage.standards.digests import digest_of_file
from triage.store import (
    audit,
    backups,
    copies,
    determinations,
    evidence,
    failures,
    grouping,
    joins,
    leavings,
    messages,
    originals,
    overview,
    people,
    photos,
    shape,
    unfinished,
)
from triage.store.connection import DATABASE, SETTINGS, Survey
from triage.store.failures import Failure
from triage.store.overview import Holdings
from triage.workers.progress import Progress, silent

STRAY_MAILS = 3  # kept mails of no message that interrupted receives may have left


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The state of everything.

    ``waiting`` sightings are in the queue, ``waiting_for_you`` without those that the determiner
    who asks has had.
    """

    holdings: Holdings
    waiting: int
    waiting_for_you: int
    failures: tuple[Failure, ...]
    needs: tuple[RecordNeed, ...]
    backed_up: datetime | None
    backup_due: bool


def overview_of(survey: Survey, *, now: datetime, for_determiner: str = "") -> Overview:
    """Where the survey stands at this moment."""
    newest = backups.newest(survey)
    return Overview(
        holdings=overview.holdings(survey),
        failures=_failures(survey),
        waiting=queueing.count_waiting(survey, now=now),
        waiting_for_you=queueing.count_waiting(survey, now=now, for_determiner=for_determiner),
        needs=tuple(record_needs(survey, now=now)),
        backed_up=newest,
        backup_due=newest is None or now - newest > REMINDED_AFTER,
    )


def record_needs(survey: Survey, *, now: datetime) -> list[RecordNeed]:
    """Grants not seen, unresolved names, people who may be one person, impossible years."""
    latest = latest_day(now)
    everybody = people.listed(survey)
    unresolved = unresolved_lots(survey)
    named_off = off_the_checklist(survey)
    checklist = evidence.checklist(survey) if unresolved else Checklist(())
    written = {one.value for one in unresolved}
    return needs_of_records(
        unresolved=[*unresolved, *named_off, *references(survey)],
        nearest={name: read_name(name, checklist).near for name in written},
        grants=[(one.code, " / ".join(one.unseen)) for one in everybody if one.unseen],
        unclear=[(one.code, " / ".join(one.unclear)) for one in everybody if one.unclear],
        photographers=consents.waiting(survey),
        people=[(person.code, person.name) for person in everybody],
        apart=joins.told_apart(survey),
        determiners=determinations.determiners(survey),
        dated=audit.dated_outside(survey, str(EARLIEST_PHOTO), latest.isoformat()),
        latest=latest,
    )


def off_the_checklist(survey: Survey) -> list[UnresolvedReference]:
    """Sightings that stand under a name which the checklist does not have any more."""
    checklist = evidence.checklist(survey)
    odd = [one for one in determinations.names(survey) if checklist.resolve(one) is None]
    named = determinations.sightings_named(survey, odd)
    accepted = standing.standing(survey, named).accepted if named else {}
    return [
        UnresolvedReference(
            record="sighting",
            identifier=identifier,
            column="scientificName",
            value=stands.scientific_name,
            reason="The checklist does not have the name any more. Import the taxon again, or name"
            " the sighting anew.",
        )
        for identifier, stands in sorted(accepted.items())
        if stands.scientific_name in odd
    ]


SOUND = "Nothing is damaged or lost: every digest, reference and part is accounted for."


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditOutcome:
    """What was checked, what is damaged, and what is only not yet done."""

    files: int = 0
    messages: int = 0
    parts: int = 0
    damage: tuple[str, ...]
    not_done: tuple[str, ...] = ()

    @property
    def lines(self) -> list[str]:
        """The same for people."""
        return [
            f"{counted(self.messages, 'message')}, {counted(self.parts, 'part')},"
            f" {counted(self.files, 'kept file')}.",
            *(f"Damaged: {text}" for text in self.damage),
            *(f"Not done yet: {text}" for text in self.not_done),
            *(() if self.damage else (SOUND,)),
        ]


def check(survey: Survey, *, now: datetime, progress: Progress = silent) -> AuditOutcome:
    """Recompute every digest, follow every reference, account for every part."""
    damage: list[str] = []
    try:
        damage += shape.odd(survey)
        kept = audit.kept_digests(survey)
        found = {folder: originals.all_digests(folder) for folder in kept}
        stray = {folder: found[folder].keys() - wanted.keys() for folder, wanted in kept.items()}
        for folder, wanted in kept.items():
            damage += _check_folder(folder, wanted, found[folder], progress)
        damage += _without_rows(survey, len(stray[survey.messages]))
        damage += audit.broken_references(survey)
        damage += audit.unaccounted_parts(survey)
        received, parts = messages.counts(survey)
        not_done = _not_done(survey, len(set().union(*stray.values())), now)
    except (sqlite3.DatabaseError, ValueError) as error:
        # Flipped bytes make any query fail, or a row that no longer holds what it must.
        damage.append(f"database: it cannot be read ({error}); restore it from a backup")
        return AuditOutcome(damage=tuple(damage))
    return AuditOutcome(
        files=sum(map(len, kept.values())),
        messages=received,
        parts=parts,
        damage=tuple(damage),
        not_done=tuple(not_done),
    )


def _without_rows(survey: Survey, stray: int) -> list[str]:
    """Kept mails that the database has lost: one interrupted receive leaves a single one."""
    found = []
    if stray > STRAY_MAILS:
        found.append(
            f"messages: {stray} kept mails belong to no message; restore survey.db from a"
            " backup, or receive messages/ again"
        )
    settings = survey.folder / SETTINGS
    if (survey.folder / DATABASE).exists() and not settings.exists():
        found.append(f"{SETTINGS} is missing: 'triage init' writes it with the usual settings")
    elif settings.exists() and not settings.stat().st_size:
        found.append(f"{SETTINGS} is empty: 'triage repair --from' a copy brings it back")
    return found


def _check_folder(
    folder: Path, wanted: dict[str, str], found: dict[str, Path], progress: Progress
) -> list[str]:
    name = folder.name
    damage = [
        f"{name}: the file of {owner} is missing ({digest[:12]})"
        for digest, owner in sorted(wanted.items())
        if digest not in found
    ]
    damage += [
        f"{name}: {path.name} lies under another name than it was kept (of {wanted[digest]})"
        for digest, path in sorted(found.items())
        if digest in wanted and originals.path_of(folder, digest) != path
    ]
    for done, (digest, path) in enumerate(sorted(found.items()), 1):
        owner = wanted.get(digest, "no message")
        try:
            if digest_of_file(path) != digest:
                damage.append(f"{name}: {path.name} is not what was kept (of {owner})")
        except OSError as error:
            why = error.strerror or "it fails"
            damage.append(f"{name}: {path.name} cannot be read: {why} (of {owner})")
        progress(f"checking {name}", done, len(found))
    return damage


def _not_done(survey: Survey, stray: int, now: datetime) -> list[str]:
    waiting = [row.state for row in messages.unsettled(survey)]
    found = (
        (len(photos.not_examined_with(survey, method_key(survey))), "photo", "not examined yet"),
        (
            len(copies.not_linked(survey, linking.METHOD)),
            "photo",
            "not compared with the others yet",
        ),
        (
            len(grouping.dirty(survey, proposals.METHOD)),
            "photo",
            "not grouped into sightings yet",
        ),
        (waiting.count("open"), "message", "open"),
        (waiting.count("waiting"), "message", "waiting for an answer"),
        (stray, "kept file", "of no message, from an interrupted receive"),
        (
            len(unfinished.halves(survey)),
            "half-written file",
            "of a killed or a running command: 'triage repair' removes what is left behind",
        ),
    )
    lines = [f"{counted(count, noun)} {what}" for count, noun, what in found if count]
    lines += [
        f"{one.record} {one.identifier}, {one.column} {one.value}: {one.reason}"
        for one in (
            *references(survey),
            *unresolved_lots(survey),
            *off_the_checklist(survey),
        )
    ]
    lines += [
        # With the codes of two people of near names: others may be called the same.
        f"{one.kind}: {one.record}"
        + (f" ({' / '.join(one.choices)})" if one.kind == "near names" else "")
        + f": {one.text}"
        for one in record_needs(survey, now=now)
        if one.kind not in ("unresolved name", "open reference")  # told above
    ]
    if leavings.noted(survey) is not None:
        lines.append(
            "a person was forgotten, and files or old rows of theirs still lie here:"
            " 'triage repair' deletes them"
        )
    lines += publish.no_longer_agreed(survey)
    lines += [
        f"{path} is the half of an export, a photo pack or a report: the next one removes it"
        for path in unfinished.left(survey)
    ]
    lines += backup.reminder(survey, now=now)
    return lines + [f"{one.stage} failed: {one.subject}: {one.reason}" for one in _failures(survey)]


def _failures(survey: Survey) -> tuple[Failure, ...]:
    """What failed and still does, a photo under the name of its file."""
    found = failures.every(survey)
    shown = photos.appearances(survey, [one.subject for one in found])
    names = {one.photo: one.file_name for one in reversed(shown)}
    return tuple(replace(one, subject=names.get(one.subject) or one.subject) for one in found)
