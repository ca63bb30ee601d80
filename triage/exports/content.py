"""The records that an export takes: everything of a survey that could be said, unreleased."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from triage.checklist import Taxon
from triage.determinations import Accepted, Determination
from triage.exuviae import ExuviaeLot, Site, SiteMeasurement, Visit
from triage.matching import Match
from triage.sightings import Sighting


@dataclass(frozen=True, slots=True, kw_only=True)
class MediaRow:
    """One photo of one sighting; a photo of two animals is two rows.

    ``format`` as in :class:`triage.photos.Photo`; width and height of the upright image; ``box``
    is x0, y0, x1, y1 as fractions of it; ``focus`` 1 sharp, 0 blurred, measured on the insect by
    ``focus_method``; ``capture_date`` ISO 8601 or empty; ``creator`` a person's code; ``licence``
    a URI, empty where nobody gave one. ``cleared_for_publication`` only after a human looked for
    faces. ``held_back`` is why it may not leave for some other reason, in words, or empty.
    """

    sighting: str
    sha256: str
    format: str
    width: int
    height: int
    view: str = ""
    box: tuple[float, float, float, float] | None = None
    focus: float | None = None
    focus_method: str = ""
    capture_date: str = ""
    creator: str = ""
    licence: str = ""
    cleared_for_publication: bool = False
    held_back: str = ""
    is_best: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonRow:
    """One person under a code; the name is released only with consent. ``orcid`` may be empty."""

    code: str
    name: str = ""
    consent_to_name: bool = False
    orcid: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyMetadata:
    """What the metadata document says of the survey.

    ``identifier`` is the survey's own, the same in all its exports and in no other survey's;
    ``zone`` an IANA time zone; ``licence`` of the records, a URI or empty; ``contact_name`` (a
    role) and ``contact_address`` are published as they stand; empty where they are not to be.
    ``country_code`` is ISO 3166-1 alpha-2. ``version`` names the product and its version.
    """

    title: str
    identifier: str = ""
    description: str = ""
    zone: str = ""
    licence: str = ""
    contact_name: str = ""
    contact_address: str = ""
    country_code: str = ""
    institution_code: str = ""
    rights_holder: str = ""
    version: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportContent:
    """All that an export is made from.

    ``accepted`` by sighting identifier; ``determinations`` in the order in which they were made;
    ``lots`` with the place and days of their visits (``complete_lots``): their privacy hangs on
    it; ``taxa`` the checklist (families and sensitive taxa come from it). ``in_doubt`` says by
    sighting identifier what is still an open question; ``open_messages`` counts messages that
    nobody has settled. People named in tables
    (``recorded_by``, ``identified_by``) are looked up in ``people`` by code or by name.
    """

    survey: SurveyMetadata
    sightings: tuple[Sighting, ...] = ()
    determinations: tuple[Determination, ...] = ()
    accepted: Mapping[str, Accepted] = field(default_factory=dict)
    photos: tuple[MediaRow, ...] = ()
    matches: tuple[Match, ...] = ()
    sites: tuple[Site, ...] = ()
    visits: tuple[Visit, ...] = ()
    lots: tuple[ExuviaeLot, ...] = ()
    measurements: tuple[SiteMeasurement, ...] = ()
    people: tuple[PersonRow, ...] = ()
    taxa: tuple[Taxon, ...] = ()
    in_doubt: Mapping[str, str] = field(default_factory=dict)
    open_messages: int = 0
