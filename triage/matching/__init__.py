"""Match sightings with exuviae sites, and weigh what each says about breeding."""

from triage.matching.behaviour import behaviour_of, is_teneral
from triage.matching.effort import Effort
from triage.matching.evidence import (
    WAITING,
    AdultAtSite,
    AdultTally,
    EvidenceScheme,
    EvidenceSettings,
    SiteEvidence,
    adult_evidence,
    adults_at_sites,
    evidence_with_adults,
    published_schemes,
    scheme_named,
    site_evidence,
    strongest_evidence,
)
from triage.matching.linking import match_sightings
from triage.matching.presence import Presence, Waters
from triage.matching.priorities import search_priorities
from triage.matching.records import Match
from triage.matching.search_priority import PrioritySettings, SearchPriority, passes_needed
from triage.matching.sensitivity import Effect, sensitivity, shares_with
from triage.matching.settings import (
    Kernel,
    MatchingSettings,
    Window,
    default_kernels,
    default_windows,
    read_kernels_and_windows,
)
from triage.matching.weeks import SearchDays, day_and_month, search_days
