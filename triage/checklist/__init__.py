"""A checklist table in, taxa with ranks, synonyms and seasons that names resolve to out."""

from triage.checklist.likely import Likely, by_season_and_place, in_checklist_order
from triage.checklist.names import canonical_name, suborder_of_family
from triage.checklist.reading import read_checklist
from triage.checklist.taxa import RANKS, Agreement, Taxon
from triage.checklist.tree import Checklist

__all__ = [
    "RANKS",
    "Agreement",
    "Checklist",
    "Likely",
    "Taxon",
    "by_season_and_place",
    "canonical_name",
    "in_checklist_order",
    "read_checklist",
    "suborder_of_family",
]
