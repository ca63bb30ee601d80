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
    of_words = {words: counts[state] for state, words in _STATES.items()}
    return _losses("messages", counts.total(), of_words)


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
    every = (COPY, NO_INSECT, NO_ADULT, NOT_READ, OTHER)
    return _losses("photos", total, {reason: reasons[reason] for reason in every})


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
    return _losses("sightings", total, counts)


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
    elsewhere = "of a site that is not imported"
    of_lots = {
        "without place or date": sum(
            not lot.last_day or lot.location_id not in sites for lot in lots
        ),
        "of a visit that is not imported": sum(
            bool(lot.event_id) and lot.event_id not in known for lot in lots
        ),
        "named to a coarser rank than species, or in doubt": sum(
            lot.taxon_rank not in BELOW_GENUS or bool(lot.identification_qualifier) for lot in lots
        ),
    }
    unnamed = {"bears a name that the checklist does not resolve": unresolved}
    strayed = {elsewhere: sum(visit.location_id not in sites for visit in visits)}
    return [
        *_losses("visits", len(visits), strayed),
        *_losses("lots", len(lots) + unresolved, unnamed),
        *_losses("lots", len(lots), of_lots),
        *_losses(
            "site values", len(measured_at), {elsewhere: sum(x not in sites for x in measured_at)}
        ),
    ]


def _losses(stage: str, total: int, counts: Mapping[str, int]) -> list[Loss]:
    return [
        Loss(stage=stage, reason=reason, count=count, total=total)
        for reason, count in counts.items()
    ]
