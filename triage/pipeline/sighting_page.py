"""Load everything that a determiner should see of one sighting at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from triage.checklist import Checklist, Likely, by_season_and_place, in_checklist_order
from triage.determinations import Determination
from triage.exuviae import ExuviaeLot, Site, TaxonFound, taxa_found
from triage.mail.kept import AppearanceRow, EnvelopeRow
from triage.metadata.weather_words import weather_told
from triage.pipeline import match, tables
from triage.quality import Measurement
from triage.quality.kept import PhotoRow
from triage.sightings import Facts, SightingRow, facts_of
from triage.standards.darwin_core import name_with_qualifier
from triage.store import determinations as said
from triage.store import evidence, messages, people, photos
from triage.store import sightings as kept
from triage.store.connection import Survey

NEAREST = 3  # sites whose exuviae are shown beside a sighting
NEIGHBOURS = 9  # sightings offered as the same animal


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


def whole_sighting(
    survey: Survey, identifier: str, *, blind: bool = False, undated: bool = False
) -> WholeSighting:
    """Load one sighting whole.

    With ``blind`` nothing that hints at a name or an observer is in it: no place, no words of the
    sender, no exuviae nearby, no earlier determination, and the names in the checklist's order;
    with ``undated`` no date either.

    Raises
    ------
    UnknownError
        If there is no such sighting.
    """
    row = kept.find(survey, identifier)
    rows = photos.load(survey, [photo for photo, _ in row.members])
    shown = photos.appearances(survey, rows)
    sites = {site.location_id: site for site in evidence.sites(survey)}
    near = () if blind else _near(survey, row.identifier, sites)
    made = said.of_sighting(survey, row.identifier)
    words = () if blind else tuple(_words(survey, shown))
    site = sites.get(row.location_id)
    checklist = evidence.checklist(survey)
    names = _names_to_offer(checklist, row.event_date, near, blind=blind)
    in_order = in_checklist_order(checklist)
    numbers = {one.taxon.scientific_name: number for number, one in enumerate(in_order)}
    return WholeSighting(
        **facts_of(_told(row, blind=blind, undated=undated)),
        identifier=row.identifier,
        blind=blind,
        frames=tuple(_frames(rows, shown, row, blind=blind)),
        habitat=site.habitat if site and not blind else "",
        near=near,
        words=words,
        weather=tuple(dict.fromkeys(w for one in words for w in weather_told(one.text))),
        names=names,
        numbers=tuple(numbers[one.taxon.scientific_name] for one in names),
        second_opinion=bool(made) and not blind,
        said=len(made),
    )


def _told(row: SightingRow, *, blind: bool, undated: bool) -> Facts:
    """What of the facts is told."""
    told: Facts = row
    if blind:
        told = Facts(
            event_date=row.event_date,
            time_source=row.time_source,
            best_dorsal=row.best_dorsal,
            best_lateral=row.best_lateral,
        )
    return replace(told, event_date="", time_source="") if undated else told


def _names_to_offer(
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


def names_for_page(survey: Survey, *, blind: bool = False) -> list[dict[str, Any]]:
    """The checklist's names for a page, in one order that every sighting's order points into.

    With ``blind`` no seasons stand beside them.
    """
    checklist = evidence.checklist(survey)
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


def _frames(
    rows: dict[str, PhotoRow],
    shown: Iterable[AppearanceRow],
    row: SightingRow,
    *,
    blind: bool,
) -> Iterable[Frame]:
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


def _near(survey: Survey, sighting: str, sites: dict[str, Site]) -> tuple[NearSite, ...]:
    matched = sorted(
        (one.distance, one.location_id)
        for one in match.current(survey, [sighting])
        if one.location_id in sites and one.distance is not None
    )[:NEAREST]
    lots: dict[str, list[ExuviaeLot]] = {}
    for lot in tables.counted_lots(survey, at=[site for _, site in matched]):
        lots.setdefault(lot.location_id, []).append(lot)
    return tuple(
        NearSite(
            locality=sites[site].locality,
            habitat=sites[site].habitat,
            metres=metres,
            found=taxa_found(lots.get(site, ())),
        )
        for metres, site in matched
    )


def _words(survey: Survey, shown: Iterable[AppearanceRow]) -> Iterable[EnvelopeRow]:
    """The texts that came with the photos, each once."""
    for message, envelope in dict.fromkeys((one.message, one.envelope) for one in shown):
        for layer in messages.envelopes_of(survey, message):
            if layer.number == envelope and layer.text.strip():
                yield layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one determiner said of a sighting, in words for the page."""

    by: str
    what: str
    remarks: str
    at: str


def said_of(survey: Survey, sighting: str, *, but_by: str = "") -> list[Said]:
    """What determiners said of a sighting, without one of them; the newest word of each."""
    names = {person.code: person.name or person.code for person in people.all_people(survey)}
    newest: dict[str, Determination] = {}
    for one in said.of_sighting(survey, sighting):
        newest[one.identified_by] = one
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


def neighbours(survey: Survey, identifier: str, *, undated: bool = False) -> list[SightingRow]:
    """Sightings of the same observer on the same day, the earliest first.

    ``undated`` ones say nothing of their time by their order.
    """
    row = kept.find(survey, identifier)
    same_day = kept.of_observer_and_day(survey, row.observer, row.event_date[:10])
    others = [one for one in same_day if one.identifier != row.identifier and one.members]
    others.sort(key=lambda one: ("" if undated else one.event_date, one.identifier))
    return others[:NEIGHBOURS]
