"""A survey in, how many of its records were lost to what on the way to the figures out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from triage.matching.outings import one_day
from triage.pipeline import tables
from triage.report.material import Loss
from triage.sightings import Sighting
from triage.store import copies as store_copies
from triage.store import evidence, messages, photos, sightings
from triage.store.connection import Survey


def losses_of(survey: Survey, found: Sequence[Sighting]) -> list[Loss]:
    """From mail to lots, each stage's records and why some of them are in no figure."""
    return [
        *_messages(survey),
        *_photos(survey),
        *_sightings(found),
        *_searches(survey),
    ]


def _messages(survey: Survey) -> list[Loss]:
    every = messages.every(survey)
    states = Counter(row.state for row in every)
    wanted = {
        "open": "open: need a human",
        "waiting": "waiting for their sender",
        "set aside": "set aside",
    }
    return [
        Loss(stage="messages", reason=words, count=states[state], total=len(every))
        for state, words in wanted.items()
    ]


def _photos(survey: Survey) -> list[Loss]:
    rows = photos.load(survey)
    used = {photo for row in sightings.every(survey) for photo, _ in row.members}
    copies = {photo for photo, (_, best) in store_copies.groups(survey, "copy").items() if not best}
    least = survey.settings.sightings.least_odonate
    reasons: Counter[str] = Counter()
    for photo, row in rows.items():
        if photo in used:
            continue
        measured = row.measurement
        if photo in copies:
            reasons["the same picture as another (copy)"] += 1
        elif measured is None:
            reasons["not readable or not examined"] += 1
        elif measured.kind in ("exuvia", "larva"):
            reasons["an exuvia or a larva, not an adult"] += 1
        elif measured.odonate < least:
            reasons["no dragonfly or damselfly seen"] += 1
        else:
            reasons["in no sighting for another reason"] += 1
    names = (
        "the same picture as another (copy)",
        "no dragonfly or damselfly seen",
        "an exuvia or a larva, not an adult",
        "not readable or not examined",
        "in no sighting for another reason",
    )
    return [
        Loss(stage="photos", reason=name, count=reasons[name], total=len(rows)) for name in names
    ]


def _sightings(found: Sequence[Sighting]) -> list[Loss]:
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
        "second opinion asked for": sum(one.state == "second opinion" for one in live),
        "cannot be determined from its photos": sum(one.state == "undeterminable" for one in live),
        "named to a coarser rank than species": sum(
            one.taxon_rank not in ("species", "subspecies") for one in named
        ),
    }
    return [
        Loss(stage="sightings", reason=reason, count=count, total=total)
        for reason, count in counts.items()
    ]


def _searches(survey: Survey) -> list[Loss]:
    sites = {site.location_id for site in evidence.sites(survey)}
    visits, lots = evidence.visits(survey), tables.counted_lots(survey)
    unresolved = len(tables.unresolved_lots(survey))
    known = {visit.event_id for visit in visits}
    measured = evidence.site_measurements(survey)
    species = ("species", "subspecies")
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
                lot.taxon_rank not in species or bool(lot.identification_qualifier) for lot in lots
            ),
            total=len(lots),
        ),
        Loss(
            stage="site values",
            reason="of a site that is not imported",
            count=sum(row["location_id"] not in sites for row in measured),
            total=len(measured),
        ),
    ]
