"""One message with all that a coordinator decides it by."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from triage.inbox.facts import clock_offers
from triage.inbox.needs import Need, NeedKind
from triage.inbox.offers import (
    OF_TEXT,
    ClaimedPhoto,
    ClockPreview,
    NearbySite,
    OfferedTime,
    preview,
)
from triage.mail.kept import EnvelopeRow, MessageRow, PartRow
from triage.metadata.clock_words import read_clock_words
from triage.metadata.marked import Piece, mark_words
from triage.metadata.position import PlaceClaim
from triage.quality.kept import PhotoRow
from triage.standards.digests import short_digest_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One author's words in a message, with the words marked that claims were read from."""

    sender: str
    sent_at: str
    subject: tuple[Piece, ...]
    text: tuple[Piece, ...]
    quoted: str

    @property
    def words(self) -> str:
        """All that the author wrote."""
        return "\n".join("".join(one.text for one in of) for of in (self.subject, self.text))


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPhoto(ClaimedPhoto):
    """A photo of the message, with its row."""

    row: PhotoRow


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeMessage:
    """One message with all that a coordinator decides it by."""

    message: MessageRow
    needs: tuple[Need, ...]
    layers: tuple[Layer, ...]
    photos: tuple[ShownPhoto, ...]
    other_parts: tuple[PartRow, ...]
    sites: tuple[NearbySite, ...]
    meant: tuple[NearbySite, ...]
    times: tuple[OfferedTime, ...]
    fix: PlaceClaim | None
    clocks: tuple[ClockPreview, ...]

    @property
    def stands(self) -> str:
        """The digest of what a decision about it rests on."""
        photos = [(p.photo, p.time, p.place, p.row.publication) for p in self.photos]
        return short_digest_of(repr((self.message.state, self.needs, photos)))

    @property
    def offers(self) -> tuple[str, ...]:
        """What doubts offer instead, taken by one key for the whole message."""
        told = " and ".join(dict.fromkeys(need.offered for need in self.needs if need.offered))
        return (told,) if told else ()

    @property
    def offer_stands(self) -> bool:
        """Whether the one offer is what stands already: then to take it is to call it right."""
        stand = {p.place.locality for p in self.photos if p.place}
        stand |= {p.time.event_date.replace("T", " ") for p in self.photos if p.time}
        return bool(self.offers) and stand.issuperset(self.offers)

    @property
    def first_clock(self) -> str:
        """What the camera showed on the first photo that shows a time; empty if none does."""
        return next((c.event_date for p in self.photos if (c := p.clock) is not None), "")

    @property
    def worst(self) -> NeedKind | None:
        """The first thing to decide."""
        return self.needs[0].kind if self.needs else None


def layers_of(envelopes: Iterable[EnvelopeRow], shown: Sequence[ShownPhoto]) -> Iterable[Layer]:
    """The layers of a message, the words marked from which its photos' claims were read."""
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


def clocks_of(
    row: MessageRow, shown: Sequence[ShownPhoto], text: str, *, zone: str
) -> Iterable[ClockPreview]:
    """What the corrections of cameras' clocks would change that photos or the words suggest."""
    exifs = {one.photo: one.row.exif for one in shown}
    for one in clock_offers(row, exifs, read_clock_words(text), zone=zone):
        yield preview(shown, one)
