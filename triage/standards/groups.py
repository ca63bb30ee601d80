"""Put values that share a key together."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

Key = TypeVar("Key")
Value = TypeVar("Value")


def in_groups(pairs: Iterable[tuple[Key, Value]]) -> dict[Key, list[Value]]:
    """By key: its values, in their order.

    >>> in_groups([("a", 1), ("b", 2), ("a", 3)])
    {'a': [1, 3], 'b': [2]}
    """
    found: dict[Key, list[Value]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return found
