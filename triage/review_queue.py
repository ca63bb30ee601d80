"""Order the sightings that wait for a name: the one most worth a look first, with the reasons."""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from heapq import heappop, heappush
from itertools import count
from typing import Literal

from triage.quality import Measurement
from triage.standards.iso_dates import moment_of

Turn = Literal["best", "longest waiting", "stood aside"]
BEST: Turn = "best"
LONGEST: Turn = "longest waiting"
ASIDE: Turn = "stood aside"


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
    """A place in the queue. ``score`` is what the photos are worth, ``turn`` why it is its turn."""

    position: int
    sighting: str
    score: float
    turn: Turn
    best_dorsal: str
    best_lateral: str
    best: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class QueueRules:
    """The settings of the order; docs/queue.md says what follows from them."""

    both_views_gain: float = 0.5
    sitting: int = 20
    reserved_every: int = 4
    sender_share: float = 0.25


def waiting_since(received: str, now: datetime) -> datetime:
    """The first moment of an ISO moment, day or interval; now where nothing is known."""
    return moment_of(received.partition("/")[0]) or now


def days_waiting(received: str, now: datetime) -> float:
    """Days since an ISO moment, day or interval; 0 where nothing is known or it is ahead."""
    return max((now - waiting_since(received, now)) / timedelta(days=1), 0.0)


def notes_of(photos: Mapping[str, Measurement], *, asked: str = "") -> Iterator[str]:
    """What the determiner should know beside the numbers; ``asked`` is why a second look is."""
    if asked:
        yield asked
    for photo, measured in photos.items():
        if measured.other_boxes:
            yield (
                f"{1 + len(measured.other_boxes)} insects may be in {photo[:10]}: "
                f"'triage sightings add {photo[:10]}' makes another animal"
            )


def waiting_of(
    sighting: str,
    observer: int | None,
    received: str,
    measured: Mapping[str, Measurement | None],
    *,
    asked: str,
    now: datetime,
) -> Waiting:
    """A sighting that waits since it was ``received``, with what is noted beside it."""
    seen = {photo: found for photo, found in measured.items() if found is not None}
    return Waiting(
        sighting=sighting,
        observer=str(observer or ""),
        days=days_waiting(received, now),
        photos=seen,
        note="; ".join(notes_of(seen, asked=asked)),
    )


def value_of(photos: Collection[Measurement], rules: QueueRules) -> float:
    """The chance that a determiner can name the animal from a sighting's photos.

    The best photo's usability, and of what that leaves open ``both_views_gain`` times the weaker of
    the best dorsal and the best lateral photo.

    Returns
    -------
    float in [0, 1]
        0 without photos; never less than the best photo's usability.
    """
    best = max((photo.usability for photo in photos), default=0.0)
    both = min(_best_of(photos, "dorsal"), _best_of(photos, "lateral"))
    return best + (1 - best) * min(1.0, rules.both_views_gain) * both


def in_turn(
    best: Iterable[tuple[str, str]],
    longest: Iterable[tuple[str, str]],
    rules: QueueRules,
    *,
    done: int = 0,
) -> Iterator[tuple[str, Turn]]:
    """Sightings in the order of looks, read from two lines no further than asked.

    Parameters
    ----------
    best, longest : iterables of (sighting, sender)
        All that wait: the best first, and the longest waiting first.
    rules : QueueRules
    done : int
        Looks before these: the turns of the longest waiting and the sittings go on from there.

    Yields
    ------
    sighting, turn
        Every ``reserved_every``-th look is for the longest waiting. Of the others in a sitting no
        sender has more than ``sender_share``, as long as anybody else waits; what therefore comes
        after a worse one stood aside.
    """
    line = _BestFirst(best, most=max(1, round(rules.sender_share * rules.sitting)))
    oldest = (sighting for sighting, _ in longest)
    given: set[str] = set()
    for look in count(done + 1):
        if (look - 1) % rules.sitting == 0:
            line.begin_sitting()
        taken, turn = None, LONGEST
        if look % rules.reserved_every == 0:
            taken = next((one for one in oldest if one not in given), None)
        if taken is None:
            taken, turn = line.take(given)
        if taken is None:
            return
        given.add(taken)
        yield taken, turn


class _BestFirst:
    """The best line, in which a sender who had enough in this sitting stands aside until the next.

    Of each sender who may come only the best stands in ``ready``; the sender's others wait in
    ``aside``, in their order.
    """

    def __init__(self, best: Iterable[tuple[str, str]], *, most: int) -> None:
        self.coming = enumerate(best)
        self.most = most
        self.had: Counter[str] = Counter()
        self.ready: list[tuple[int, str, str]] = []
        self.aside: dict[str, deque[tuple[int, str, str]]] = defaultdict(deque)
        self.furthest = 0

    def begin_sitting(self) -> None:
        """Nobody has had a look in this sitting yet."""
        full = [sender for sender, had in self.had.items() if had >= self.most]
        self.had.clear()
        for sender in full:
            self._let_in(sender)

    def take(self, given: Collection[str]) -> tuple[str | None, Turn]:
        """The best that may come now, but for those given already; the best of all at the end."""
        while self.ready or self._read_on():
            place, sighting, sender = heappop(self.ready)
            self.had[sender] += sighting not in given
            if self.had[sender] < self.most:
                self._let_in(sender)
            if sighting not in given:
                return sighting, self._turn_of(place)
        left = [line[0] for line in self.aside.values() if line]
        while left:
            place, sighting, _ = self.aside[min(left)[2]].popleft()
            if sighting not in given:
                return sighting, self._turn_of(place)
            left = [line[0] for line in self.aside.values() if line]
        return None, BEST

    def _turn_of(self, place: int) -> Turn:
        """Whether a worse one was looked at before it, since its sender had enough."""
        turn = ASIDE if place < self.furthest else BEST
        self.furthest = max(self.furthest, place)
        return turn

    def _read_on(self) -> bool:
        """Read the line until somebody comes who has not had enough."""
        for place, (sighting, sender) in self.coming:
            if self.had[sender] < self.most:
                heappush(self.ready, (place, sighting, sender))
                return True
            self.aside[sender].append((place, sighting, sender))
        return False

    def _let_in(self, sender: str) -> None:
        if self.aside[sender]:
            heappush(self.ready, self.aside[sender].popleft())


def rank(waiting: Iterable[Waiting], rules: QueueRules, *, done: int = 0) -> list[QueueEntry]:
    """Order the waiting sightings, the one to look at first in front; see :func:`in_turn`.

    The result does not depend on the order of the input.
    """
    known = {one.sighting: one for one in waiting}
    worth = {name: value_of(one.photos.values(), rules) for name, one in known.items()}
    best = sorted(known, key=lambda name: (-worth[name], name))
    longest = sorted(known, key=lambda name: (-known[name].days, name))
    by_worth, by_age = (
        [(name, sender_of(known[name])) for name in line] for line in (best, longest)
    )
    return [
        entry_of(known[name], position=position, turn=turn, rules=rules)
        for position, (name, turn) in enumerate(in_turn(by_worth, by_age, rules, done=done), 1)
    ]


def sender_of(waiting: Waiting) -> str:
    """Whose sightings share the top places; one of an unknown observer stands for itself."""
    return waiting.observer or f"unknown {waiting.sighting}"


def entry_of(one: Waiting, *, position: int, turn: Turn, rules: QueueRules) -> QueueEntry:
    """The place of a sighting with its reasons."""
    ordered = sorted(one.photos, key=lambda photo: (-one.photos[photo].usability, photo))
    dorsal, lateral = (
        next((photo for photo in ordered if one.photos[photo].view == view), "")
        for view in ("dorsal", "lateral")
    )
    return QueueEntry(
        position=position,
        sighting=one.sighting,
        score=round(value_of(one.photos.values(), rules), 6),
        turn=turn,
        best_dorsal=dorsal,
        best_lateral=lateral,
        best=ordered[0] if ordered else "",
        reasons=tuple(_reasons(one, ordered, dorsal, lateral, turn)),
    )


def _reasons(
    one: Waiting, ordered: Sequence[str], dorsal: str, lateral: str, turn: Turn
) -> Iterator[str]:
    """Why it stands here: its turn, and what its best photo shows, as that was measured."""
    if turn == LONGEST:
        yield f"its turn as the longest waiting ({max(one.days, 0.0):.0f} days)"
    elif one.days >= 1:
        yield f"waiting {one.days:.0f} days"
    if turn == ASIDE:
        yield "others came first: its sender had had a full share of the sitting"
    if dorsal and lateral:
        weaker = min(one.photos[dorsal].usability, one.photos[lateral].usability)
        yield f"back and side seen (weaker one {weaker:.2f})"
    if ordered:
        best = one.photos[ordered[0]]
        yield f"best photo {best.usability:.2f}"
        yield from best.reasons
    if one.note:
        yield one.note


def _best_of(photos: Collection[Measurement], view: str) -> float:
    return max((photo.usability for photo in photos if photo.view == view), default=0.0)
