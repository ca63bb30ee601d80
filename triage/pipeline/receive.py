"""Receive mail: messages kept whole, every part accounted for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.errors import SourceError
from triage.mail.imap import ImapAccount, ImapPosition, iter_imap
from triage.mail.message import Limits, Message, Part, file_as_message, raw_type, read_message
from triage.mail.sources import Delivery, iter_source, shown_name
from triage.pipeline import consents
from triage.standards.counting import counted
from triage.standards.digests import digest_of
from triage.store import audit, failures, mailboxes, messages, originals, turns
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiveOutcome:
    """What came in. ``parts`` counts new parts by their outcome; ``unreadable`` names origins."""

    received: int
    known_before: int
    photos: int
    parts: dict[str, int]
    unreadable: tuple[tuple[str, str], ...]

    @property
    def lines(self) -> list[str]:
        """The same for people."""
        return [
            f"{counted(self.received, 'message')} received, {self.known_before} received before,"
            f" {counted(self.photos, 'photo')} to examine.",
            *(f"{counted(count, 'part')}: {kind}" for kind, count in sorted(self.parts.items())),
            *(f"Not read: {origin}: {problem}" for origin, problem in self.unreadable),
        ]


def take_in(
    survey: Survey, sources: Sequence[Path], *, now: datetime, progress: Progress = silent
) -> ReceiveOutcome:
    """Receive folders, mails, mailboxes and archives; what is known adds nothing.

    Raises
    ------
    SourceError
        If a source does not exist: nothing of the others is taken in before all are found.
    """
    for source in sources:
        if not source.exists():
            raise SourceError(
                "there is nothing at this path",
                failing=shown_name(source),
                next_step="Check the spelling; a folder, .eml, mbox, Maildir or .zip is expected.",
            )
    limits = limits_of(survey)
    return take_in_deliveries(
        survey,
        (delivery for source in sources for delivery in iter_source(source, limits=limits)),
        now=now,
        progress=progress,
    )


def limits_of(survey: Survey) -> Limits:
    """The limits on mail that the settings give."""
    return Limits(message_bytes=int(survey.settings.intake.max_message_megabytes * 1_000_000))


def take_in_deliveries(
    survey: Survey, deliveries: Iterable[Delivery], *, now: datetime, progress: Progress = silent
) -> ReceiveOutcome:
    """Receive what a source yields, one message a transaction, so that it can stop anywhere.

    Two receives at once take turns.
    """
    received = known = 0
    parts: Counter[str] = Counter()
    unreadable: list[tuple[str, str]] = []
    limits = limits_of(survey)
    with turns.turn(survey, progress=progress):
        for number, delivery in enumerate(deliveries, 1):
            origin, problem = delivery.origin, delivery.problem
            if delivery.kind == "unreadable":
                unreadable.append((origin, problem))
                failures.add(survey, stage="receive", subject=origin, reason=problem, now=now)
            elif messages.known(survey, (message := _read(delivery, limits)).identifier):
                _keep_again(survey, delivery, message)
                known += 1
            else:
                _keep(survey, delivery, message, now)
                received += 1
                parts.update(part.outcome for part in message.parts)
            progress("receiving", number, None)
    return ReceiveOutcome(
        received=received,
        known_before=known,
        photos=parts["taken in"],
        parts=dict(parts),
        unreadable=tuple(unreadable),
    )


def take_in_mailbox(
    survey: Survey, account: ImapAccount, *, now: datetime, progress: Progress = silent
) -> ReceiveOutcome:
    """Receive what is new in a mailbox on a server; nothing there is changed.

    The position is noted after each mail that was kept, so that an interruption costs at most
    one mail, read again and recognised.
    """
    name = f"{account.user}@{account.host}"
    before = mailboxes.position(survey, name, account.mailbox)
    after = ImapPosition(uid_validity=before[0], uid=before[1]) if before else None

    def noted() -> Iterator[Delivery]:
        for position, delivery in iter_imap(account, after=after, limits=limits_of(survey)):
            yield delivery
            mailboxes.set_position(
                survey, name, account.mailbox, position.uid_validity, position.uid
            )

    return take_in_deliveries(survey, noted(), now=now, progress=progress)


def _read(delivery: Delivery, limits: Limits) -> Message:
    if delivery.kind == "file":
        return file_as_message(delivery.name, delivery.raw)
    return read_message(delivery.raw, limits=limits)


def _keep(survey: Survey, delivery: Delivery, message: Message, now: datetime) -> None:
    """Files first, rows after: a row never names a file that is not whole on the disk."""
    if delivery.kind == "message":
        _keep_raw(survey, delivery, message)
    kept = [_keep_part(survey, part) if part.content else "" for part in message.parts]
    with survey.transaction():
        row = messages.add(
            survey, message, origin=delivery.origin, raw_name=delivery.name, kept=kept, now=now
        )
        consents.read_mails(survey, [row])


def _keep_again(survey: Survey, delivery: Delivery, message: Message) -> None:
    """Put back what the survey has lost of a message; what was forgotten stays away."""
    wanted = audit.digests_of(survey, message.identifier)
    if delivery.kind == "message" and message.raw_sha256 in wanted:
        _keep_raw(survey, delivery, message)
    for part in message.parts:
        if part.content and (part.digest or digest_of(part.content)) in wanted:
            _keep_part(survey, part)


def _keep_raw(survey: Survey, delivery: Delivery, message: Message) -> None:
    kind = raw_type(delivery.raw)
    originals.keep(survey.messages, delivery.raw, media_type=kind, digest=message.raw_sha256)


def _keep_part(survey: Survey, part: Part) -> str:
    return originals.keep(
        survey.originals, part.content, media_type=part.media_type, digest=part.digest
    )
