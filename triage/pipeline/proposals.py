"""Propose anew the sightings of photos that are new or changed; frozen ones stay.

Only the observers and days that a changed photo touches are looked at again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from triage.pipeline import claims, linking
from triage.sightings import (
    GroupingRules,
    Member,
    Picture,
    SightingRow,
    best_copies,
    on_best_copies,
    regroup,
    sighting_identifier,
)
from triage.sightings import sighting_of as made_of
from triage.sightings.words import tells_of_several
from triage.store import copies, grouping, messages, notes, sightings
from triage.store.connection import Survey
from triage.workers.many import many_records
from triage.workers.progress import Progress, silent

WITHDRAWN = "withdrawn"  # what a photo's publication says that its sender wants out
METHOD = "sightings 14"
AT_ONCE = 20_000  # photos, unless one sender has more; 13 kB of memory each


@many_records()
def propose(survey: Survey, *, progress: Progress = silent) -> int:
    """Propose sightings for everything that changed; returns how many were looked at.

    What a night brings is one transaction. Where everything is grouped anew, senders are taken in
    turn, so that memory stays at some thousands of photos: what they sent never depends on others'
    but through copies and merges, which are looked up.
    """
    _note_rules(survey)
    changed = grouping.dirty(survey, METHOD)
    count = done = 0
    for portion in grouping.by_sender(survey, changed, most=AT_ONCE):
        count += _propose(survey, portion)
        done += len(portion)
        progress("grouping", done, len(changed))
    return count


def compare_and_propose(survey: Survey) -> list[str]:
    """Compare again what people said something of, and group it anew; returns these photos."""
    linking.link_new(survey, only=set(grouping.dirty(survey, METHOD)))
    changed = grouping.dirty(survey, METHOD)
    propose(survey)
    return changed


def _propose(survey: Survey, changed: Sequence[str]) -> int:
    with survey.transaction():
        pictures = _pictures(survey, changed)
        around, everything = _surroundings(survey, changed, pictures)
        others = everything - {photo for one in pictures.values() for photo in one.copies}
        pictures |= _pictures(survey, sorted(others))
        count = _rewrite(survey, pictures, around)
        grouping.set_partitions(
            survey,
            {photo: "" for photo in changed}
            | {photo: one.partition for one in pictures.values() for photo in one.copies},
        )
        grouping.mark_grouped(survey, changed, METHOD)
        shown = {one for every in copies.exposures(survey, changed).values() for one in every}
        messages.make_due(survey, sorted(grouping.messages_of_photos(survey, shown)))
    return count


def sighting_of(survey: Survey, members: tuple[Member, ...]) -> SightingRow:
    """The sighting that these photos make, by the claims that stand now."""
    pictures = _pictures(survey, [photo for photo, _ in members])
    found = made_of(on_best_copies(members, best_copies(pictures)), pictures)
    return replace(found, identifier=sighting_identifier(members), members=members)


def _note_rules(survey: Survey) -> None:
    """Other rules in survey.toml group everything anew; frozen sightings stay, as always."""
    rules = survey.settings.sightings.model_dump_json()
    if notes.read(survey, "grouping") != rules:
        with survey.transaction():
            grouping.mark_everything_dirty(survey)
            notes.write(survey, "grouping", rules)


def _pictures(survey: Survey, wanted: Iterable[str]) -> dict[str, Picture]:
    """By best copy: the exposures that these photos show, as far as they could be measured."""
    known = claims.exposures(survey, wanted)
    bursts = copies.groups_of(survey, "burst", known.copies)
    firsts = {best: ones[0] for best, ones in known.everywhere.items()}
    mails = {one.message for one in firsts.values()}
    several = {  # whose words, or those they pass on, speak of several animals
        row
        for row in mails
        if any(tells_of_several(layer.text) for layer in messages.envelopes_of(survey, row))
    }
    lists = messages.from_lists(survey, mails)
    found = {}
    for best, first in firsts.items():
        row, measurement = known.rows[best], known.rows[best].measurement
        # What a newsletter shows is nobody's sighting until a person accepts its message.
        if measurement is None or row.publication == WITHDRAWN or first.message in lists:
            continue
        found[best] = Picture(
            best=best,
            copies=tuple(known.copies[best]),
            observer=first.person,
            message=first.message_identifier,
            received=first.received,
            measurement=measurement,
            chosen=known.chosen[best],
            colours=row.colours,
            burst=bursts[best][0] if best in bursts else "",
            told_apart=first.message in several,
        )
    return found


def _surroundings(
    survey: Survey, changed: Sequence[str], pictures: dict[str, Picture]
) -> tuple[list[SightingRow], set[str]]:
    """Sightings that the change may touch, and all photos of the observers' days in question.

    Both the day that a photo belonged to and the one that it belongs to now are looked at whole:
    who leaves a group may let others join that he kept apart.
    """
    merges = [edit for edit in sightings.edits(survey) if edit.kind == "merge"]
    partitions = grouping.partitions_of(survey, changed)
    partitions |= {picture.partition for picture in pictures.values()}
    here = {photo for picture in pictures.values() for photo in picture.copies} | set(changed)
    rows: list[SightingRow] = []
    reached: set[str] = set()
    while reached != here:  # what people merged may reach other days, rarely more than one step
        reached = here | grouping.photos_in_partitions(survey, partitions)
        rows = sightings.of_identifiers(survey, grouping.sightings_of_photos(survey, reached))
        reached |= {photo for row in rows for photo in row.photos}
        here = set(reached)
        for edit in merges:
            if any(photo in reached for photo, _ in edit.members):
                here |= {photo for photo, _ in edit.members}
        partitions |= grouping.partitions_of(survey, here)
        here |= grouping.photos_in_partitions(survey, partitions)
    return rows, here


def _rewrite(survey: Survey, pictures: dict[str, Picture], around: Sequence[SightingRow]) -> int:
    fixed = [row for row in around if row.frozen_at]
    found = regroup(
        pictures,
        fixed,
        sightings.edits(survey),
        GroupingRules(**survey.settings.sightings.model_dump()),
    )
    # What is frozen keeps its photos; whose they are is what is said now.
    for row in fixed:
        owner = {pictures[p].observer for p in row.photos if p in pictures}
        if len(owner) == 1 and owner != {row.observer}:
            sightings.set_observer(survey, row.identifier, owner.pop())
    sightings.delete_unfrozen(survey, [row.identifier for row in around if not row.frozen_at])
    for row in found.sightings:
        sightings.save(survey, row)
    for row in found.followed:
        sightings.save_facts(survey, row)
    sightings.set_proposed_changes(survey, [row.identifier for row in fixed], found.changes)
    return len(found.sightings)
