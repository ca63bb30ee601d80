"""Reads checklists, and names as people write them; compares taxa and knows their seasons."""

from triage.checklist.likely import Likely, by_season_and_place, in_checklist_order
from triage.checklist.marks import read_qualifier
from triage.checklist.names import canonical_name, rank_of_name, suborder_of_family
from triage.checklist.reading import read_checklist
from triage.checklist.scores import TaxonScore, read_scores
from triage.checklist.taxa import BELOW_GENUS, RANKS, Agreement, Taxon
from triage.checklist.tree import Checklist
from triage.checklist.written import WrittenName, name_alone, read_name, read_qualified
