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
    recorded,
    said_by,
)
from triage.determinations.statements import read_statement
from triage.determinations.tables import SaidRow, read_determinations
