"""Every key of the desk with what it does: the list on "?" and the buttons read it from here."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: as the browser names it, as it stands on the button, what it does."""

    key: str
    label: str
    does: str


EVERYWHERE = (
    Key(key="?", label="?", does="show or hide this list"),
    Key(key="Escape", label="Esc", does="close what is open"),
    Key(key="Tab", label="Tab", does="to the next field or button"),
)
