"""Hide what was said of a sighting from whoever is to look at it without knowing."""

from __future__ import annotations

import re
from dataclasses import replace

from triage.sightings import Sighting

_OF_SIGHTING = re.compile(r"\bsighting ([0-9a-f]{16}): .*")
HIDDEN = "not shown while another look is wanted"


def sighting_spoken_of(summary: str) -> str:
    """The identifier of the sighting of which a line of the log tells, empty for none."""
    found = _OF_SIGHTING.search(summary)
    return found[1] if found else ""


def without_what_was_said(summary: str) -> str:
    """A line of the log that names its sighting alone.

    >>> without_what_was_said("sighting 0123456789abcdef: Aeshna mixta")
    'sighting 0123456789abcdef: not shown while another look is wanted'
    """
    return _OF_SIGHTING.sub(rf"sighting \1: {HIDDEN}", summary)


def for_blind_eyes(sighting: Sighting) -> Sighting:
    """A sighting without what was said of it as long as somebody else's look is wanted."""
    if sighting.state != "second opinion":
        return sighting
    return replace(
        sighting,
        scientific_name="",
        taxon_rank="",
        qualifier="",
        sex="",
        behavior="",
        life_stage="",
        agreed=False,
    )
