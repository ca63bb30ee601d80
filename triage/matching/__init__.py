"""Sightings, sites and exuviae in, matches with distance, season, taxon and likelihood out."""

from triage.matching.linking import is_teneral, match_sightings
from triage.matching.records import Match
from triage.matching.settings import (
    Kernel,
    MatchingSettings,
    Window,
    default_kernels,
    default_windows,
)

__all__ = [
    "Kernel",
    "Match",
    "MatchingSettings",
    "Window",
    "default_kernels",
    "default_windows",
    "is_teneral",
    "match_sightings",
]
