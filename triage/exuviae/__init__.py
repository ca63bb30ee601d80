"""Reads sites, visits and exuviae lots, and resolves what they refer to."""

from triage.exuviae.footprints import point_of_footprint, read_footprint
from triage.exuviae.records import ExuviaeLot, Site, SiteMeasurement, Visit
from triage.exuviae.references import (
    UnresolvedReference,
    complete_lots,
    resolve_lots,
    unresolved_references,
)
from triage.exuviae.sites import DEFAULT_UNCERTAINTY_IN_METERS, read_sites
from triage.exuviae.visits_and_lots import read_lots, read_visits

__all__ = [
    "DEFAULT_UNCERTAINTY_IN_METERS",
    "ExuviaeLot",
    "Site",
    "SiteMeasurement",
    "UnresolvedReference",
    "Visit",
    "complete_lots",
    "point_of_footprint",
    "read_footprint",
    "read_lots",
    "read_sites",
    "read_visits",
    "resolve_lots",
    "unresolved_references",
]
