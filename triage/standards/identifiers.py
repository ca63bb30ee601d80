"""What a person types for an identifier: its first digits, too many to be a row's number."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from triage.errors import UnknownError

_Found = TypeVar("_Found")

FEWEST_DIGITS = 6


def beginnings(text: str, shown_by: str) -> tuple[str, str]:
    """The first and the last identifier that begin with the text, whatever its case.

    Listings number their rows, and the numbers change with every listing: "3" typed for the third
    row would be whichever record's identifier happens to begin with 3.

    Raises
    ------
    UnknownError
        If the text has fewer than six digits; it names the command that shows them.
    """
    begins = text.strip().lower()
    if len(begins) < FEWEST_DIGITS:
        raise UnknownError(
            "too few digits for an identifier; a row's number names nothing, since it is another "
            "row's after the next change",
            failing=text,
            next_step=f"Give at least {FEWEST_DIGITS} digits of what {shown_by} shows.",
        )
    return begins, begins + "~"


def the_one(found: Sequence[_Found], noun: str, text: str, shown_by: str) -> _Found:
    """The only record whose identifier begins with the text.

    Raises
    ------
    UnknownError
        If there is none, or several; it names the command that shows them.
    """
    if len(found) == 1:
        return found[0]
    raise UnknownError(
        f"several {noun}s begin like that" if found else f"there is no such {noun}",
        failing=text,
        next_step=f"Give more digits of what {shown_by} shows.",
    )
