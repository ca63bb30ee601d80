"""Sightings that wait for a name in, the order to look at them and the reasons out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from triage.quality import Measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """A sighting that waits for a name. ``days`` is how long, ``observer`` an opaque key.

    ``photos`` are its measured photos by digest.
    """

    sighting: str
    observer: str
    days: float
    photos: Mapping[str, Measurement]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QueueEntry:
    """A place in the queue. ``score`` = ``value`` x ``sender_factor`` + ``waiting_term``."""

    position: int
    sighting: str
    score: float
    value: float
    sender_factor: float
    waiting_term: float
    best_dorsal: str
    best_lateral: str
    best: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class QueueRules:
    """The settings of the order; docs/queue.md has the formula."""

    both_views_gain: float = 0.5
    days_to_rise: float = 365.0
    same_sender_damping: float = 0.25


def days_waiting(received: str, now: datetime) -> float:
    """Days since an ISO moment, day or interval; 0 where nothing is known or it is ahead."""
    if not received:
        return 0.0
    moment = datetime.fromisoformat(received.split("/")[0])
    moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return max((now - moment).total_seconds() / 86_400, 0.0)


def value_of(photos: Collection[Measurement], rules: QueueRules) -> float:
    """What a determiner would get from a sighting's photos.

    The usability of the best photo, plus ``both_views_gain`` times the weaker of the best dorsal
    and the best lateral photo, divided by 1 + ``both_views_gain``.

    Returns
    -------
    float in [0, 1]
        0 without photos; 1 for a perfect photo of each view.
    """
    best = max((photo.usability for photo in photos), default=0.0)
    both = min(_best_of(photos, "dorsal"), _best_of(photos, "lateral"))
    return (best + rules.both_views_gain * both) / (1 + rules.both_views_gain)


def rank(waiting: Iterable[Waiting], rules: QueueRules) -> list[QueueEntry]:
    """Order the waiting sightings, the one most worth a look first.

    A sender's n-th best sighting counts 1 / (1 + damping x n) of its value, so that no sender
    fills the top; the term for waiting is added outside, so that everything rises in the end.
    The result does not depend on the order of the input.
    """
    by_sender: dict[str, list[tuple[float, Waiting]]] = defaultdict(list)
    for one in waiting:
        by_sender[one.observer or f"unknown {one.sighting}"].append(
            (value_of(one.photos.values(), rules), one)
        )
    scored: list[tuple[float, float, float, float, Waiting]] = []
    for entries in by_sender.values():
        entries.sort(key=lambda e: (-e[0] - e[1].days / rules.days_to_rise, e[1].sighting))
        for place, (value, one) in enumerate(entries):
            factor = 1 / (1 + rules.same_sender_damping * place)
            rise = max(one.days, 0.0) / rules.days_to_rise
            scored.append((value * factor + rise, value, factor, rise, one))
    scored.sort(key=lambda e: (-e[0], e[4].sighting))
    return [_entry(position, *entry) for position, entry in enumerate(scored, 1)]


def _entry(
    position: int, score: float, value: float, factor: float, rise: float, one: Waiting
) -> QueueEntry:
    ordered = sorted(one.photos, key=lambda photo: (-one.photos[photo].usability, photo))
    dorsal, lateral = (
        next((photo for photo in ordered if one.photos[photo].view == view), "")
        for view in ("dorsal", "lateral")
    )
    return QueueEntry(
        position=position,
        sighting=one.sighting,
        score=round(score, 6),
        value=round(value, 6),
        sender_factor=round(factor, 6),
        waiting_term=round(rise, 6),
        best_dorsal=dorsal,
        best_lateral=lateral,
        best=ordered[0] if ordered else "",
        reasons=tuple(_reasons(one, ordered, dorsal, lateral, factor)),
    )


def _reasons(
    one: Waiting,
    ordered: Sequence[str],
    dorsal: str,
    lateral: str,
    factor: float,
) -> Iterable[str]:
    if dorsal and lateral:
        weaker = min(one.photos[dorsal].usability, one.photos[lateral].usability)
        yield f"back and side seen (weaker one {weaker:.2f})"
    elif dorsal or lateral:
        yield "back only" if dorsal else "side only"
    if ordered:
        best = one.photos[ordered[0]]
        yield f"best photo {best.usability:.2f}: focus {best.focus:.2f}, {best.insect_px:.0f} px"
    if one.days >= 1:
        yield f"waiting {one.days:.0f} days"
    if factor < 1:
        yield f"counts {factor:.2f}: others of this sender come first"
    if one.note:
        yield one.note


def _best_of(photos: Collection[Measurement], view: str) -> float:
    return max((photo.usability for photo in photos if photo.view == view), default=0.0)
