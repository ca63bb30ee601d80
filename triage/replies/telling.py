"""What a letter may tell its reader of a sighting: what stands, as far as it may be said."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from triage import privacy
from triage.checklist import BELOW_GENUS
from triage.exports import ExportContent
from triage.exports.release import Release
from triage.quality import Measurement
from triage.replies.letters import LetterSighting, Wish, wish_for
from triage.sightings import Sighting
from triage.standards.darwin_core import name_with_qualifier


@dataclass(frozen=True, slots=True, kw_only=True)
class Sources:
    """What letters are made from: the held records, what may be released, and what was measured.

    ``vernacular`` by scientific name, ``firsts`` by sighting identifier (:func:`firsts_of`).
    """

    content: ExportContent
    release: Release
    measurements: Mapping[str, Measurement]
    vernacular: Mapping[str, str]
    firsts: Mapping[str, str]


def firsts_of(found: Iterable[Sighting]) -> dict[str, str]:
    """Which sightings are the first of their species in the survey, or at their water."""
    firsts: dict[str, str] = {}
    seen: set[tuple[str, str]] = set()
    named = [s for s in found if s.scientific_name and s.taxon_rank in BELOW_GENUS and s.event_date]
    for one in sorted(named, key=lambda s: (s.event_date, s.identifier)):
        if one.state != "determined" or one.qualifier:
            continue
        if (one.scientific_name, "") not in seen:
            firsts[one.identifier] = "survey"
        elif one.location_id and (one.scientific_name, one.location_id) not in seen:
            firsts[one.identifier] = "water"
        seen |= {(one.scientific_name, ""), (one.scientific_name, one.location_id)}
    return firsts


def said_of(sighting: Sighting) -> str:
    """What a letter said of a sighting: by this it is known whether it must be said anew."""
    return " ".join(filter(None, (sighting.state, sighting.qualifier, sighting.scientific_name)))


def told(known: Sources, one: Sighting, *, vernacular: bool) -> LetterSighting:
    """A settled sighting as its own observer may hear of it.

    ``vernacular`` where the letter is in the language of the checklist's vernacular names.
    """
    hidden = known.release.sighting_sensitivity[one.identifier].hidden
    place = _water_of(known, one) or one.locality
    water, years, here, searched = _skins(known, one)
    # The letter says "probably" where a determiner wrote one of these two.
    named = replace(one, qualifier="") if one.qualifier in ("cf.", "?") else one
    return LetterSighting(
        identifier=one.identifier,
        day=one.event_date[:10],
        place="" if hidden else place,
        private=hidden and bool(place),
        located=one.decimal_latitude is not None,
        name=name_of(known, named, vernacular=vernacular),
        short_name=name_of(known, named, vernacular=False),
        doubtful=bool(one.qualifier),
        coarse=one.taxon_rank not in BELOW_GENUS,
        reason=_reason(known, one),
        bred_at=water,
        bred_years=years,
        bred_here=here,
        searched=searched,
        first=known.firsts.get(one.identifier, ""),  # type: ignore[arg-type]
        wish=_wish(known, one),
    )


def name_of(known: Sources, one: Sighting, *, vernacular: bool = True) -> str:
    """The accepted name as it is written in a letter, the vernacular name beside it if wanted."""
    if not one.scientific_name:
        return ""
    name = name_with_qualifier(one.scientific_name, one.qualifier)
    if one.taxon_rank == "genus":
        name += " sp."
    common = known.vernacular.get(one.scientific_name, "") if vernacular else ""
    return f"{name} ({common})" if common else name


def _reason(known: Sources, one: Sighting) -> str:
    """The newest determiner's reason, without anybody's name or a hidden place."""
    said = [d for d in known.content.determinations if d.sighting == one.identifier]
    text = said[-1].reason if said else ""
    names = [person.name for person in known.content.people if person.name]
    return privacy.redact(text, names=names, places=known.release.secret_places)


def _skins(known: Sources, one: Sighting) -> tuple[str, tuple[int, ...], bool, bool]:
    """The nearest water where skins of the taxon were found, its years, whether it is the same
    water, and whether anybody searched near by at all."""
    shown = _shown_waters(known)
    near = [m for m in known.content.matches if m.sighting == one.identifier and m.location_id]
    found = [
        match
        for match in near
        if match.breeding_evidence == "exuviae"
        and match.taxon_agreement == "same"
        and match.location_id in shown
    ]
    searched = any(match.breeding_evidence in ("exuviae", "not found") for match in near)
    if not found or not one.scientific_name:
        return "", (), False, searched
    nearest = min(found, key=lambda m: m.distance if m.distance is not None else 1e9)
    here = shown[nearest.location_id] == _water_of(known, one)
    return shown[nearest.location_id], nearest.exuviae_years, here, searched


def _wish(known: Sources, one: Sighting) -> Wish:
    measured = [known.measurements[p] for p in one.photos if p in known.measurements]
    if not measured:
        return ""
    best = max(measured, key=lambda m: m.usability)
    return wish_for(
        named_to_species=bool(one.scientific_name) and one.taxon_rank in BELOW_GENUS,
        has_dorsal=bool(one.best_dorsal),
        has_lateral=bool(one.best_lateral),
        pixels=best.insect_px,
        focus=best.focus,
    )


def found_by_water(sources: Sources, found: Iterable[Sighting]) -> dict[str, Counter[str]]:
    """What was found where, at waters whose names may be said."""
    shown = _shown_waters(sources)
    by_water: dict[str, Counter[str]] = {}
    for one in found:
        water = _water_of(sources, one)
        hidden = sources.release.sighting_sensitivity[one.identifier].hidden
        if water in shown.values() and not hidden:
            by_water.setdefault(water, Counter())[name_of(sources, one)] += 1
    return by_water


def _water_of(sources: Sources, one: Sighting) -> str:
    """The site that was named, or the nearest known one that a fix may lie at."""
    names = {site.location_id: site.locality for site in sources.content.sites}
    if one.location_id in names:
        return names[one.location_id]
    at = [
        match
        for match in sources.content.matches
        if match.sighting == one.identifier
        and match.location_id in names
        and match.distance_least == 0
        and match.distance is not None
    ]
    nearest = min(at, key=lambda m: m.distance or 0.0, default=None)
    return names[nearest.location_id] if nearest else ""


def bred_in(sources: Sources, year: int) -> list[str]:
    """The taxa whose skins were collected in a year, without those in doubt or kept back."""
    return sorted(
        {
            lot.scientific_name
            for lot in sources.content.lots
            if lot.individual_count > 0
            and lot.first_day.startswith(f"{year}-")
            and not lot.identification_qualifier
            and not sources.release.lot_sensitivity[lot.catalog_number].hidden
        }
    )


def _shown_waters(sources: Sources) -> dict[str, str]:
    return {
        site.location_id: site.locality
        for site in sources.content.sites
        if not sources.release.site_sensitivity[site.location_id].hidden
    }
