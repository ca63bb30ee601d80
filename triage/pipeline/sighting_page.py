"""Load everything that a determiner should see of one sighting at once."""

from __future__ import annotations

from collections.abc import Iterable

from triage.analysis.geodesy import metres_between
from triage.checklist import in_checklist_order
from triage.exuviae import Site, taxa_found
from triage.mail.kept import AppearanceRow, EnvelopeRow
from triage.metadata.weather_words import weather_told
from triage.pipeline import match, tables
from triage.report.sighting_page import (
    NearSite,
    Said,
    WholeSighting,
    frames_of,
    names_to_offer,
    said_by_each,
    told_facts,
)
from triage.sightings import SightingRow, facts_of
from triage.standards.groups import in_groups
from triage.store import determinations as said
from triage.store import evidence, messages, people, photos
from triage.store import sightings as kept
from triage.store.connection import Survey

CLOSE = 0.09  # degrees of latitude, about 10 km
NEAREST = 3  # sites whose exuviae are shown beside a sighting
NEIGHBOURS = 9  # sightings offered as the same animal


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
    rows = photos.load(survey, row.photos)
    shown = photos.appearances(survey, rows)
    sites = {site.location_id: site for site in evidence.sites(survey)}
    near = () if blind else _near(survey, row, sites)
    made = said.of_sighting(survey, row.identifier)
    words = () if blind else tuple(_words(survey, shown))
    site = sites.get(row.location_id)
    checklist = evidence.checklist(survey)
    names = names_to_offer(checklist, row.event_date, near, blind=blind)
    in_order = in_checklist_order(checklist)
    numbers = {one.taxon.scientific_name: number for number, one in enumerate(in_order)}
    return WholeSighting(
        **facts_of(told_facts(row, blind=blind, undated=undated)),
        identifier=row.identifier,
        blind=blind,
        frames=tuple(frames_of(rows, shown, row, blind=blind)),
        habitat=site.habitat if site and not blind else "",
        near=near,
        words=words,
        weather=tuple(dict.fromkeys(w for one in words for w in weather_told(one.text))),
        names=names,
        numbers=tuple(numbers[one.taxon.scientific_name] for one in names),
        second_opinion=bool(made) and not blind,
        said=len(made),
    )


def _near(survey: Survey, row: SightingRow, sites: dict[str, Site]) -> tuple[NearSite, ...]:
    """The nearest waters, whatever was found there: not those alone that a name makes likely."""
    away = {name: metres_between(row, site) for name, site in sites.items() if _close(row, site)}
    # To the shore where a match has it, else to the middle of the site.
    away |= {m.location_id: m.distance for m in match.current(survey, [row.identifier])}
    nearest = sorted(
        (metres, name) for name, metres in away.items() if name in sites and metres is not None
    )[:NEAREST]
    names = [name for _, name in nearest]
    searched = {visit.location_id for visit in evidence.lots_at(survey, names)[1]}
    lots = in_groups((lot.location_id, lot) for lot in tables.counted_lots(survey, at=names))
    return tuple(
        NearSite(
            locality=sites[site].locality,
            habitat=sites[site].habitat,
            metres=metres,
            searched=site in searched,
            found=taxa_found(lots.get(site, ())),
        )
        for metres, site in nearest
    )


def _close(row: SightingRow, site: Site) -> bool:
    """Whether a site may lie within some ten kilometres, without measuring it."""
    if row.decimal_latitude is None or row.decimal_longitude is None:
        return False
    north = abs(site.decimal_latitude - row.decimal_latitude)
    return north <= CLOSE and abs(site.decimal_longitude - row.decimal_longitude) <= 3 * CLOSE


def _words(survey: Survey, shown: Iterable[AppearanceRow]) -> Iterable[EnvelopeRow]:
    """The texts that came with the photos, each once."""
    for message, envelope in dict.fromkeys((one.message, one.envelope) for one in shown):
        for layer in messages.envelopes_of(survey, message):
            if layer.number == envelope and layer.text.strip():
                yield layer


def said_of(survey: Survey, sighting: str, *, but_by: str = "") -> list[Said]:
    """What determiners said of a sighting, without one of them; the newest word of each."""
    names = {person.code: person.name or person.code for person in people.all_people(survey)}
    return said_by_each(said.of_sighting(survey, sighting), names, but_by=but_by)


def neighbours(survey: Survey, identifier: str, *, undated: bool = False) -> list[SightingRow]:
    """Sightings of the same observer on the same day, the earliest first.

    ``undated`` ones say nothing of their time by their order.
    """
    row = kept.find(survey, identifier)
    same_day = kept.of_observer_and_day(survey, row.observer, row.event_date[:10])
    others = [one for one in same_day if one.identifier != row.identifier and one.members]
    others.sort(key=lambda one: ("" if undated else one.event_date, one.identifier))
    return others[:NEIGHBOURS]
