"""What a sighting is: its photos, its facts, and what people said about which photos it holds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import Any, Literal

from triage.standards.digests import short_digest_of

Member = tuple[str, int]
"""A photo's digest and the number of the animal in it, from 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is known of a sighting before anybody names it; spelled out here and nowhere else.

    ``event_date`` is ISO 8601 as precise as the evidence. Coordinates are the held, unreleased
    ones. ``best_dorsal`` and ``best_lateral`` are digests, empty where no photo shows that view.
    ``first_received`` is when the survey had the first of its photos.
    """

    event_date: str = ""
    decimal_latitude: float | None = None
    decimal_longitude: float | None = None
    coordinate_uncertainty_in_meters: float | None = None
    location_id: str = ""
    locality: str = ""
    georeference_protocol: str = ""
    place_source: str = ""
    time_source: str = ""
    suborder: str = ""
    best_dorsal: str = ""
    best_lateral: str = ""
    first_received: str = ""


def facts_of(found: Facts) -> dict[str, Any]:
    """The facts alone, by name, of anything that has them: to make another record of them."""
    return {field.name: getattr(found, field.name) for field in fields(Facts)}


@dataclass(frozen=True, slots=True, kw_only=True)
class SightingRow(Facts):
    """A sighting as it is kept: whose it is, its photos, the best first, and whether it is fixed.

    ``observer`` is the number of a person. ``frozen_at`` is when it was first determined or
    exported, ``superseded_by`` the sighting that it was merged into; both may be empty.
    """

    identifier: str
    observer: int | None
    members: tuple[Member, ...]
    frozen_at: str = ""
    superseded_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting(Facts):
    """One animal, or one pair, at one place and time, by one observer (Darwin Core Occurrence).

    What matching, exports and reports know of it. ``observer`` is the person's code, ``photos``
    are digests, the best of each view first. Names are empty until determined.
    """

    identifier: str
    observer: str
    photos: tuple[str, ...] = ()
    state: str = "queued"
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    sex: str = ""
    behavior: str = ""
    life_stage: str = "adult"
    frozen: bool = False

    @property
    def waits(self) -> bool:
        """Whether its name waits for a second look: until then it counts under no name."""
        return self.state == "second opinion"

    @property
    def doubt(self) -> str:
        """The doubt of its name; one that waits for a second look is in doubt."""
        return self.qualifier or ("?" if self.waits and self.scientific_name else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """What a person said about which photos show one animal, in the order it was said."""

    kind: Literal["split", "merge", "add"]
    members: tuple[Member, ...]


def sighting_identifier(members: Iterable[Member]) -> str:
    """Sixteen hexadecimal digits from the photos and animals, the same for the same set."""
    return short_digest_of("\n".join(f"{photo}#{animal}" for photo, animal in sorted(members)))
