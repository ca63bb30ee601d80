"""Load a message whole: its words, photos, claims, needs, and what could settle it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from triage.inbox import FIXES, Need, NeedKind
from triage.inbox.offers import (
    OF_TEXT,
    ClaimedPhoto,
    ClockPreview,
    NearbySite,
    OfferedTime,
    meant,
    nearest_first,
    offered_times,
    preview,
    typed_clock,
)
from triage.metadata.clock_words import read_clock_words
from triage.metadata.marked import Piece, mark_words
from triage.metadata.position import PlaceClaim
from triage.pipeline import claims
from triage.pipeline.message_facts import clock_offers, facts_of
from triage.store import claims as claim_store
from triage.store import evidence, inbox_list, messages, photos, text_reading
from triage.store.connection import Survey
from triage.store.inbox_list import Heap, Listed
from triage.store.messages import EnvelopeRow, MessageRow


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


def open_messages(
    survey: Survey, *, around: str = "", most: int | None = None
) -> tuple[Group, ...]:
    """What needs a human, grouped by the worst that each message needs and by sender.

    It is read from the states as they were derived; with ``most`` only so many messages around one
    are read and in it, a third of them before that one.
    """
    order = [*FIXES, "open", "waiting"]

    def key(heap: Heap) -> tuple[int, str]:
        return order.index(_need_of(heap)), (heap.sender_name or heap.sender_address).casefold()

    heaps = sorted(inbox_list.heaps(survey), key=key)
    piles = [list(ones) for _, ones in groupby(heaps, key=key)]
    total = sum(heap.count for heap in heaps)
    first = 0
    if most is not None and total > most:
        first = max(0, min(_place_of(survey, piles, around) - most // 3, total - most))
    last = total if most is None else first + most
    counts: Counter[str] = Counter()
    senders: dict[str, list[Sender]] = {}
    start = 0
    for pile in piles:
        need, count = _need_of(pile[0]), sum(heap.count for heap in pile)
        counts[need] += count
        offset, end = max(first - start, 0), min(last - start, count)
        start += count
        if offset < end:
            shown = inbox_list.listed(survey, pile, offset=offset, limit=end - offset)
            name = pile[0].sender_name or pile[0].sender_address or "no sender"
            senders.setdefault(need, []).append(Sender(name=name, messages=tuple(shown)))
    return tuple(
        Group(need=need, senders=tuple(ones), count=counts[need]) for need, ones in senders.items()
    )


def still_open(survey: Survey, identifiers: Sequence[str]) -> list[str]:
    """Those of these messages that need somebody, in the same order."""
    found = inbox_list.still_open(survey, identifiers)
    return [one for one in identifiers if one in found]


def _need_of(heap: Heap) -> str:
    if heap.state == "waiting":
        return "waiting"
    return heap.need if heap.need in FIXES else "open"


def _place_of(survey: Survey, piles: Sequence[Sequence[Heap]], identifier: str) -> int:
    """How many messages of the list come before this one; 0 if it is not in it."""
    lies_in = inbox_list.heap_of(survey, identifier)
    before = 0
    for pile in piles if lies_in is not None else ():
        if lies_in in [(heap.state, heap.need, heap.sender) for heap in pile]:
            return before + inbox_list.count_before(survey, pile, identifier)
        before += sum(heap.count for heap in pile)
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One author's words in a message, with the words marked that claims were read from."""

    sender: str
    sent_at: str
    subject: tuple[Piece, ...]
    text: tuple[Piece, ...]
    quoted: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPhoto(ClaimedPhoto):
    """A photo of the message, with its row."""

    row: photos.PhotoRow


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeMessage:
    """One message with all that a coordinator decides it by."""

    message: MessageRow
    needs: tuple[Need, ...]
    layers: tuple[Layer, ...]
    photos: tuple[ShownPhoto, ...]
    other_parts: tuple[messages.PartRow, ...]
    sites: tuple[NearbySite, ...]
    meant: tuple[NearbySite, ...]
    times: tuple[OfferedTime, ...]
    fix: PlaceClaim | None
    clocks: tuple[ClockPreview, ...]

    @property
    def offers(self) -> tuple[str, ...]:
        """What doubts offer instead, taken by one key for the whole message."""
        told = " and ".join(dict.fromkeys(need.offered for need in self.needs if need.offered))
        return (told,) if told else ()

    @property
    def first_clock(self) -> str:
        """What the camera showed on the first photo that shows a time; empty if none does."""
        return next((c.event_date for p in self.photos if (c := p.clock) is not None), "")

    @property
    def worst(self) -> NeedKind | None:
        """The first thing to decide."""
        return self.needs[0].kind if self.needs else None


def whole_message(
    survey: Survey, identifier: str, *, clock_seconds: float | None = None
) -> WholeMessage:
    """Load one message whole; with ``clock_seconds`` also what that correction would change.

    Raises
    ------
    UnknownError
        If there is no such message.
    """
    row = messages.find(survey, identifier)
    [(_, facts)] = facts_of(survey, [row])
    shown = _photos(survey, row)
    fix = next((p.place for p in shown if p.place and p.place.decimal_latitude is not None), None)
    sites = tuple(nearest_first(evidence.sites(survey), fix))
    clocks = list(_clocks(survey, row, shown))
    if clock_seconds is not None:
        clocks = [typed_clock(shown, clock_seconds)]
    return WholeMessage(
        message=row,
        needs=facts.needs,
        layers=tuple(_layers(messages.envelopes_of(survey, row.row), shown)),
        photos=shown,
        other_parts=tuple(
            part
            for part in messages.parts_of(survey, row.row)
            if part.outcome not in ("taken in", "nothing to keep")
        ),
        sites=sites,
        meant=meant(sites, shown, near=fix is not None),
        times=tuple(offered_times(shown)),
        fix=fix,
        clocks=tuple(clocks),
    )


def _photos(survey: Survey, row: MessageRow) -> tuple[ShownPhoto, ...]:
    shown = photos.appearances_of_message(survey, row.row)
    digests = list(dict.fromkeys(one.photo for one in shown))
    claimed = claim_store.of_photos(survey, digests)
    rows = photos.load(survey, digests)
    chosen = claims.choose(survey, {photo: [photo] for photo in digests}, rows=rows)
    parts = {one.part for one in shown}
    names = {one.photo: one.file_name for one in reversed(shown)}
    return tuple(
        ShownPhoto(
            photo=photo,
            file_name=names[photo],
            row=rows[photo],
            times=tuple(claim for part, claim in claimed[photo].times if part in (None, *parts)),
            places=tuple(claim for part, claim in claimed[photo].places if part in (None, *parts)),
            time=chosen[photo].time,
            place=chosen[photo].place,
        )
        for photo in digests
    )


def _layers(envelopes: Iterable[EnvelopeRow], shown: Sequence[ShownPhoto]) -> Iterable[Layer]:
    times = {c.verbatim for p in shown for c in p.times if c.source in OF_TEXT}
    places = {c.verbatim for p in shown for c in p.places if c.source in OF_TEXT}
    for envelope in envelopes:
        yield Layer(
            sender=envelope.sender_name or envelope.sender_address,
            sent_at=envelope.sent_at,
            subject=mark_words(envelope.subject, times, places),
            text=mark_words(envelope.text.strip(), times, places),
            quoted=envelope.quoted_text.strip(),
        )


def _clocks(survey: Survey, row: MessageRow, shown: Sequence[ShownPhoto]) -> Iterable[ClockPreview]:
    words = read_clock_words(text_reading.texts_of(survey, [row.row]).get(row.row, ""))
    for one in clock_offers(survey, row, {p.photo: p.row.exif for p in shown}, words):
        yield preview(shown, one)
