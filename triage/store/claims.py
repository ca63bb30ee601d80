"""Keep claims of time and place, and load all live claims of a photo."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from triage.inbox.settlement import CHOSEN_SITE
from triage.metadata.camera_clock import camera_of
from triage.metadata.capture_time import TimeClaim
from triage.metadata.carried_clock import PutRight, TypedTime
from triage.metadata.position import SAID_BY_PEOPLE, PlaceClaim
from triage.store import copies, photos, tallies
from triage.store.connection import Survey
from triage.store.rows import derived_or_holds, record_of, values_of

Claim = TimeClaim | PlaceClaim


@dataclass(frozen=True, slots=True, kw_only=True)
class Claims:
    """Everything claimed about one photo, each with the part it hangs on (None: the file)."""

    times: list[tuple[int | None, TimeClaim]] = field(default_factory=list)
    places: list[tuple[int | None, PlaceClaim]] = field(default_factory=list)


def replace_derived(
    survey: Survey,
    photo: str,
    part: int | None,
    times: Sequence[TimeClaim],
    places: Sequence[PlaceClaim],
) -> bool:
    """Write what file or text claim by themselves, in place of an earlier reading of the same.

    Tells whether that is anything else; what says the same stays as it is.
    """
    others = _replaced(survey, photo, part, "time_claims", times)
    return _replaced(survey, photo, part, "place_claims", places) or others


def _replaced(
    survey: Survey, photo: str, part: int | None, table: str, claims: Sequence[Claim]
) -> bool:
    where = f"{table} where photo = ? and part_id is ? and action_id is null"
    before = survey.run(f"select * from {where} order by id", photo, part)
    rows, now = before.fetchall(), [_as_said(claim) for claim in claims]
    names = now[0] if now else ()
    changed = [{name: row[name] for name in names} for row in rows] != now
    if changed:
        survey.run(f"delete from {where}", photo, part)
        for claim in claims:
            add(survey, photo, part, claim, action=None)
    tallies.note_read(survey.connection, table, len(now) - len(rows))
    return changed


def at_chosen_sites(survey: Survey, photos: Iterable[str]) -> set[str]:
    """Those of these photos that people have put at a site: they lie where the site does."""
    query = (
        "select distinct photo from place_claims where georeference_protocol = ?"
        " and action_id is not null and photo in (...)"
    )
    return survey.column_in(query, photos, CHOSEN_SITE)


def add(survey: Survey, photo: str, part: int | None, claim: Claim, *, action: int | None) -> None:
    """Append one claim; a photo is compared anew where a person says its place."""
    known = {"photo": photo, "part_id": part, "action_id": action}
    of_place = isinstance(claim, PlaceClaim)
    survey.insert("place_claims" if of_place else "time_claims", known | _as_said(claim))
    if of_place and (claim.source in SAID_BY_PEOPLE or action is not None):
        copies.compare_anew(survey, [photo])


def placed_by(survey: Survey, action: int) -> set[str]:
    """Photos whose place an action said."""
    return set(survey.column("select photo from place_claims where action_id = ?", action))


def _as_said(claim: Claim) -> dict[str, object]:
    """The columns of a claim; who said it is the action that the row hangs on."""
    values = values_of(claim)
    del values["said"]
    return values


def of_photos(survey: Survey, photos: Iterable[str]) -> dict[str, Claims]:
    """Live claims by photo, oldest first."""
    found = {photo: Claims() for photo in photos}
    query = (
        "select *, coalesce(action_id, 0) as said from {} where photo in (...)"
        f" and {derived_or_holds()} order by id"
    )
    for row in survey.run_in(query.format("time_claims"), found):
        found[row["photo"]].times.append((row["part_id"], record_of(TimeClaim, row)))
    rows = survey.run_in(query.format("place_claims"), found)
    sites = _sites_now(survey, rows)
    for row in rows:
        claim = record_of(PlaceClaim, row)
        if row["georeference_protocol"] == CHOSEN_SITE and claim.location_id in sites:
            claim = replace(claim, **sites[claim.location_id])
        found[row["photo"]].places.append((row["part_id"], claim))
    return found


def _sites_now(survey: Survey, claims: Sequence[sqlite3.Row]) -> dict[str, dict[str, Any]]:
    """Where the sites lie that people chose: one that is moved takes along what was put there."""
    chosen = {r["location_id"] for r in claims if r["georeference_protocol"] == CHOSEN_SITE}
    query = (
        "select location_id, locality, decimal_latitude, decimal_longitude,"
        " coordinate_uncertainty_in_meters from sites where location_id in (...)"
    )
    return {row["location_id"]: dict(row) for row in survey.run_in(query, chosen)}


def add_camera_correction(
    survey: Survey, message: int, camera: str, offset_seconds: float, *, action: int
) -> None:
    """Append that a camera's clock was wrong by this much in one message."""
    values = {"message_id": message, "camera": camera, "offset_seconds": offset_seconds}
    survey.insert("camera_corrections", values | {"action_id": action})


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockCorrection:
    """How far a camera's clock is off, and the number of the action that said so."""

    offset_seconds: float
    action: int


def camera_corrections(
    survey: Survey, messages: Iterable[int]
) -> dict[int, dict[str, ClockCorrection]]:
    """Live corrections of these messages by camera; an empty name means every camera."""
    found: dict[int, dict[str, ClockCorrection]] = {}
    for row in survey.run_in(
        "select c.* from camera_corrections c join live_actions a on a.id = c.action_id"
        " where c.message_id in (...) order by c.id",
        messages,
    ):
        correction = record_of(ClockCorrection, row)
        found.setdefault(row["message_id"], {})[row["camera"]] = correction
    return found


def ever_corrected(survey: Survey, messages: Iterable[int]) -> set[int]:
    """Those of these messages in which a clock was corrected or a time typed, undone or not."""
    wanted = list(messages)
    query = "select distinct message_id from camera_corrections where message_id in (...)"
    typed = (
        "select distinct p.message_id from parts p join time_claims c on c.part_id = p.id"
        " where p.message_id in (...) and c.action_id is not null"
    )
    return survey.column_in(query, wanted) | survey.column_in(typed, wanted)


def typed_times(survey: Survey, people: Iterable[int]) -> dict[int, list[TypedTime]]:
    """By person: the times that stand because somebody of the survey typed them."""
    # From what was typed, which is little: a sender may have sent thousands of photos.
    query = (
        "select a.person_id, a.message_id, a.photo, p.exif, c.event_date, c.action_id,"
        " m.identifier, m.sent_at from time_claims c indexed by time_claims_by_action"
        " cross join live_actions l on l.id = c.action_id"
        " join appearances a on a.id = c.part_id join messages m on m.id = a.message_id"
        " join photos p on p.sha256 = a.photo where c.action_id is not null"
        " and c.source = 'coordinator' and a.person_id in (...) order by c.id"
    )
    wanted = list(people)
    newest: dict[int, dict[tuple[int, str], TypedTime]] = {person: {} for person in wanted}
    for row in survey.run_in(query, wanted):
        known = {"exif": photos.exif_of(row), "mail": row["message_id"], "message": _as_known(row)}
        one = record_of(TypedTime, row, **known)
        newest[row["person_id"]][row["message_id"], row["photo"]] = one
    return {person: list(ones.values()) for person, ones in newest.items()}


def _as_known(row: sqlite3.Row) -> str:
    """A message as a person knows it: the beginning of its identifier, and its day."""
    day = (row["sent_at"] or "")[:10]
    return f"message {row['identifier'][:10]}{' of ' if day else ''}{day}"


def put_right(survey: Survey, people: Iterable[int]) -> dict[int, dict[tuple[int, str], PutRight]]:
    """By person, message and photo: what stands of the clock of a camera in that message."""
    found: dict[int, dict[tuple[int, str], PutRight]] = {}
    # From the few corrections to their mails: SQLite would otherwise walk through all mails.
    for row in survey.run_in(
        "select a.person_id, a.message_id, a.photo, p.exif, c.camera, c.offset_seconds,"
        " c.action_id, m.identifier, m.sent_at from camera_corrections c"
        " cross join live_actions l on l.id = c.action_id"
        " cross join appearances a on a.message_id = c.message_id"
        " cross join messages m on m.id = c.message_id cross join photos p on p.sha256 = a.photo"
        " where a.person_id in (...) order by c.id",
        people,
    ):
        exif = photos.exif_of(row)
        if row["camera"] in ("", camera_of(exif)):
            one = record_of(PutRight, row, exif=exif, message=_as_known(row))
            found.setdefault(row["person_id"], {})[row["message_id"], row["photo"]] = one
    return found


def of_one_camera(survey: Survey, message: int) -> set[str]:
    """Photos that may be of the cameras of a message's photos, of whoever may have sent these."""
    make, model = "json_extract(p.exif, '$.make')", "json_extract(p.exif, '$.model')"
    cameras = (
        f"select {make}, {model} from parts s join photos p on p.sha256 = s.sha256"
        " where s.message_id = ?"
    )
    return survey.column_in(
        "select a.photo from appearances a join photos p on p.sha256 = a.photo"
        f" where ({make}, {model}) in ({cameras}) and a.person_id in (...)",
        _senders(survey, message),
        message,
    )


def _senders(survey: Survey, message: int) -> set[int]:
    """Everybody who sent a message, wrote a layer of it, or was ever said to have taken a photo."""
    query = (
        "select sender_id from messages where id = ?1 union select person_id from envelopes where"
        " message_id = ?1 union select t.person_id from photographers t join parts p"
        " on p.sha256 = t.photo where p.message_id = ?1"
    )
    return set(survey.column(query, message)) - {None}
