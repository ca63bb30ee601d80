"""Refuses a row that bears the identifier of another record of the survey, or nearly bears it.

A row with a known identifier updates its record, so a number that was given a second time, as in
the next season, would overwrite the first without a word.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from triage.analysis import geodesy
from triage.checklist.typed import plain
from triage.exuviae.records import ExuviaeLot, Site, Visit
from triage.standards.tables import CellError, plain_identifier

MOVED_METRES = 1_000.0  # a site with another name so far away is another site; our own choice


def spellings(identifiers: Iterable[str]) -> dict[str, str]:
    """Identifiers of the survey by what their spellings share."""
    return {plain_identifier(one): one for one in identifiers}


def refuse_other_site(site: Site, held: Site | None) -> None:
    """A site of another name at another place under the identifier of a known one."""
    if held is None or plain(site.locality) in {
        plain(name) for name in (held.locality, held.location_id, *held.aliases)
    }:
        return
    away = geodesy.distances(
        site.decimal_latitude,
        site.decimal_longitude,
        [held.decimal_latitude],
        [held.decimal_longitude],
    )[0]
    if away > max(MOVED_METRES, held.coordinate_uncertainty_in_meters):
        what = f"{held.locality}, {away / 1000:.1f} km from here"
        raise CellError("locationID", _reason(site.location_id, what, "site"))


def refuse_other_visit(visit: Visit, held: Visit | None) -> None:
    """A visit of another season, or of another site on another day, under a known identifier.

    Only the year changed is a year corrected.
    """
    if held is None or visit.first_day[4:] == held.first_day[4:]:
        return
    apart = visit.last_day < held.first_day or visit.first_day > held.last_day
    moved = visit.location_id != held.location_id
    if apart and (moved or visit.first_day[:4] != held.first_day[:4]):
        what = f"the visit to {held.location_id} on {held.first_day}"
        raise CellError("eventID", _reason(visit.event_id, what, "visit"))


def refuse_other_lot(lot: ExuviaeLot, held: ExuviaeLot | None) -> None:
    """A lot of another visit with another name or count under a known identifier."""
    if held is None:
        return
    if lot.event_id and held.event_id:
        moved = lot.event_id != held.event_id
    else:
        moved = bool(lot.first_day and held.first_day and lot.first_day != held.first_day)
    other = (lot.scientific_name, lot.individual_count) != (
        held.scientific_name,
        held.individual_count,
    )
    if moved and other:
        where = held.event_id or f"{held.location_id} on {held.first_day}"
        what = f"a lot of {held.individual_count} exuviae of {where}"
        raise CellError("catalogNumber", _reason(lot.catalog_number, what, "lot"))


def refuse_site_for_visit(visit: Visit, sites: Sequence[Site]) -> None:
    """The name of a site where its identifier belongs, or its identifier as the visit's own."""
    known = {site.location_id for site in sites}
    if visit.event_id in known and visit.location_id not in known:
        raise CellError(
            "eventID",
            f"{visit.event_id} is a site. The columns seem exchanged: correct the header.",
        )
    if visit.location_id in known:
        return
    called = [
        site.location_id
        for site in sites
        if plain(visit.location_id) in {plain(name) for name in (site.locality, *site.aliases)}
        or plain_identifier(visit.location_id) == plain_identifier(site.location_id)
    ]
    if called:
        raise CellError(
            "locationID",
            f"'{visit.location_id}' is no locationID. Write {' or '.join(called)}, if it is that "
            "site.",
        )


def _reason(identifier: str, what: str, kind: str) -> str:
    return (
        f"{identifier} is {what} in the survey. Give another {kind} an identifier of its own; if "
        "it is that one and was wrong, take back its import first ('triage log', 'triage undo')."
    )
