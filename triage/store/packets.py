"""Keep which sightings went to whom in a packet, and which of its answers were taken in."""

from __future__ import annotations

import json
from collections.abc import Sequence

from triage.packets import Asked
from triage.store.connection import Survey
from triage.store.rows import holds, record_of


def add(
    survey: Survey,
    packet: str,
    person: int,
    sightings: Sequence[tuple[str, Sequence[str]]],
    *,
    action: int,
) -> None:
    """Append a packet for a person: its sightings in order, each with its photos."""
    survey.insert("packets", {"packet": packet, "person_id": person, "action_id": action})
    for number, (sighting, photos) in enumerate(sightings, 1):
        values = {"packet": packet, "number": number, "sighting": sighting}
        survey.insert("packet_sightings", values | {"photos": json.dumps(sorted(photos))})


def asked(survey: Survey, packet: str, number: int) -> Asked | None:
    """What a packet asked under a number; nothing if it is unknown or was taken back."""
    query = (
        "select s.*, p.person_id, p.action_id from packet_sightings s"
        f" join packets p on p.packet = s.packet where {holds('p.action_id')}"
        " and s.packet = ? and s.number = ?"
    )
    row = survey.row(query, packet, number)
    if row is None:
        return None
    return record_of(Asked, row, photos=frozenset(json.loads(row["photos"])))


def answered(survey: Survey, one: Asked) -> dict[str, int]:
    """By what was answered (its digest): the action that recorded it and still holds."""
    query = (
        "select statement, action_id from packet_answers where packet = ? and number = ?"
        f" and {holds()} order by id"
    )
    return dict(survey.run(query, one.packet, one.number))


def add_answer(survey: Survey, one: Asked, statement: str, *, action: int) -> None:
    """Append that an answer was taken in, by the digest of what it says."""
    values = {"packet": one.packet, "number": one.number, "statement": statement}
    survey.insert("packet_answers", values | {"action_id": action})


def actions_naming(survey: Survey, sighting: str, *, after: int) -> set[int]:
    """Actions later than this one that hold and determined the sighting."""
    query = (
        f"select action_id from determinations where sighting = ? and action_id > ? and {holds()}"
    )
    return set(survey.column(query, sighting, after))
