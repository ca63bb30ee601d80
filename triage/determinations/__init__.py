"""What determiners say of a sighting, which name stands, and when a second look is needed."""

from triage.determinations.accepting import accepted, asks_for_second_opinion, newest_of_each
from triage.determinations.care import care_needed, lineage_of
from triage.determinations.following import follow, sighting_of
from triage.determinations.records import (
    Accepted,
    Determination,
    DeterminationOutcome,
    SightingState,
    Statement,
    said_by,
)
from triage.determinations.statements import read_statement
from triage.determinations.tables import SaidRow, read_determinations

__all__ = [
    "Accepted",
    "Determination",
    "DeterminationOutcome",
    "SaidRow",
    "SightingState",
    "Statement",
    "accepted",
    "asks_for_second_opinion",
    "care_needed",
    "follow",
    "lineage_of",
    "newest_of_each",
    "read_determinations",
    "read_statement",
    "said_by",
    "sighting_of",
]
