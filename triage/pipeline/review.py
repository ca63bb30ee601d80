"""Sightings in, the queue, determinations, splits, merges and corrections out."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from triage.checklist import Checklist
from triage.determinations import Accepted, Determination, DeterminationOutcome, accepted
from triage.errors import TriageError, UnknownError
from triage.pipeline import examine, inbox, proposals
from triage.review_queue import QueueEntry, QueuePhoto, QueueRules, Waiting, rank
from triage.sightings import Edit, Member, Sighting
from triage.store import actions, evidence, grouping, people, photos, review
from triage.store.connection import Survey

VIEWS = ("dorsal", "lateral", "anterior", "oblique", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A place in the queue with what stands beside it."""

    entry: QueueEntry
    sighting: Sighting
    accepted: Accepted
    usability: dict[str, float]
    nearest: tuple[tuple[str, float, str], ...]
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """All live sightings with their accepted determinations, loaded once."""

    rows: dict[str, review.SightingRow]
    determinations: dict[str, list[Determination]]
    accepted: dict[str, Accepted]


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """What a determiner says about one sighting."""

    taxon: str = ""
    cannot_tell: str = ""
    not_an_adult: str = ""
    qualifier: str = ""
    sex: str = ""
    life_stage: str = ""
    behavior: str = ""
    remarks: str = ""
    second_opinion: bool = False


def load_checklist(survey: Survey) -> Checklist:
    """The survey's checklist."""
    return Checklist(evidence.taxa(survey))


def standing(survey: Survey) -> Standing:
    """Every live sighting and where it stands."""
    rows = {row.identifier: row for row in review.every(survey)}
    found = determinations_of(survey, rows)
    checklist = load_checklist(survey)
    by_hand = review.states(survey)
    settled = {}
    for identifier, row in rows.items():
        stands = accepted(
            found.get(identifier, ()),
            lineage=lambda name: lineage_of(checklist, name),
            needed=survey.settings.determinations.independent,
            extra_care=_extra_care(survey, checklist, row),
        )
        state, reason = by_hand.get(identifier, ("", ""))
        if state == "set aside":
            stands = replace(stands, state="set aside", reason=reason)
        settled[identifier] = stands
    return Standing(rows=rows, determinations=found, accepted=settled)


def determinations_of(
    survey: Survey, rows: dict[str, review.SightingRow]
) -> dict[str, list[Determination]]:
    """Live determinations by live sighting: they follow the photos they were made on."""
    by_sighting: dict[str, list[Determination]] = {}
    for one in review.determinations(survey):
        by_sighting.setdefault(one.sighting, []).append(one)
    before = review.predecessors(survey)
    found: dict[str, list[Determination]] = {}
    for identifier, row in rows.items():
        own = list(by_sighting.get(identifier, ()))
        held = {photo for photo, _ in row.members}
        for old in before.get(identifier, ()):
            own += [d for d in by_sighting.get(old, ()) if held & set(d.photos)]
        if own:
            found[identifier] = own
    return found


def lineage_of(checklist: Checklist, name: str) -> list[tuple[str, str]]:
    """A name's (rank, name) pairs from its own rank up; an unknown name stands alone."""
    return list(reversed(checklist.lineage(name).items())) or [("unknown", name)]


def _extra_care(
    survey: Survey, checklist: Checklist, row: review.SightingRow
) -> Callable[[str], str]:
    def reason(name: str) -> str:
        taxon = checklist.resolve(name)
        if taxon is None:
            return "the name is not on the checklist"
        if taxon.needs_two:
            return f"{name} is marked as needing two determiners"
        if row.event_date and checklist.in_season(taxon, row.event_date) is False:
            return f"{name} outside its season"
        area = survey.settings.survey.area
        if area and row.decimal_latitude is not None and row.decimal_longitude is not None:
            south, west, north, east = area
            inside = south <= row.decimal_latitude <= north
            if not (inside and west <= row.decimal_longitude <= east):
                return "the place lies outside the survey's area"
        return ""

    return reason


def sightings(survey: Survey, stands: Standing | None = None) -> list[Sighting]:
    """All live sightings as matching, exports and reports know them."""
    stands = stands or standing(survey)
    codes = {person.row: person.code for person in people.all_people(survey)}
    return [
        _sighting(row, stands.accepted[identifier], stands.determinations, codes)
        for identifier, row in stands.rows.items()
    ]


def _sighting(
    row: review.SightingRow,
    stands: Accepted,
    determinations: dict[str, list[Determination]],
    codes: dict[int, str],
) -> Sighting:
    behaviors = [d.behavior for d in determinations.get(row.identifier, ()) if d.behavior]
    stages = [d.life_stage for d in determinations.get(row.identifier, ()) if d.life_stage]
    return Sighting(
        identifier=row.identifier,
        observer=codes.get(row.observer, "") if row.observer is not None else "",
        event_date=row.event_date,
        decimal_latitude=row.decimal_latitude,
        decimal_longitude=row.decimal_longitude,
        coordinate_uncertainty_in_meters=row.coordinate_uncertainty_in_meters,
        location_id=row.location_id,
        locality=row.locality,
        photos=tuple(photo for photo, _ in row.members),
        best_dorsal=row.best_dorsal,
        best_lateral=row.best_lateral,
        suborder=row.suborder,
        state=stands.state,
        scientific_name=stands.scientific_name,
        taxon_rank=stands.taxon_rank,
        qualifier=stands.qualifier,
        sex=stands.sex,
        behavior=" | ".join(dict.fromkeys(behaviors)),
        life_stage=stages[-1] if stages else "adult",
        georeference_protocol=row.georeference_protocol,
        place_source=row.place_source,
        time_source=row.time_source,
        frozen=bool(row.frozen_at),
    )


def queue(survey: Survey, *, now: datetime, for_determiner: str = "") -> list[Ranked]:
    """Rank the sightings that wait for a name, without those that ``for_determiner`` has had."""
    stands = standing(survey)
    code = _code_of(survey, for_determiner)
    photo_rows = photos.load(survey, {p for row in stands.rows.values() for p, _ in row.members})
    waiting = [
        _waiting(row, stands.accepted[identifier], photo_rows, now)
        for identifier, row in stands.rows.items()
        if stands.accepted[identifier].state in ("queued", "second opinion")
        and not any(d.identified_by == code for d in stands.determinations.get(identifier, ()))
    ]
    rules = QueueRules(**survey.settings.queue.model_dump())
    names = {site.location_id: site.locality for site in evidence.sites(survey)}
    nearest: dict[str, list[tuple[str, float, str]]] = {}
    for match in evidence.matches(survey):
        if match.location_id and match.distance is not None:
            nearest.setdefault(match.sighting, []).append(
                (names.get(match.location_id, match.location_id), match.distance, match.reason)
            )
    changes: dict[str, list[str]] = {}
    for row in review.proposed_changes(survey):
        changes.setdefault(row["sighting"], []).append(row["change"])
    known = {one.identifier: one for one in sightings(survey, stands)}
    return [
        Ranked(
            entry=entry,
            sighting=known[entry.sighting],
            accepted=stands.accepted[entry.sighting],
            usability={
                photo: measurement.usability
                for photo, _ in stands.rows[entry.sighting].members
                if (measurement := photo_rows[photo].measurement)
            },
            nearest=tuple(sorted(nearest.get(entry.sighting, ()), key=lambda n: n[1])[:3]),
            changes=tuple(changes.get(entry.sighting, ())),
        )
        for entry in rank(waiting, rules)
    ]


def _code_of(survey: Survey, name: str) -> str:
    wanted = name.strip().casefold()
    if not wanted:
        return ""
    return next(
        (p.code for p in people.all_people(survey) if wanted in (p.name.casefold(), p.code)), "-"
    )


def _waiting(
    row: review.SightingRow,
    stands: Accepted,
    photo_rows: dict[str, photos.PhotoRow],
    now: datetime,
) -> Waiting:
    received = row.first_received or row.event_date
    days = 0.0
    if received:
        moment = datetime.fromisoformat(received.split("/")[0])
        moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
        days = max((now - moment).total_seconds() / 86_400, 0.0)
    shown = []
    for photo, _ in row.members:
        measured = photo_rows[photo].measurement
        if measured is not None:
            shown.append(
                QueuePhoto(
                    photo=photo,
                    view=measured.view,
                    usability=measured.usability,
                    focus=measured.focus,
                    insect_px=measured.insect_px,
                )
            )
    return Waiting(
        sighting=row.identifier,
        observer=str(row.observer or ""),
        days=days,
        photos=tuple(shown),
        note="; ".join(_notes(row, stands, photo_rows)),
    )


def _notes(
    row: review.SightingRow, stands: Accepted, photo_rows: dict[str, photos.PhotoRow]
) -> Iterator[str]:
    """What the determiner should know beside the numbers."""
    if stands.state == "second opinion":
        yield stands.reason
    for photo, _ in row.members:
        measured = photo_rows[photo].measurement
        if measured is not None and measured.other_boxes:
            count = 1 + len(measured.other_boxes)
            yield (
                f"{count} insects may be in {photo[:10]}: "
                f"'triage sightings add {photo[:10]}' makes another animal"
            )


def determine(
    survey: Survey, sighting: str, statement: Statement, *, by: str, now: datetime
) -> Accepted:
    """Append one determination and return where the sighting stands.

    Raises
    ------
    UnknownError
        If the sighting or the name is unknown.
    TriageError
        If the statement says nothing, or two things at once.
    """
    row = review.find(survey, sighting)
    checklist = load_checklist(survey)
    name, rank_of_name, qualifier = _resolve(checklist, statement)
    with survey.transaction():
        person = people.by_name(survey, by)
        summary = statement.taxon or statement.cannot_tell or statement.not_an_adult
        action = actions.record(
            survey,
            command="determine",
            summary=f"sighting {row.identifier}: {summary}",
            by=by,
            now=now,
        )
        review.freeze(survey, row.identifier, now=now)
        code = next(p.code for p in people.all_people(survey) if p.row == person)
        review.add_determination(
            survey,
            Determination(
                # In the order of the log, so that of two in one second the later one counts.
                identifier=f"{row.identifier}-{action:08d}",
                sighting=row.identifier,
                outcome=_outcome(statement),
                scientific_name=name,
                taxon_rank=rank_of_name,
                qualifier=qualifier,
                sex=statement.sex,
                life_stage=statement.life_stage,
                behavior=statement.behavior,
                reason=statement.cannot_tell or statement.not_an_adult,
                remarks=statement.remarks,
                identified_by=code,
                date_identified=actions.utc_text(now),
                second_opinion=statement.second_opinion,
                photos=tuple(photo for photo, _ in row.members),
            ),
            person=person,
            action=action,
        )
    return standing(survey).accepted[row.identifier]


def _outcome(statement: Statement) -> DeterminationOutcome:
    if statement.taxon:
        return "determined"
    return "cannot tell" if statement.cannot_tell else "not an adult"


def _resolve(checklist: Checklist, statement: Statement) -> tuple[str, str, str]:
    said = [statement.taxon, statement.cannot_tell, statement.not_an_adult]
    if sum(bool(one) for one in said) != 1:
        raise TriageError(
            "a determination is one name, or 'cannot tell', or 'not an adult'",
            failing=" / ".join(one for one in said if one) or "nothing was said",
            next_step="Give a TAXON, or --cannot-tell REASON, or --not-an-adult WHAT.",
        )
    if not statement.taxon:
        return "", "", ""
    taxon = checklist.resolve(statement.taxon)
    if taxon is None:
        near = ", ".join(one.scientific_name for one in checklist.suggest(statement.taxon)[:3])
        raise UnknownError(
            "the name is not on the checklist",
            failing=statement.taxon,
            next_step=f"Near: {near}." if near else "Import it with 'triage checklist FILE.csv'.",
        )
    return taxon.scientific_name, taxon.rank, statement.qualifier


def split(survey: Survey, sighting: str, chosen: Sequence[str], *, by: str, now: datetime) -> None:
    """Say that these photos of a sighting show another animal.

    Raises
    ------
    UnknownError
        If a photo is not in the sighting, or nothing would be left in it.
    """
    row = review.find(survey, sighting)
    apart = [_member_of(row, photo) for photo in chosen]
    rest = [member for member in row.members if member not in apart]
    if not rest:
        raise UnknownError(
            "nothing would be left in the sighting",
            failing=sighting,
            next_step="Name only the photos of the other animal.",
        )
    with survey.transaction():
        action = actions.record(
            survey,
            command="sightings split",
            summary=f"sighting {row.identifier}: {len(apart)} photo(s) show another animal",
            by=by,
            now=now,
        )
        review.add_edit(survey, Edit(kind="split", members=tuple(apart)), action=action)
        grouping.mark_dirty(survey, [photo for photo, _ in row.members])
        if row.frozen_at:
            for members in (rest, apart):
                new = proposals.sighting_of(survey, tuple(members))
                new = replace(new, frozen_at=row.frozen_at, first_received=row.first_received)
                review.save(survey, new, action=action)
                review.supersede(survey, row.identifier, new.identifier, action=action)
    refresh(survey, now=now)


def merge(survey: Survey, wanted: Sequence[str], *, by: str, now: datetime) -> None:
    """Say that several sightings show one animal; the one frozen first keeps its identifier.

    Raises
    ------
    UnknownError
        If fewer than two different sightings are named.
    """
    rows = list({r.identifier: r for r in (review.find(survey, one) for one in wanted)}.values())
    if len(rows) < 2:
        raise UnknownError(
            "two or more different sightings are needed",
            failing=", ".join(wanted),
            next_step="Give the identifiers that 'triage sightings' shows.",
        )
    rows.sort(key=lambda r: (not r.frozen_at, r.frozen_at, r.identifier))
    older, others = rows[0], rows[1:]
    members = tuple(member for row in rows for member in row.members)
    with survey.transaction():
        action = actions.record(
            survey,
            command="sightings merge",
            summary=f"one animal: {', '.join(row.identifier for row in rows)}",
            by=by,
            now=now,
        )
        review.add_edit(survey, Edit(kind="merge", members=members), action=action)
        grouping.mark_dirty(survey, [photo for photo, _ in members])
        if older.frozen_at:
            review.add_members(
                survey, older.identifier, [m for r in others for m in r.members], action=action
            )
            for row in others:
                if row.frozen_at:
                    review.supersede(survey, row.identifier, older.identifier, action=action)
    refresh(survey, now=now)


def add_animal(survey: Survey, photo: str, *, by: str, now: datetime) -> str:
    """Say that a photo shows one animal more than the sightings know; returns its sighting.

    Raises
    ------
    UnknownError
        If no photo, or several, begin with these digits.
    """
    digest = photos.find(survey, photo)
    numbers = [
        animal
        for identifier in grouping.sightings_of_photos(survey, [digest])
        for held, animal in review.find(survey, identifier).members
        if held == digest
    ]
    member: Member = (digest, max(numbers, default=0) + 1)
    with survey.transaction():
        action = actions.record(
            survey,
            command="sightings add",
            summary=f"photo {digest[:12]} shows animal {member[1]}",
            by=by,
            now=now,
        )
        review.add_edit(survey, Edit(kind="add", members=(member,)), action=action)
        grouping.mark_dirty(survey, [digest])
    refresh(survey, now=now)
    return next(
        identifier
        for identifier in sorted(grouping.sightings_of_photos(survey, [digest]))
        if member in review.find(survey, identifier).members
    )


def correct(
    survey: Survey, photo: str, *, field: str, value: str, by: str, now: datetime
) -> tuple[str, ...]:
    """Append a correction of a photo: view, box, time, place or publication.

    A photo whose box is corrected is measured at once where the insect is said to be; what speaks
    for and against it now is returned, and nothing for the other fields.

    Raises
    ------
    UnknownError
        If the photo is unknown or the value is not of the field's form.
    """
    digest = photos.find(survey, photo)
    checked = _checked(field, value)
    with survey.transaction():
        action = actions.record(
            survey,
            command="correct",
            summary=f"photo {digest[:12]}: {field} {value}",
            by=by,
            now=now,
        )
        if field == "time":
            inbox.add_time(survey, digest, value, action=action)
        elif field == "place":
            inbox.add_place(survey, digest, value, action=action)
        else:
            photos.add_correction(survey, digest, field, checked, action=action)
        grouping.mark_dirty(survey, [digest])
    if field == "box":
        examine.measure_new(survey, now=now, only=[digest], processes=1)
    refresh(survey, now=now)
    if field != "box":
        return ()
    measured = photos.load(survey, [digest])[digest].measurement
    return measured.reasons if measured is not None else ()


def _checked(field: str, value: str) -> str:
    if field == "view" and value not in VIEWS:
        raise UnknownError(
            "there is no such view", failing=value, next_step=f"One of: {', '.join(VIEWS)}."
        )
    if field == "publication" and value not in ("cleared", "withheld"):
        raise UnknownError(
            "there is no such decision", failing=value, next_step="Either cleared or withheld."
        )
    if field != "box":
        return value
    try:
        x0, y0, x1, y1 = (float(piece) for piece in value.replace(";", ",").split(","))
    except ValueError:
        x0 = y0 = x1 = y1 = -1.0
    if not (0 <= x0 < x1 <= 1 and 0 <= y0 < y1 <= 1):
        raise UnknownError(
            "a box is x0,y0,x1,y1 as fractions of the upright image",
            failing=value,
            next_step="For example 0.20,0.15,0.85,0.70.",
        )
    return json.dumps([x0, y0, x1, y1])


def set_aside(
    survey: Survey, sighting: str, reason: str, *, by: str, now: datetime, back: bool = False
) -> None:
    """Take a sighting out of the queue with a reason, or put it back."""
    row = review.find(survey, sighting)
    with survey.transaction():
        state = "queued" if back else "set aside"
        action = actions.record(
            survey,
            command="sightings set-aside",
            summary=f"sighting {row.identifier}: {state} {reason}".strip(),
            by=by,
            now=now,
        )
        review.freeze(survey, row.identifier, now=now)
        review.add_state(survey, row.identifier, state, reason, action=action)


def undo(survey: Survey, *, by: str, now: datetime, number: int | None = None) -> actions.Action:
    """Take back the newest action, or the one of this number, and what followed from it."""
    with survey.transaction():
        taken = actions.undo(survey, by=by, now=now, number=number)
        touched = grouping.photos_of_action(survey, taken.number)
        grouping.mark_dirty(survey, touched)
    refresh(survey, now=now)
    return taken


def refresh(survey: Survey, *, now: datetime) -> None:
    """Propose sightings anew around changed photos and derive the states of their messages."""
    changed = grouping.dirty(survey, proposals.METHOD)
    proposals.propose(survey, now=now)
    with survey.transaction():
        inbox.review_messages_of(survey, changed, now=now)


def _member_of(row: review.SightingRow, photo: str) -> Member:
    found = [member for member in row.members if member[0].startswith(photo.lower())]
    if len(found) != 1:
        raise UnknownError(
            "the sighting holds no such photo" if not found else "several photos begin so",
            failing=photo,
            next_step=f"It holds: {', '.join(p[:12] for p, _ in row.members)}.",
        )
    return found[0]
