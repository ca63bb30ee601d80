"""Claims of time and place in, rows out; and all live claims of a photo back."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from triage.metadata.capture_time import TimeClaim
from triage.metadata.position import PlaceClaim
from triage.store.connection import Survey, portions


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
) -> None:
    """Write what file or text claim by themselves, in place of an earlier reading of the same."""
    run = survey.connection.execute
    for table in ("time_claims", "place_claims"):
        run(
            f"delete from {table} where photo = ? and part_id is ? and action_id is null",
            (photo, part),
        )
    for time in times:
        add_time(survey, photo, part, time, action=None)
    for place in places:
        add_place(survey, photo, part, place, action=None)


def add_time(
    survey: Survey, photo: str, part: int | None, claim: TimeClaim, *, action: int | None
) -> None:
    """Append one claim of a time."""
    survey.connection.execute(
        "insert into time_claims (photo, part_id, source, event_date, uncertainty_seconds,"
        " verbatim, zone, doubts, note, offered_event_date, action_id)"
        " values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            photo,
            part,
            claim.source,
            claim.event_date,
            float(claim.uncertainty_seconds),
            claim.verbatim,
            claim.zone,
            json.dumps(list(claim.doubts), ensure_ascii=False),
            claim.note,
            claim.offered_event_date,
            action,
        ),
    )


def add_place(
    survey: Survey, photo: str, part: int | None, claim: PlaceClaim, *, action: int | None
) -> None:
    """Append one claim of a place."""
    survey.connection.execute(
        "insert into place_claims (photo, part_id, source, decimal_latitude, decimal_longitude,"
        " coordinate_uncertainty_in_meters, location_id, locality, verbatim,"
        " georeference_protocol, doubts, note, offered, action_id)"
        " values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            photo,
            part,
            claim.source,
            claim.decimal_latitude,
            claim.decimal_longitude,
            claim.coordinate_uncertainty_in_meters,
            claim.location_id,
            claim.locality,
            claim.verbatim,
            claim.georeference_protocol,
            json.dumps(list(claim.doubts), ensure_ascii=False),
            claim.note,
            json.dumps(claim.offered),
            action,
        ),
    )


def of_photos(survey: Survey, photos: Iterable[str]) -> dict[str, Claims]:
    """Live claims by photo, oldest first."""
    wanted = list(dict.fromkeys(photos))
    found = {photo: Claims() for photo in wanted}
    live = "action_id is null or action_id in (select id from live_actions)"
    for portion in portions(wanted):
        marks = ",".join("?" * len(portion))
        for row in survey.connection.execute(
            f"select * from time_claims where photo in ({marks}) and ({live}) order by id", portion
        ):
            found[row["photo"]].times.append((row["part_id"], _time(row)))
        for row in survey.connection.execute(
            f"select * from place_claims where photo in ({marks}) and ({live}) order by id",
            portion,
        ):
            found[row["photo"]].places.append((row["part_id"], _place(row)))
    return found


def add_camera_correction(
    survey: Survey, message: int, camera: str, offset_seconds: float, *, action: int
) -> None:
    """Append that a camera's clock was wrong by this much in one message."""
    survey.connection.execute(
        "insert into camera_corrections (message_id, camera, offset_seconds, action_id)"
        " values (?, ?, ?, ?)",
        (message, camera, offset_seconds, action),
    )


def camera_corrections(survey: Survey, messages: Iterable[int]) -> dict[int, dict[str, float]]:
    """Live corrections of these messages by camera; an empty name means every camera."""
    wanted = set(messages)
    found: dict[int, dict[str, float]] = {}
    for row in survey.connection.execute(
        "select c.* from camera_corrections c join live_actions a on a.id = c.action_id"
        " order by c.id"
    ):
        if row["message_id"] in wanted:
            found.setdefault(row["message_id"], {})[row["camera"]] = row["offset_seconds"]
    return found


def _time(row: sqlite3.Row) -> TimeClaim:
    return TimeClaim(
        source=row["source"],
        event_date=row["event_date"],
        uncertainty_seconds=row["uncertainty_seconds"],
        verbatim=row["verbatim"],
        zone=row["zone"],
        doubts=tuple(json.loads(row["doubts"])),
        note=row["note"],
        offered_event_date=row["offered_event_date"],
    )


def _place(row: sqlite3.Row) -> PlaceClaim:
    return PlaceClaim(
        source=row["source"],
        decimal_latitude=row["decimal_latitude"],
        decimal_longitude=row["decimal_longitude"],
        coordinate_uncertainty_in_meters=row["coordinate_uncertainty_in_meters"],
        location_id=row["location_id"],
        locality=row["locality"],
        verbatim=row["verbatim"],
        georeference_protocol=row["georeference_protocol"],
        doubts=tuple(json.loads(row["doubts"])),
        note=row["note"],
        offered=tuple(offered) if (offered := json.loads(row["offered"])) else None,
    )
