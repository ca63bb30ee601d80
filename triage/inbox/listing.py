"""The list of messages that need a human: in piles by need and sender, and a window of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from triage.inbox.needs import FIXES
from triage.standards.letters import alphabetical


@dataclass(frozen=True, slots=True, kw_only=True)
class Heap:
    """Unsettled messages of one sender with the same state and the same first need."""

    state: str
    need: str
    sender: int | None
    sender_name: str
    sender_address: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What a list of messages shows of one."""

    identifier: str
    subject: str
    sender_name: str
    sender_address: str
    sent_at: str
    state: str
    state_reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """The open messages of one sender that need the same."""

    name: str
    messages: tuple[Listed, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Messages that need the same, by sender; ``need`` is "waiting" for those that were asked.

    ``count`` is how many there are; of a long list only those around one message are held.
    """

    need: str
    senders: tuple[Sender, ...]
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Portion:
    """Some messages of a pile: how many come before them in it, and how many they are."""

    pile: Sequence[Heap]
    offset: int
    count: int


def need_of(heap: Heap) -> str:
    """What its messages need, as the list is grouped: a need, "open" or "waiting"."""
    if heap.state == "waiting":
        return "waiting"
    return heap.need if heap.need in FIXES else "open"


def in_piles(heaps: Iterable[Heap]) -> list[list[Heap]]:
    """The heaps of one need and sender together: the worst need first, then by name."""
    order = [*FIXES, "open", "waiting"]

    def key(heap: Heap) -> tuple[int, object]:
        name = (heap.sender_name or heap.sender_address).casefold()
        return order.index(need_of(heap)), alphabetical(name)

    return [list(ones) for _, ones in groupby(sorted(heaps, key=key), key=key)]


def pile_with(
    piles: Sequence[Sequence[Heap]], lies_in: tuple[str, str, int | None] | None
) -> tuple[Sequence[Heap], int]:
    """The pile of the heap of this state, need and sender, and how many messages come before it.

    No pile, and 0, if there is none.
    """
    before = 0
    for pile in piles if lies_in is not None else ():
        if lies_in in [(heap.state, heap.need, heap.sender) for heap in pile]:
            return pile, before
        before += _count(pile)
    return (), 0


def window(
    piles: Sequence[Sequence[Heap]], *, place: int = 0, most: int | None = None
) -> Iterator[Portion]:
    """The portions of a list of at most so many messages: a third of them before this place."""
    total = sum(map(_count, piles))
    first = 0
    if most is not None and total > most:
        first = max(0, min(place - most // 3, total - most))
    last = total if most is None else first + most
    start = 0
    for pile in piles:
        count = _count(pile)
        offset, end = max(first - start, 0), min(last - start, count)
        start += count
        if offset < end:
            yield Portion(pile=pile, offset=offset, count=end - offset)


def grouped(
    piles: Sequence[Sequence[Heap]], read: Iterable[tuple[Portion, Sequence[Listed]]]
) -> tuple[Group, ...]:
    """The portions that were read, by need and sender; each group counts the whole list."""
    counts: Counter[str] = Counter()
    for pile in piles:
        counts[need_of(pile[0])] += _count(pile)
    senders: dict[str, list[Sender]] = {}
    for portion, messages in read:
        first = portion.pile[0]
        name = first.sender_name or first.sender_address or "no sender"
        one = Sender(name=name, messages=tuple(messages))
        senders.setdefault(need_of(first), []).append(one)
    return tuple(
        Group(need=need, senders=tuple(ones), count=counts[need]) for need, ones in senders.items()
    )


def _count(pile: Sequence[Heap]) -> int:
    return sum(heap.count for heap in pile)
