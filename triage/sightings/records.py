"""What a sighting is: its facts, its photos, and what people said about which photos it holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from triage.errors import UnknownError
from triage.sightings.facts import Facts, Pictures, by_usability, facts_of, facts_of_pictures
from triage.standards.digests import short_digest_of
from triage.standards.identifiers import beginnings

Member = tuple[str, int]
"""A photo's digest and the number of the animal in it, from 1."""


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

    @property
    def photos(self) -> tuple[str, ...]:
        """The digests of its photos, the best first; one stands there once for each animal."""
        return tuple(photo for photo, _ in self.members)


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
    agreed: bool = False
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    sex: str = ""
    behavior: str = ""
    life_stage: str = "adult"
    frozen: bool = False

    @property
    def waits(self) -> bool:
        """Whether its name waits for a second look: until then it counts under no name.

        The common name of two who disagree below it does not wait: both gave it.
        """
        return self.state == "second opinion" and not self.agreed

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


def sighting_of(members: Sequence[Member], pictures: Pictures) -> SightingRow:
    """The sighting that these animals on these best copies make; its photos, the best first."""
    shown = [pictures[photo] for photo, _ in members]
    facts = facts_of_pictures(shown)
    usable = [picture.best for picture in by_usability(shown)]
    order = [*dict.fromkeys([b for b in (facts.best_dorsal, facts.best_lateral) if b] + usable)]
    return SightingRow(
        **facts_of(facts),
        identifier=sighting_identifier(members),
        observer=shown[0].observer,
        members=tuple(sorted(members, key=lambda member: (order.index(member[0]), member[1]))),
    )


def member_of(row: SightingRow, photo: str) -> Member:
    """The photo of a sighting whose digest begins so.

    Raises
    ------
    UnknownError
        If none or several do, or fewer than six digits are given.
    """
    first, _ = beginnings(photo, "'triage sightings'")
    found = [member for member in row.members if member[0].startswith(first)]
    if len(found) != 1:
        raise UnknownError(
            "the sighting holds no such photo" if not found else "several photos begin like that",
            failing=photo,
            next_step=f"It holds: {', '.join(p[:12] for p in row.photos)}.",
        )
    return found[0]
