"""The queue as rows, as a table, and as one HTML page that holds its own pictures."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from triage.determinations import Accepted
from triage.exports.tables import columns_of, csv_bytes
from triage.matching import Match
from triage.quality import Measurement
from triage.review_queue import QueueEntry
from triage.sightings import Sighting
from triage.standards.darwin_core import place_words
from triage.standards.data_files import filled, toml_of

HEADINGS = columns_of("queue")
"""The columns of the queue's table; ``determine --from`` passes them over."""
NEAREST = 3  # sites shown beside a sighting
RETIRED_HEADINGS = ("value", "sender_factor", "waiting_term")  # of tables written earlier


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A place in the queue with what stands beside it; ``nearest`` are names, metres, reasons."""

    entry: QueueEntry
    sighting: Sighting
    accepted: Accepted
    measured: Mapping[str, Measurement]
    nearest: tuple[tuple[str, float, str], ...]
    changes: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """Where it was, by name or else in degrees; empty where nothing is known."""
        found = self.sighting
        return place_words(found.locality, found.decimal_latitude, found.decimal_longitude)

    def instead(self, view: str) -> str:
        """What is shown large where this view is missing: the best other photo not shown yet."""
        if getattr(self.entry, f"best_{view}"):
            return ""
        left = self._others()
        if view == "lateral" and not self.entry.best_dorsal:
            left = left[1:]
        return left[0] if left else ""

    @property
    def further(self) -> list[str]:
        """What is shown small: everything that is not shown large."""
        large = (self.instead("dorsal"), self.instead("lateral"))
        return [photo for photo in self._others() if photo not in large]

    def _others(self) -> list[str]:
        best = (self.entry.best_dorsal, self.entry.best_lateral)
        return [one for one in self.sighting.photos if one not in best and one in self.measured]


def nearest_sites(
    matches: Iterable[Match], names: Mapping[str, str]
) -> dict[str, tuple[tuple[str, float, str], ...]]:
    """By sighting: the nearest sites with their distance and the reason for the match."""
    found: dict[str, list[tuple[str, float, str]]] = {}
    for one in matches:
        if one.location_id and one.distance is not None:
            name = names.get(one.location_id, one.location_id)
            found.setdefault(one.sighting, []).append((name, one.distance, one.reason))
    return {k: tuple(sorted(ones, key=lambda n: n[1])[:NEAREST]) for k, ones in found.items()}


def rows(ranked: Sequence[Ranked]) -> list[dict[str, Any]]:
    """One row a sighting, Darwin Core terms where they exist, in the order of the queue."""
    return [_row(one) for one in ranked]


def _row(one: Ranked) -> dict[str, Any]:
    """A heading is called as the entry of the queue has it, or else the sighting."""
    row = {
        name: getattr(one.entry if hasattr(one.entry, name) else one.sighting, name, None)
        for name in HEADINGS
    }
    nearest = [{"locality": name, "distance": round(metres)} for name, metres, _ in one.nearest]
    return row | {
        "nearest_sites": nearest,
        "photos": list(one.sighting.photos),
        "reasons": list(one.entry.reasons),
        "proposed_changes": list(one.changes),
    }


def queue_table(ranked: Sequence[Ranked]) -> bytes:
    """The rows as CSV; lists become text separated by " | "."""
    cells = ({key: _cell(value) for key, value in row.items()} for row in rows(ranked))
    return csv_bytes(HEADINGS, cells, to_fill_in=True)


def _cell(value: Any) -> Any:
    if not isinstance(value, list):
        return value
    return " | ".join(
        f"{one['locality']} ({one['distance']} m)" if isinstance(one, dict) else str(one)
        for one in value
    )


def queue_sheet(
    ranked: Sequence[Ranked], *, picture: Callable[[str], bytes], title: str, made_at: datetime
) -> str:
    """Fill the page; every text is escaped, since names and places come from mail.

    ``picture`` gives the small JPEG of a photo, nothing where it cannot be shown.
    """
    return filled(
        "triage.report",
        "queue.html",
        entries=ranked,
        colours=toml_of("triage.report", "look.toml")["colours"],
        data=lambda photo: base64.b64encode(picture(photo)).decode("ascii"),
        title=title,
        made_at=made_at.strftime("%Y-%m-%d %H:%M UTC"),
    )
