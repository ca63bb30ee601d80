"""What the survey knows of its waters, its searches there and what they found."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A water or a stretch of shore. ``footprint_wkt`` may be a POINT, LINESTRING or POLYGON.

    ``sensitivity`` is empty or a category 1 to 4 (Chapman 2020, table 7); ``private`` marks the
    home or garden of a person.
    """

    location_id: str
    locality: str
    aliases: tuple[str, ...] = ()
    decimal_latitude: float
    decimal_longitude: float
    coordinate_uncertainty_in_meters: float
    footprint_wkt: str = ""
    water_body: str = ""
    habitat: str = ""
    private: bool = False
    sensitivity: str = ""
    location_remarks: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One search of one site; a visit without lots found nothing. Dates are ISO days."""

    event_id: str
    location_id: str
    first_day: str
    last_day: str
    sampling_protocol: str = ""
    sampling_effort: str = ""
    recorded_by: str = ""
    passes: int = 1
    permit: str = ""
    event_remarks: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExuviaeLot:
    """What one visit collected of one taxon, under its lot number.

    ``location_id``, ``first_day`` and ``last_day`` are empty while they are to be taken from a
    visit that is not imported yet (``complete_lots``). A count of 0 says that the taxon was
    looked for and not found. As imported, ``scientific_name`` holds the words of the label;
    ``resolve_lots`` puts the accepted name there and the words in ``verbatim_identification``.
    """

    catalog_number: str
    event_id: str
    location_id: str
    first_day: str
    last_day: str
    scientific_name: str
    taxon_rank: str
    individual_count: int
    recorded_by: str = ""
    identified_by: str = ""
    date_identified: str = ""
    identification_qualifier: str = ""
    sex: str = ""
    occurrence_remarks: str = ""
    verbatim_identification: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteMeasurement:
    """One value measured at a site on an ISO day, such as conductivity."""

    location_id: str
    measured_on: str
    variable: str
    value: float
    unit: str
    method: str = ""
