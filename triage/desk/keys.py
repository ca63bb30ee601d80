"""Every key of the desk with what it does: the list on "?" and the buttons read it from here.

No name of a taxon holds a digit, an arrow, a function key or one of these signs: so typing always
goes to the name.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

DIGITS = "1 2 3 4 5 6 7 8 9"
ARROWS = "ArrowLeft ArrowUp ArrowDown ArrowRight"


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key, or several of a kind: as the browser names them, the label, what they do.

    ``act`` is what the scripts of a room call it; empty where it is more than one act.
    """

    key: str
    label: str
    does: str
    act: str = ""

    @property
    def names(self) -> list[str]:
        """The keys by the names that browsers give them (UI Events KeyboardEvent key values)."""
        return self.key.split()


EVERYWHERE = (
    Key(key="?", label="?", does="show or hide this list"),
    Key(key="Escape", label="Esc", does="close what is open, or clear the name"),
    Key(key="Tab", label="Tab", does="to the next field or button"),
)

NAMING = (
    Key(key="", label="letters", does="four letters of a scientific or vernacular name"),
    Key(
        key=DIGITS, label="1 to 9", does="choose that name; with no letters typed, show that photo"
    ),
    Key(key="ArrowUp ArrowDown", label="↑ ↓", does="choose the name before or after"),
    Key(key="Enter", label="Enter", does="record, and on to the next sighting"),
    Key(key="F2", label="F2", does="only to the genus, then the family", act="coarser"),
    Key(key="F3", label="F3", does="cf., aff., or certain again", act="qualifier"),
    Key(key="F4", label="F4", does="female, male, or not told", act="sex"),
    Key(key="F6", label="F6", does="life stage", act="stage"),
    Key(key="F7", label="F7", does="behaviour", act="behavior"),
    Key(key="F8", label="F8", does="ask for a second opinion", act="second"),
    Key(key=":", label=":", does="remarks", act="remarks"),
    Key(key="F9", label="F9", does="cannot be told from these photos, because …", act="cannot"),
    Key(key="!", label="!", does="not an adult: what it is", act="other"),
    Key(key="/", label="/", does="not now: on to the next sighting", act="later"),
    Key(key="<", label="<", does="take back my last action", act="undo"),
    Key(key=">", label=">", does="bring back what was taken back", act="redo"),
)

LOOKING = (
    Key(key="PageUp", label="PgUp", does="closer", act="closer"),
    Key(key="PageDown", label="PgDn", does="farther", act="farther"),
    Key(key="Home", label="Home", does="whole picture again", act="fit"),
    Key(key="End", label="End", does="close on the insect", act="insect"),
    Key(key=ARROWS, label="Shift ←↑↓→", does="move the picture"),
    Key(key="ArrowLeft ArrowRight", label="← →", does="the other picture"),
    Key(key="=", label="=", does="both pictures together, or each alone", act="together"),
    Key(key="(", label="(", does="darker", act="darker"),
    Key(key=")", label=")", does="brighter", act="brighter"),
    Key(key="[", label="[", does="less contrast", act="softer"),
    Key(key="]", label="]", does="more contrast", act="harder"),
    Key(key="{", label="{", does="cooler", act="cooler"),
    Key(key="}", label="}", does="warmer", act="warmer"),
    Key(key="*", label="*", does="light as it was taken", act="plain"),
)

MENDING = (
    Key(key="#", label="#", does="two animals here", act="two"),
    Key(key="%", label="%", does="some of these photos show another animal", act="split"),
    Key(key="&", label="&", does="another sighting shows this animal", act="merge"),
    Key(key=";", label=";", does="this view is wrong", act="view"),
    Key(key="$", label="$", does="this box is wrong: draw it", act="box"),
    Key(key="@", label="@", does="blind, or with names and places", act="blind"),
)

INBOX = (
    Key(key=DIGITS, label="1 to 9", does="the decision with that digit"),
    Key(key="ArrowDown ArrowUp", label="↓ ↑", does="the next message, the one before"),
    Key(key="s", label="s", does="type a site"),
    Key(key="x", label="x", does="tick this message, to decide several at once"),
    Key(key="<", label="<", does="take back my last action"),
    Key(key=">", label=">", does="bring back what was taken back"),
    Key(key="Enter", label="Enter", does="the site in focus on the map; in a field, its button"),
    Key(key="Escape", label="Esc", does="out of a field, so that digits decide again"),
)

JARS = (Key(key="Enter", label="Enter", does="record what is typed, from any field"),)

SITES = (
    Key(key="Tab", label="Tab", does="to the map, then from site to site"),
    Key(key="Enter", label="Enter", does="what speaks of that site"),
    Key(key=ARROWS, label="← ↑ ↓ →", does="move the map"),
    Key(key="+", label="+", does="closer"),
    Key(key="-", label="-", does="farther"),
)


def acts_of(*lists: Iterable[Key]) -> str:
    """What each key does, as the determiner's room reads it (JSON): so no key stands twice."""
    return json.dumps({name: k.act for keys in lists for k in keys if k.act for name in k.names})
