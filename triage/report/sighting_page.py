"""Everything that a determiner should see of one sighting at once, and nothing that is blinded."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from triage.checklist import Checklist, Likely, by_season_and_place, in_checklist_order
from triage.determinations import Determination
from triage.exuviae import TaxonFound
from triage.mail.kept import AppearanceRow, EnvelopeRow
from triage.quality import Measurement
from triage.quality.kept import PhotoRow
from triage.sightings import Facts, SightingRow
from triage.standards.darwin_core import name_with_qualifier


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One photo of the sighting, with what was measured on it (None: not examined)."""

    photo: str
    file_name: str
    width: int
    height: int
    measured: Measurement | None
    corrected: tuple[str, ...]

    @property
    def view(self) -> str:
        """The view as told or corrected."""
        return self.measured.view if self.measured else "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class NearSite:
    """A site near the sighting with the exuviae it gave."""

    locality: str
    habitat: str
    metres: float
    searched: bool
    found: tuple[TaxonFound, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeSighting(Facts):
    """One sighting with all that stands beside it; names and places are empty when ``blind``."""

    identifier: str
    blind: bool
    frames: tuple[Frame, ...]
    habitat: str
    near: tuple[NearSite, ...]
    words: tuple[EnvelopeRow, ...]
    weather: tuple[str, ...]  # as the sender wrote it
    names: tuple[Likely, ...]
    numbers: tuple[int, ...]  # the place of each name in the order of the checklist
    second_opinion: bool
    said: int


def told_facts(row: SightingRow, *, blind: bool, undated: bool) -> Facts:
    """What of the facts is told to a determiner."""
    told: Facts = row
    if blind:
        told = Facts(
            event_date=row.event_date,
            time_source=row.time_source,
            best_dorsal=row.best_dorsal,
            best_lateral=row.best_lateral,
        )
    return replace(told, event_date="", time_source="") if undated else told


def names_to_offer(
    checklist: Checklist, event_date: str, near: Sequence[NearSite], *, blind: bool
) -> tuple[Likely, ...]:
    """The checklist's names in the order to offer them for this date and place."""
    if blind:
        return tuple(in_checklist_order(checklist))
    found: Counter[str] = Counter()
    for site in near:
        for one in site.found:
            found[one.scientific_name] += one.count
    return tuple(by_season_and_place(checklist, event_date, found))


def names_for_page(checklist: Checklist, *, blind: bool = False) -> list[dict[str, Any]]:
    """The checklist's names for a page, in one order that every sighting's order points into.

    With ``blind`` no seasons stand beside them.
    """
    return [
        {
            "name": one.taxon.scientific_name,
            "rank": one.taxon.rank,
            "vernaculars": [v.strip() for v in one.taxon.vernacular_name.split("|") if v.strip()],
            "synonyms": list(one.taxon.synonyms),
            "above": list(reversed(checklist.lineage(one.taxon.scientific_name).values()))[1:],
            "season": None if blind else one.taxon.season,
        }
        for one in in_checklist_order(checklist)
    ]


def frames_of(
    rows: Mapping[str, PhotoRow],
    shown: Iterable[AppearanceRow],
    row: SightingRow,
    *,
    blind: bool,
) -> Iterator[Frame]:
    """The photos, the best of each view first, then by what they are worth."""
    names: dict[str, str] = {}
    for one in shown:
        names.setdefault(one.photo, one.file_name)
    first = {row.best_dorsal: 0, row.best_lateral: 1}

    def place(photo: str) -> tuple[int, float, str]:
        measured = rows[photo].measurement
        return first.get(photo, 2), -(measured.usability if measured else 0.0), photo

    for photo in sorted(rows, key=place):
        yield Frame(
            photo=photo,
            file_name="" if blind else names.get(photo, ""),
            width=rows[photo].photo.width,
            height=rows[photo].photo.height,
            measured=rows[photo].measurement,
            corrected=rows[photo].corrected,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one determiner said of a sighting, in words for the page."""

    by: str
    what: str
    remarks: str
    at: str


def said_by_each(
    made: Iterable[Determination], names: Mapping[str, str], *, but_by: str = ""
) -> list[Said]:
    """What determiners said, by the names of their codes, without one of them: the newest of each.

    ``made`` are in order, the oldest first.
    """
    newest = {one.identified_by: one for one in made}
    return [
        Said(
            by=names.get(code, code),
            what=_what(one),
            remarks=one.remarks,
            at=one.date_identified,
        )
        for code, one in newest.items()
        if names.get(code, code).casefold() != but_by.casefold()
    ]


def _what(one: Determination) -> str:
    if one.outcome != "determined":
        return f"{one.outcome}: {one.reason}"
    return f"{name_with_qualifier(one.scientific_name, one.qualifier)} {one.sex}".strip()
