"""Keeps which photos were handed on in which pack, and finds those whose consent has gone."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from triage.store.actions import utc_text
from triage.store.connection import Survey


def note(survey: Survey, pack: str, photos: Iterable[tuple[str, str]], *, now: datetime) -> None:
    """Note the sightings and photos of a pack."""
    survey.run_each(
        "insert or ignore into pack_photos values (?, ?, ?, ?)",
        [(pack, utc_text(now), sighting, photo) for sighting, photo in photos],
    )


def handed_on(survey: Survey) -> list[tuple[str, str, str, int | None]]:
    """Pack, sighting, photo and row of the observer of every photo that was ever handed on."""
    rows = survey.run(
        "select p.pack, p.sighting, p.photo, s.observer_id from pack_photos p"
        " join sightings s on s.identifier = p.sighting order by p.pack, p.sighting, p.photo"
    )
    return [tuple(row) for row in rows]
