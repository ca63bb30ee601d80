"""Photos of one animal become a sighting: which photos, and the facts that they give it."""

from triage.sightings.proposing import Frame, GroupingRules, may_be_one_animal, propose
from triage.sightings.records import Edit, Facts, Member, Sighting, sighting_identifier

__all__ = [
    "Edit",
    "Facts",
    "Frame",
    "GroupingRules",
    "Member",
    "Sighting",
    "may_be_one_animal",
    "propose",
    "sighting_identifier",
]
