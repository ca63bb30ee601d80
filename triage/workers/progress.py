"""How far long work has come: what the screens hand in and the stages call."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Called as work goes on: what is done, how much of it, out of how much (None: unknown)."""

    def __call__(self, what: str, done: int, total: int | None) -> None: ...


def silent(what: str, done: int, total: int | None) -> None:
    """Show nothing."""
