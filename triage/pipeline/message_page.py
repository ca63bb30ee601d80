"""Load a message whole: its words, photos, claims, needs, and what could settle it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from triage.analysis.geodesy import metres_between
from triage.exuviae import Site
from triage.inbox import FIXES, Need, NeedKind
from triage.metadata.camera_clock import CameraCorrection
from triage.metadata.capture_time import TimeClaim, corrected
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

MEANT = 4  # sites that are offered by one key each
_OF_TEXT = ("message text", "message coordinates", "message site name", "sender's answer")


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
class ShownPhoto:
    """A photo of the message with everything that is claimed of it, and what stands."""

    photo: str
    file_name: str
    row: photos.PhotoRow
    times: tuple[TimeClaim, ...]
    places: tuple[PlaceClaim, ...]
    time: TimeClaim | None
    place: PlaceClaim | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockPreview:
    """One camera's constant error, and what its correction would change."""

    correction: CameraCorrection
    changes: tuple[tuple[str, str, str], ...]  # file name, time as it stands, time as corrected


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedTime:
    """A time that may stand for every photo of the message, and what says it."""

    event_date: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NearbySite:
    """A site that may be meant; ``metres`` from where the photos were taken, if that is known."""

    site: Site
    metres: float | None


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
    sites = tuple(_sites(evidence.sites(survey), fix))
    clocks = list(_clocks(survey, row, shown))
    if clock_seconds is not None:
        clocks = [_typed_clock(shown, clock_seconds)]
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
        meant=_meant(sites, shown, near=fix is not None),
        times=tuple(_offered_times(shown)),
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
    times = {c.verbatim for p in shown for c in p.times if c.source in _OF_TEXT}
    places = {c.verbatim for p in shown for c in p.places if c.source in _OF_TEXT}
    for envelope in envelopes:
        yield Layer(
            sender=envelope.sender_name or envelope.sender_address,
            sent_at=envelope.sent_at,
            subject=mark_words(envelope.subject, times, places),
            text=mark_words(envelope.text.strip(), times, places),
            quoted=envelope.quoted_text.strip(),
        )


def _sites(sites: Iterable[Site], fix: PlaceClaim | None) -> list[NearbySite]:
    """Every site, the nearest to the photos first where that is known, else by name."""
    found = [
        NearbySite(site=site, metres=None if fix is None else metres_between(fix, site))
        for site in sites
    ]
    return sorted(
        found,
        key=lambda n: (n.metres if n.metres is not None else 0.0, n.site.locality.casefold()),
    )


def _meant(
    sites: Sequence[NearbySite], shown: Sequence[ShownPhoto], *, near: bool
) -> tuple[NearbySite, ...]:
    """Sites that the words may mean, as their doubts list them; else the nearest to the photos."""
    said = [c for p in shown for c in p.places if c.source in _OF_TEXT]
    doubts = " ".join((*(d for c in said for d in c.doubts), *(c.note for c in said)))
    named = {c.location_id for c in said if c.location_id}
    listed = [n for n in sites if n.site.location_id in named or n.site.locality in doubts]
    nearest = [n for n in sites if n not in listed] if near else []
    return tuple((listed + nearest)[:MEANT])


def _offered_times(shown: Sequence[ShownPhoto]) -> Iterable[OfferedTime]:
    """What doubts suggest or words say, where it is the same for every photo."""
    by_photo = []
    for photo in shown:
        offers = {c.offered_event_date: c.source for c in photo.times if c.offered_event_date}
        said = {c.event_date: c.source for c in photo.times if c.source in _OF_TEXT}
        by_photo.append({**offers, **said})
    for event_date, source in by_photo[0].items() if by_photo else ():
        if all(event_date in other for other in by_photo):
            yield OfferedTime(event_date=event_date, source=source)


def _typed_clock(shown: Sequence[ShownPhoto], seconds: float) -> ClockPreview:
    typed = CameraCorrection(
        camera="",
        offset_seconds=seconds,
        uncertainty_seconds=0.0,
        photos=tuple(p.photo for p in shown if _clock_of(p) is not None),
        reason="as you typed it for the first photo",
    )
    return ClockPreview(correction=typed, changes=_changes(shown, typed))


def _clock_of(photo: ShownPhoto) -> TimeClaim | None:
    return next(
        (c for c in photo.times if c.source == "camera clock" and "T" in c.event_date), None
    )


def first_clock(whole: WholeMessage) -> str:
    """What the camera showed on the first photo that shows a time; empty if none does."""
    return next((c.event_date for p in whole.photos if (c := _clock_of(p)) is not None), "")


def _changes(
    shown: Sequence[ShownPhoto], one: CameraCorrection
) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (p.file_name, claim.event_date, corrected(claim, one.offset_seconds).event_date)
        for p in shown
        if p.photo in one.photos and (claim := _clock_of(p)) is not None
    )


def _clocks(survey: Survey, row: MessageRow, shown: Sequence[ShownPhoto]) -> Iterable[ClockPreview]:
    words = read_clock_words(text_reading.texts_of(survey, [row.row]).get(row.row, ""))
    for one in clock_offers(survey, row, {p.photo: p.row.exif for p in shown}, words):
        yield ClockPreview(correction=one, changes=_changes(shown, one))
