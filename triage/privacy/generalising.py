"""Decide how coarsely a place and a date may be released.

Places are generalised on a grid, never moved at random; the categories are those of Chapman.

References
----------
Chapman, A. D. (2020). Current Best Practices for Generalizing Sensitive Species Occurrence Data.
GBIF Secretariat. https://doi.org/10.15468/doc-5jp4-5g10 (table 7 and chapters 4 and 5)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from triage.analysis import geodesy
from triage.standards.darwin_core import BasisOfRecord, OccurrenceStatusWords

CATEGORY_PRECISION: Mapping[str, float | None] = MappingProxyType(
    {"1": None, "2": 0.1, "3": 0.01, "4": 0.001}
)
"""Degrees of the grid for each category of Chapman 2020, table 7; None: no coordinates at all."""

HIDING_CATEGORIES = frozenset({"1", "2", "3"})
"""Categories whose place names, exact times and observers would give the place away; category 4
(0.001 degree) is as fine as an ordinary release."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasePolicy:
    """What an export may say.

    ``release_precision`` and ``private_home_precision`` are widths of the grid in degrees.
    ``sensitive_taxa`` maps names to a category ``1`` to ``4``, on top of the checklist's own.
    ``occurrence_status`` chooses present/absent (what the published quality test accepts, the
    default) or detected/notDetected (Darwin Core since 2026-05-26). ``basis_of_record`` is for
    photo sightings: Darwin Core's class examples put a photograph under MachineObservation, common
    practice for what a person saw and photographed is HumanObservation, the default.
    ``media_base_uri`` is put before ``media/...`` in the archive, where the photos will stand.
    ``include_unnamed`` releases sightings that nobody has named yet, as the order Odonata;
    ``include_doubted`` those with an open question about time or place, marked in their remarks.
    """

    release_precision: float = 0.001
    internal: bool = False
    occurrence_status: OccurrenceStatusWords = "present"
    basis_of_record: BasisOfRecord = "HumanObservation"
    private_home_precision: float = 0.01
    category_precision: Mapping[str, float | None] = field(
        default_factory=lambda: CATEGORY_PRECISION
    )
    sensitive_taxa: Mapping[str, str] = field(default_factory=dict)
    media_base_uri: str = ""
    include_unnamed: bool = False
    include_doubted: bool = False

    def __post_init__(self) -> None:
        for width in (self.release_precision, self.private_home_precision):
            if not 0 < width <= 1:
                raise ValueError("a release precision must be more than 0 and at most 1 degree")
        for category in (*self.category_precision, *self.sensitive_taxa.values()):
            if category not in CATEGORY_PRECISION:
                raise ValueError(
                    f"{category!r} is not a category of sensitivity: take 1, 2, 3 or 4"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """How coarse a record must be. ``precision`` in degrees, None: no coordinates.

    ``hidden``: names of places, exact times, observers, remarks and media would give the place
    away and are withheld too. ``reasons`` in words, empty for an ordinary record.
    """

    precision: float | None
    hidden: bool = False
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasedPoint:
    """Coordinates as released, with the sentences for the two Darwin Core terms."""

    decimal_latitude: float | None = None
    decimal_longitude: float | None = None
    coordinate_uncertainty_in_meters: float | None = None
    coordinate_precision: float | None = None
    data_generalizations: str = ""
    information_withheld: str = ""


def sensitivity(
    policy: ReleasePolicy,
    *,
    site_categories: Iterable[str] = (),
    taxon_categories: Iterable[str] = (),
    private_home: bool = False,
) -> Sensitivity:
    """The strictest of what the sites, the taxa and the policy ask for.

    >>> sensitivity(ReleasePolicy(), taxon_categories=["3"]).precision
    0.01
    >>> sensitivity(ReleasePolicy(), site_categories=["1", "4"]).precision is None
    True
    """
    widths: list[float | None] = [policy.release_precision]
    reasons: list[str] = []
    hidden = private_home
    for kind, categories in (("site", site_categories), ("taxon", taxon_categories)):
        for category in sorted(set(categories) - {""}):
            # A category that nobody defined is treated as the strictest one.
            widths.append(policy.category_precision.get(category))
            reasons.append(f"sensitive {kind}, category {category}")
            hidden = hidden or category in HIDING_CATEGORIES or category not in CATEGORY_PRECISION
    if private_home:
        widths.append(policy.private_home_precision)
        reasons.append("private home")
    known = [width for width in widths if width is not None]
    return Sensitivity(
        precision=max(known) if len(known) == len(widths) else None,
        hidden=hidden,
        reasons=tuple(reasons),
    )


def release_point(
    latitude: float | None,
    longitude: float | None,
    uncertainty_metres: float | None,
    wanted: Sensitivity,
) -> ReleasedPoint:
    """The point as it may be released: the centroid of its grid cell, or nothing.

    Parameters
    ----------
    latitude, longitude : float or None
        Decimal degrees (EPSG:4326). None: there is no place to release.
    uncertainty_metres : float or None
        coordinateUncertaintyInMeters as held; None: not known, and then not known afterwards.
    wanted : Sensitivity
        How coarse the place must be.

    Returns
    -------
    ReleasedPoint
        The uncertainty is enlarged by half the diagonal of the cell, so it holds the true place.

    Raises
    ------
    ValueError
        If the latitude is out of range.

    References
    ----------
    Chapman, A. D. (2020). https://doi.org/10.15468/doc-5jp4-5g10

    Examples
    --------
    >>> point = release_point(53.91234, 21.71876, 10.0, Sensitivity(precision=0.01))
    >>> point.decimal_latitude, point.decimal_longitude
    (53.91, 21.72)
    """
    because = f" ({'; '.join(wanted.reasons)})" if wanted.reasons else ""
    if latitude is None or longitude is None:
        return ReleasedPoint()
    if wanted.precision is None:
        return ReleasedPoint(information_withheld=f"coordinates withheld{because}")
    known = uncertainty_metres is not None and uncertainty_metres > 0
    cell = geodesy.generalise(
        latitude,
        longitude,
        uncertainty_metres=uncertainty_metres if known and uncertainty_metres else 0.0,
        precision_degrees=wanted.precision,
    )
    enlarged = (
        "the uncertainty is enlarged by half the diagonal of the cell"
        if known
        else "the uncertainty is not known"
    )
    return ReleasedPoint(
        decimal_latitude=cell.decimal_latitude,
        decimal_longitude=cell.decimal_longitude,
        coordinate_uncertainty_in_meters=cell.coordinate_uncertainty_in_meters if known else None,
        coordinate_precision=wanted.precision,
        data_generalizations=(
            f"coordinates moved to the centroid of a grid cell of {wanted.precision:g} degree "
            f"(cells centred on multiples of it, EPSG:4326){because}; {enlarged}"
        ),
        information_withheld=f"more exact coordinates are held{because}",
    )


def day_only(event_date: str) -> str:
    """The date without its time of day.

    >>> day_only("2026-06-13T14:07:05+02:00")
    '2026-06-13'
    >>> day_only("2026-06-13T09:00/2026-06-13T11:30")
    '2026-06-13'
    """
    return "/".join(dict.fromkeys(part[:10] for part in event_date.split("/")))


def month_only(event_date: str) -> str:
    """The date without its day.

    >>> month_only("2026-06-30/2026-07-02")
    '2026-06/2026-07'
    """
    return "/".join(dict.fromkeys(part[:7] for part in event_date.split("/")))
