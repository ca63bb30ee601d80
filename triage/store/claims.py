"""Keep claims of time and place, and load all live claims of a photo."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from triage.metadata.capture_time import TimeClaim
from triage.metadata.position import SAID_BY_PEOPLE, PlaceClaim
from triage.store import copies, tallies
from triage.store.connection import Survey
from triage.store.rows import column_of, derived_or_holds, insert, record_of, select_in, values_of


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
    replaced = {
        table: survey.connection.execute(
            f"delete from {table} where photo = ? and part_id is ? and action_id is null",
            (photo, part),
        ).rowcount
        for table in ("time_claims", "place_claims")
    }
    for time in times:
        add_time(survey, photo, part, time, action=None)
    for place in places:
        add_place(survey, photo, part, place, action=None)
    tallies.note_read(survey.connection, "time_claims", len(times) - replaced["time_claims"])
    tallies.note_read(survey.connection, "place_claims", len(places) - replaced["place_claims"])


def add_time(
    survey: Survey, photo: str, part: int | None, claim: TimeClaim, *, action: int | None
) -> None:
    """Append one claim of a time."""
    known = {"photo": photo, "part_id": part, "action_id": action}
    insert(survey, "time_claims", known | _as_said(claim))


def add_place(
    survey: Survey, photo: str, part: int | None, claim: PlaceClaim, *, action: int | None
) -> None:
    """Append one claim of a place; a photo is compared anew where a person says its place."""
    known = {"photo": photo, "part_id": part, "action_id": action}
    insert(survey, "place_claims", known | _as_said(claim))
    if claim.source in SAID_BY_PEOPLE or action is not None:
        copies.compare_anew(survey, [photo])


def placed_by(survey: Survey, action: int) -> set[str]:
    """Photos whose place an action said."""
    query = "select photo from place_claims where action_id = ?"
    return set(column_of(survey, query, (action,)))


def _as_said(claim: TimeClaim | PlaceClaim) -> dict[str, object]:
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
    for row in select_in(survey, query.format("time_claims"), found):
        found[row["photo"]].times.append((row["part_id"], record_of(TimeClaim, row)))
    for row in select_in(survey, query.format("place_claims"), found):
        found[row["photo"]].places.append((row["part_id"], record_of(PlaceClaim, row)))
    return found


def add_camera_correction(
    survey: Survey, message: int, camera: str, offset_seconds: float, *, action: int
) -> None:
    """Append that a camera's clock was wrong by this much in one message."""
    values = {"message_id": message, "camera": camera, "offset_seconds": offset_seconds}
    insert(survey, "camera_corrections", values | {"action_id": action})


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
    for row in select_in(
        survey,
        "select c.* from camera_corrections c join live_actions a on a.id = c.action_id"
        " where c.message_id in (...) order by c.id",
        messages,
    ):
        found.setdefault(row["message_id"], {})[row["camera"]] = ClockCorrection(
            offset_seconds=row["offset_seconds"], action=row["action_id"]
        )
    return found
