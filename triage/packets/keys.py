"""Name packets and the sightings in them, so that a table of answers says what it answers.

A packet's own keys mean nothing to anybody but the survey that made it.
"""

from __future__ import annotations

import re

from triage.standards.digests import short_digest_of

_KEY = re.compile(r"packet-([0-9a-f]{8})-([0-9]{2,4})", re.IGNORECASE)


def identifier_of(what: str) -> str:
    """Eight hexadecimal digits for a packet, from a text that no other packet has."""
    return short_digest_of(what)[:8]


def key_of(packet: str, number: int) -> str:
    """The key of a packet's n-th sighting.

    Examples
    --------
    >>> key_of("7f3a2c10", 7)
    'packet-7f3a2c10-07'
    """
    return f"packet-{packet}-{number:02d}"


def is_key(text: str) -> bool:
    """Whether a text has the form of a key."""
    return _KEY.fullmatch(text.strip()) is not None


def read_key(text: str) -> tuple[str, int] | None:
    """The packet and the number in it that a key means; None for another text.

    Examples
    --------
    >>> read_key("packet-7f3a2c10-07"), read_key("3f29a1b2c4d5e6f7")
    (('7f3a2c10', 7), None)
    """
    found = _KEY.fullmatch(text.strip())
    return (found[1].lower(), int(found[2])) if found else None
