"""Order the sightings that wait for a name: the one most worth a look first, with the reasons."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class SenderPlace:
    """The place of a sighting among its sender's, and the key that orders all senders' together."""

    sighting: str
    factor: float
    order_key: float


def sender_places(
    waiting: Iterable[tuple[str, float, float]], rules: QueueRules
) -> list[SenderPlace]:
    """Place one sender's waiting sightings: each its identifier, value and day since when it waits.

    A sender's n-th best sighting counts 1 / (1 + damping x n) of its value, so that no sender
    fills the top. The key is that share less the day of arrival over ``days_to_rise``: all waiting
    sightings rise alike, so their order is the same at any moment and knows no clock.
    """

    def alone(one: tuple[str, float, float]) -> tuple[float, str]:
        return one[2] / rules.days_to_rise - one[1], one[0]

    places = []
    for place, (sighting, value, since) in enumerate(sorted(waiting, key=alone)):
        factor = 1 / (1 + rules.same_sender_damping * place)
        key = value * factor - since / rules.days_to_rise
        places.append(SenderPlace(sighting=sighting, factor=factor, order_key=key))
    return places


def rank(waiting: Iterable[Waiting], rules: QueueRules) -> list[QueueEntry]:
    """Order the waiting sightings, the one most worth a look first; see :func:`sender_places`.

    The result does not depend on the order of the input.
    """
    known = {one.sighting: one for one in waiting}
    by_sender: dict[str, list[tuple[str, float, float]]] = defaultdict(list)
    for one in known.values():
        value = value_of(one.photos.values(), rules)
        by_sender[sender_of(one)].append((one.sighting, value, -one.days))
    places = [p for ones in by_sender.values() for p in sender_places(ones, rules)]
    places.sort(key=lambda p: (-p.order_key, p.sighting))
    return [
        entry_of(known[place.sighting], position=position, factor=place.factor, rules=rules)
        for position, place in enumerate(places, 1)
    ]


def sender_of(waiting: Waiting) -> str:
    """Whose sightings share the top places; one of an unknown observer stands for itself."""
    return waiting.observer or f"unknown {waiting.sighting}"


def entry_of(one: Waiting, *, position: int, factor: float, rules: QueueRules) -> QueueEntry:
    """The place of a sighting with its reasons; ``factor`` is its share among its sender's."""
    value = value_of(one.photos.values(), rules)
    rise = max(one.days, 0.0) / rules.days_to_rise
    ordered = sorted(one.photos, key=lambda photo: (-one.photos[photo].usability, photo))
    dorsal, lateral = (
        next((photo for photo in ordered if one.photos[photo].view == view), "")
        for view in ("dorsal", "lateral")
    )
    return QueueEntry(
        position=position,
        sighting=one.sighting,
        score=round(value * factor + rise, 6),
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
