"""What a person types for an identifier: its first digits, too many to be a row's number."""

from __future__ import annotations

from triage.errors import UnknownError

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
