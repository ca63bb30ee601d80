"""Photos of one animal become a sighting: which photos, and the facts that they give it."""

from triage.sightings.facts import Facts, Picture, facts_of
from triage.sightings.proposing import Frame, GroupingRules, may_be_one_animal, propose
from triage.sightings.records import (
    Edit,
    Member,
    Sighting,
    SightingRow,
    member_of,
    sighting_identifier,
    sighting_of,
)
from triage.sightings.regrouping import Regrouped, best_copies, frame_of, on_best_copies, regroup
