"""A number and its noun in, the words for people out: "1 photo", "2 photos"."""

from __future__ import annotations


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun; ``many`` where an s does not make the plural.

    Examples
    --------
    >>> counted(1, "photo"), counted(2, "photo"), counted(0, "visit"), counted(1200, "row")
    ('1 photo', '2 photos', '0 visits', '1,200 rows')
    >>> counted(1, "person", "people"), counted(3, "person", "people")
    ('1 person', '3 people')
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"
