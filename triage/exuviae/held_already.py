"""Refuses a row that bears the identifier of another record of the survey, or nearly bears it.

A row with a known identifier updates its record, so a number that was given a second time, as in
the next season, would overwrite the first without a word.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from triage.analysis import geodesy
from triage.checklist.typed import plain
from triage.exuviae.records import ExuviaeLot, Site, Visit
from triage.standards.tables import CellError, plain_identifier, without_zeros

_LOST_ZEROS = "{} seems to be {} of the survey, of which a spreadsheet dropped zeros. Write it so."
MOVED_METRES = 1_000.0  # a site with another name so far away is another site; our own choice
FAR_METRES = 10_000.0  # farther no water is from where it was measured before; our own choice


def spellings(identifiers: Iterable[str]) -> dict[str, str]:
    """Identifiers of the survey by what their spellings share."""
    return {plain_identifier(one): one for one in identifiers}


def refuse_other_site(site: Site, held: Site | None) -> None:
    """A site of another name, or very far away, under the identifier of a known one."""
    if held is None:
        return
    same = plain(site.locality) in {
        plain(name) for name in (held.locality, held.location_id, *held.aliases)
    }
    away = geodesy.distances(
        site.decimal_latitude,
        site.decimal_longitude,
        [held.decimal_latitude],
        [held.decimal_longitude],
    )[0]
    if same and away > max(FAR_METRES, held.coordinate_uncertainty_in_meters):
        raise CellError(
            "decimalLatitude",
            f"{site.location_id} lies {away / 1000:.0f} km from here in the survey. Correct the"
            " position. If the survey's is the wrong one, take that off first ('triage sites"
            f" --withdraw {site.location_id}') and import this again.",
        )
    if not same and away > max(MOVED_METRES, held.coordinate_uncertainty_in_meters):
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


def refuse_visit_without_zeros(visit: Visit, held: Mapping[str, list[Visit]]) -> None:
    """A visit of a known day and site under its identifier without the zeros: V1 for V01."""
    for other in held.get(without_zeros(visit.event_id), ()):
        same = (other.location_id, other.first_day) == (visit.location_id, visit.first_day)
        if same and other.event_id != visit.event_id:
            raise CellError("eventID", _LOST_ZEROS.format(visit.event_id, other.event_id))


def refuse_lot_without_zeros(lot: ExuviaeLot, held: Mapping[str, list[ExuviaeLot]]) -> None:
    """A lot of a known visit and name under its number without the zeros: EX-1 for EX-0001."""
    for other in held.get(without_zeros(lot.catalog_number), ()):
        same = (other.event_id, other.scientific_name) == (lot.event_id, lot.scientific_name)
        if same and other.catalog_number != lot.catalog_number:
            raise CellError(
                "catalogNumber", _LOST_ZEROS.format(lot.catalog_number, other.catalog_number)
            )


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
    refuse_other_spelling(visit.location_id, sites)


def refuse_other_spelling(
    location_id: str, sites: Sequence[Site], column: str = "locationID"
) -> None:
    """What is no site of the survey, but nearly the identifier of one, or its name."""
    if location_id in {site.location_id for site in sites}:
        return
    called = [
        site.location_id
        for site in sites
        if plain(location_id) in {plain(name) for name in (site.locality, *site.aliases)}
        or without_zeros(location_id) == without_zeros(site.location_id)
    ]
    if called:
        raise CellError(
            column,
            f"'{location_id}' is no locationID. Write {' or '.join(called)}, if it is that site.",
        )


def _reason(identifier: str, what: str, kind: str) -> str:
    return (
        f"{identifier} is {what} in the survey. Give another {kind} an identifier of its own; if "
        "it is that one and was wrong, take back its import first ('triage log', 'triage undo')."
    )
