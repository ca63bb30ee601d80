"""Make the rows of sites, visits and matches, giving no hidden place away."""

from __future__ import annotations

from collections import defaultdict

from triage.analysis import geodesy
from triage.exports.content import ExportContent
from triage.exports.occurrences import (
    Row,
    exported_sightings,
    in_blind_order,
    joined,
    number_text,
    place_terms,
)
from triage.exports.release import Release
from triage.exuviae import Site
from triage.matching import Match
from triage.privacy import ReleasedPoint
from triage.standards import darwin_core
from triage.standards.darwin_core import persistent_id

RELEASED_SHARE_DECIMALS = 1  # finer shares of several sites would pin down the held coordinates
SHARES_MISSING = 1e-6  # the shares of a sighting sum to 1; less of it is a row left out
SHARES_WITHHELD = "shares withheld, since an explanation of this sighting is"


def site_rows(content: ExportContent, release: Release) -> list[Row]:
    """One row per site; a hidden one keeps its grid cell and loses every name."""
    return [_site_row(release, site) for site in content.sites]


def _site_row(release: Release, site: Site) -> Row:
    hidden = release.hides_site(site.location_id)
    point = release.site_points[site.location_id]
    row: Row = {"locationID": release.site_ids[site.location_id], **place_terms(point)}
    withheld = [point.information_withheld]
    if hidden:
        withheld.append("names, habitat and remarks withheld")
    else:
        row |= {
            "locality": release.place_text(site.locality),
            "verbatimLocality": " | ".join(map(release.place_text, site.aliases)),
            "waterBody": release.place_text(site.water_body),
            "habitat": release.free_text(site.habitat),
            "locationRemarks": release.free_text(site.location_remarks),
        }
    if release.internal:
        row |= {
            "footprintWKT": site.footprint_wkt,
            "privateHome": "yes" if site.private else "no",
            "sensitivityCategory": site.sensitivity,
        }
    elif site.footprint_wkt:
        withheld.append("outline withheld")
    row["informationWithheld"] = joined(*withheld)
    return row


def visit_rows(content: ExportContent, release: Release) -> list[Row]:
    """One row per visit, those that found nothing included."""
    rows = []
    for visit in content.visits:
        hidden = release.hides_site(visit.location_id)
        days = "/".join(dict.fromkeys((visit.first_day, visit.last_day)))
        row = {
            "eventID": persistent_id("visit", visit.event_id) if hidden else visit.event_id,
            "eventType": "siteVisit",
            "locationID": release.location_id(visit.location_id),
            "samplingProtocol": release.free_text(visit.sampling_protocol),
            "samplingEffort": release.free_text(visit.sampling_effort),
            "recordedBy": "" if hidden else release.person(visit.recorded_by),
            "recordedByID": "" if hidden else release.orcid(visit.recorded_by),
            "eventRemarks": "" if hidden else release.free_text(visit.event_remarks),
            "informationWithheld": "observer and remarks withheld" if hidden else "",
            "passes": str(visit.passes),
            "permit": visit.permit if release.internal else "",
        }
        rows.append(row | darwin_core.event_terms(days))
    return rows


def match_rows(content: ExportContent, release: Release) -> list[Row]:
    """One row per match of a sighting that is shown.

    Released, a match with a hidden sighting, a hidden site or a site with a hidden lot is left
    out, and distances are between the released points: distances from the held point to three
    sites would give it back to the metre. Where a row is left out, all shares of its sighting
    are withheld: those of the rest would no longer be what matching found.
    """
    shown = {s.identifier: s for s in exported_sightings(content, release)}
    if release.internal:
        return in_blind_order(_held_match(m) for m in content.matches if m.sighting in shown)
    guarded = {
        lot.location_id
        for lot in content.lots
        if release.lot_sensitivity[lot.catalog_number].hidden
    } | {name for name, wanted in release.site_sensitivity.items() if wanted.hidden}
    spoken_of = [
        match
        for match in content.matches
        if match.sighting in shown
        and match.location_id not in guarded
        and not release.sighting_sensitivity[match.sighting].hidden
    ]
    totals: dict[str, float] = defaultdict(float)
    for match in spoken_of:
        totals[match.sighting] += match.share
    for match in content.matches:
        if match.location_id in guarded:
            totals[match.sighting] = 0.0
    points = [
        (
            release.sighting_points[match.sighting],
            release.site_points.get(match.location_id, ReleasedPoint()),
        )
        for match in spoken_of
    ]
    metres = geodesy.metres_of_pairs(points)
    return in_blind_order(
        _released_match(match, both, apart, whole=totals[match.sighting] > 1 - SHARES_MISSING)
        for match, both, apart in zip(spoken_of, points, metres, strict=True)
    )


def _common(match: Match) -> Row:
    return {
        "occurrenceID": persistent_id("sighting", match.sighting),
        "locationID": match.location_id,
        "leastDays": "" if match.days_least is None else str(match.days_least),
        "greatestDays": "" if match.days_most is None else str(match.days_most),
        "season": match.season,
        "taxonAgreement": match.taxon_agreement,
        "agreementRank": match.agreement_rank,
        "passesInItsDays": str(match.passes),
        "presenceProbability": number_text(round(match.presence, 3)),
        "relativeAbundance": number_text(round(match.abundance, 3)),
    }


def _held_match(match: Match) -> Row:
    return _common(match) | {
        "distanceInMeters": _metres(match.distance),
        "leastDistanceInMeters": _metres(match.distance_least),
        "greatestDistanceInMeters": _metres(match.distance_most),
        "movementDensity": number_text(match.movement_density),
        "likelihood": number_text(match.likelihood),
        "share": number_text(round(match.share, 6)),
        "shareLow": number_text(round(match.share_low, 6)),
        "shareHigh": number_text(round(match.share_high, 6)),
        "reason": match.reason,
    }


def _released_match(
    match: Match, points: tuple[ReleasedPoint, ReleasedPoint], metres: float | None, *, whole: bool
) -> Row:
    """The row as released; its share only where the ``whole`` sum of the sighting's is shown."""
    withheld = "distances between the released points; exact terms withheld"
    shares = (
        ("share", match.share), ("shareLow", match.share_low), ("shareHigh", match.share_high)
    )  # fmt: skip
    row = _common(match) | {
        **{name: f"{value:.{RELEASED_SHARE_DECIMALS}f}" for name, value in shares if whole},
        "informationWithheld": withheld if whole else f"{withheld}; {SHARES_WITHHELD}",
    }
    if metres is None:
        return row
    row["distanceInMeters"] = _metres(metres)
    radius, to_radius = (one.coordinate_uncertainty_in_meters for one in points)
    if radius is not None and to_radius is not None:
        least, most = geodesy.distance_bounds(metres, radius, to_radius)
        row |= {"leastDistanceInMeters": _metres(least), "greatestDistanceInMeters": _metres(most)}
    return row


def _metres(value: float | None) -> str:
    return "" if value is None else f"{value:.0f}"
