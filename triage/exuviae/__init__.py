"""Reads sites, visits and exuviae lots, and resolves what they refer to."""

from triage.exuviae.finds import TaxonFound, taxa_found
from triage.exuviae.footprints import point_of_footprint, read_footprint
from triage.exuviae.labels import (
    Label,
    LabelLine,
    LabelProblem,
    ReadLabel,
    near_sites,
    read_label,
    sites_called,
)
from triage.exuviae.misplaced import slip_of_point
from triage.exuviae.new_sites import new_site
from triage.exuviae.records import ExuviaeLot, Site, SiteMeasurement, Visit
from triage.exuviae.references import (
    UnresolvedReference,
    complete_lots,
    open_references,
    placed,
    resolve_lots,
)
from triage.exuviae.site_values import read_site_values
from triage.exuviae.sites import DEFAULT_UNCERTAINTY_IN_METERS, read_sites
from triage.exuviae.visits_and_lots import lot_of, read_lots, read_visits, visit_of
