"""Count how many records of each stage are in no figure, from mail to lots, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence

from triage.checklist import BELOW_GENUS
from triage.exuviae import ExuviaeLot, Visit
from triage.matching.outings import one_day
from triage.quality import Measurement
from triage.report.material import Loss
from triage.sightings import Sighting

COPY = "the same picture as another (copy)"
NO_INSECT = "no dragonfly or damselfly seen"
NO_ADULT = "an exuvia or a larva, not an adult"
NOT_READ = "not readable or not examined"
OTHER = "in no sighting for another reason"
_STATES = {
    "open": "open: need a human",
    "waiting": "waiting for their sender",
    "set aside": "set aside",
}


def message_losses(states: Iterable[str]) -> list[Loss]:
    """Of messages, by the state of each: those that wait or were set aside."""
    counts = Counter(states)
    return [
        Loss(stage="messages", reason=words, count=counts[state], total=counts.total())
        for state, words in _STATES.items()
    ]


def photo_losses(
    unused: Mapping[str, Measurement | None],
    *,
    total: int,
    copies: Collection[str],
    least_odonate: float,
) -> list[Loss]:
    """Of photos: those that are in no sighting, each with its measurement if it has one."""
    reasons = Counter(
        _why_unused(one, photo in copies, least_odonate) for photo, one in unused.items()
    )
    return [
        Loss(stage="photos", reason=reason, count=reasons[reason], total=total)
        for reason in (COPY, NO_INSECT, NO_ADULT, NOT_READ, OTHER)
    ]


def _why_unused(measured: Measurement | None, is_copy: bool, least_odonate: float) -> str:
    if is_copy:
        return COPY
    if measured is None:
        return NOT_READ
    if measured.kind in ("exuvia", "larva"):
        return NO_ADULT
    return NO_INSECT if measured.odonate < least_odonate else OTHER


def sighting_losses(found: Sequence[Sighting]) -> list[Loss]:
    """Of sightings: those without name, day or place that the figures could use."""
    live = [one for one in found if one.state != "set aside"]
    total = len(found)
    named = [one for one in live if one.scientific_name]
    counts = {
        "set aside (not an adult, or by hand)": total - len(live),
        "no date": sum(not one.event_date for one in live),
        "date not known to the day": sum(
            bool(one.event_date) and not one_day(one.event_date) for one in live
        ),
        "no place": sum(one.decimal_latitude is None for one in live),
        "place not known to 1 km": sum(
            (one.coordinate_uncertainty_in_meters or 0) > 1000 for one in live
        ),
        "not looked at by a determiner yet": sum(one.state == "queued" for one in live),
        "waiting for a second look: counted under no name": sum(
            one.state == "second opinion" for one in live
        ),
        "cannot be determined from its photos": sum(one.state == "undeterminable" for one in live),
        "named to a coarser rank than species": sum(
            one.taxon_rank not in BELOW_GENUS for one in named
        ),
    }
    return [
        Loss(stage="sightings", reason=reason, count=count, total=total)
        for reason, count in counts.items()
    ]


def search_losses(
    sites: Collection[str],
    visits: Sequence[Visit],
    lots: Sequence[ExuviaeLot],
    measured_at: Sequence[str],
    *,
    unresolved: int,
) -> list[Loss]:
    """Of visits, lots and values of sites: those that refer to what is not there or in doubt.

    ``sites`` are the identifiers of the imported ones, ``measured_at`` the site of each value that
    was measured at one, ``unresolved`` how many lots bear a name
    that the checklist does not hold.
    """
    known = {visit.event_id for visit in visits}
    return [
        Loss(
            stage="visits",
            reason="of a site that is not imported",
            count=sum(visit.location_id not in sites for visit in visits),
            total=len(visits),
        ),
        Loss(
            stage="lots",
            reason="bears a name that the checklist does not resolve",
            count=unresolved,
            total=len(lots) + unresolved,
        ),
        Loss(
            stage="lots",
            reason="without place or date",
            count=sum(not lot.last_day or lot.location_id not in sites for lot in lots),
            total=len(lots),
        ),
        Loss(
            stage="lots",
            reason="of a visit that is not imported",
            count=sum(bool(lot.event_id) and lot.event_id not in known for lot in lots),
            total=len(lots),
        ),
        Loss(
            stage="lots",
            reason="named to a coarser rank than species, or in doubt",
            count=sum(
                lot.taxon_rank not in BELOW_GENUS or bool(lot.identification_qualifier)
                for lot in lots
            ),
            total=len(lots),
        ),
        Loss(
            stage="site values",
            reason="of a site that is not imported",
            count=sum(site not in sites for site in measured_at),
            total=len(measured_at),
        ),
    ]
