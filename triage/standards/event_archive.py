"""The terms of the event archive and of the extensions that both archives use.

References
----------
Darwin Core Maintenance Group. List of Darwin Core terms (edition of 2026-05-26). Biodiversity
Information Standards (TDWG). http://rs.tdwg.org/dwc/terms/
TDWG Humboldt Extension Task Group. Humboldt Extension Vocabulary List of Terms (2024-03-26).
http://rs.tdwg.org/dwc/doc/eco/
"""

from __future__ import annotations

from collections.abc import Iterable

from triage.standards.darwin_core import DWC, term_uri

ECO = "http://rs.tdwg.org/eco/terms/"
HUMBOLDT_ROW_TYPE = ECO + "Event"


def darwin_core_columns(names: Iterable[str]) -> dict[str, str]:
    """Headers and their term URIs, for terms of Darwin Core and Dublin Core."""
    return {name: term_uri(name) for name in names}


def extension_columns(names: Iterable[str], *, vocabulary: str = DWC) -> dict[str, str]:
    """Headers and term URIs of an extension, behind the column that names its core row."""
    return {"coreid": "", **{name: vocabulary + name for name in names}}


def yes_or_no(value: bool) -> str:
    """A boolean as the Humboldt terms write it.

    >>> yes_or_no(True)
    'true'
    """
    return "true" if value else "false"
