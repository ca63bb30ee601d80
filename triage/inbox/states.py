"""Tell where a message stands: what a person decided, as long as it holds, else what is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from triage.inbox.needs import Need, PhotoFacts, severity
from triage.standards.counting import counted

MessageState = Literal["open", "waiting", "settled", "set aside"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageFacts:
    """What the state of a message follows from.

    ``hand_state`` and ``hand_reason`` are what a person decided last, if anybody did, by the action
    ``hand_action``; ``asked`` and
    ``answered`` tell of the newest question to its sender; ``answers`` is the code of the question
    that this message itself answers. Nobody can be asked about a ``forgotten`` person's message.
    """

    automatic: str = ""
    forgotten: bool = False
    hand_state: str = ""
    hand_reason: str = ""
    hand_action: int = 0
    asked: bool = False
    answered: bool = False
    answers: str = ""
    photos: tuple[PhotoFacts, ...] = ()
    needs: tuple[Need, ...] = ()


def state_of(message: MessageFacts) -> tuple[MessageState, str]:
    """The state of a message and the reason for it."""
    if message.hand_state == "set aside":
        return "set aside", message.hand_reason
    if message.hand_state == "settled" and not comes_back(message):
        return "settled", message.hand_reason
    if message.forgotten and not message.photos:
        return "set aside", "its sender was forgotten"
    unanswered = not (message.asked and message.answered)
    if message.hand_state == "waiting" and unanswered and not message.forgotten:
        return "waiting", message.hand_reason
    if message.automatic:
        return "set aside", f"an automatic {message.automatic}"
    if message.answers and not message.photos and not message.needs:
        return "settled", f"answers {message.answers}"
    if message.needs:
        return "open", ", ".join(dict.fromkeys(need.kind for need in message.needs))
    if message.photos and all(photo.repeats for photo in message.photos):
        return "settled", "every photo was sent before"
    return "settled", f"{counted(len(message.photos), 'photo')} with time and place"


def comes_back(message: MessageFacts) -> bool:
    """Whether of a message that a person settled something was said later that asks anew.

    Of its camera, in another mail; a time or place against its file; or a public place for what
    may be private.
    """
    said = ((one.carried_by, one.placed_by, one.chosen_by) for one in message.photos)
    later = max(map(max, said), default=0)
    return message.hand_state == "settled" and later > message.hand_action


def not_settled_before(message: MessageFacts) -> tuple[Need, ...]:
    """What a message needs, without what a person saw when settling it, should it come back."""
    if not comes_back(message):
        return message.needs
    clocks = {one.photo for one in message.photos if one.carried_by > message.hand_action}
    placed = {one.photo for one in message.photos if one.placed_by > message.hand_action}
    chosen = any(one.chosen_by > message.hand_action for one in message.photos)
    return tuple(
        need
        for need in message.needs
        if (need.kind in ("clock", "date doubt") and need.photo in clocks)
        or (need.kind == "place doubt" and need.photo in placed)
        or (need.kind == "private place" and chosen)
    )


def order_of(
    state: str, needs: Sequence[Need], sent_at: str, identifier: str
) -> tuple[bool, int, str, str]:
    """What the inbox is sorted by: worst first, older first, waiting messages last."""
    return state == "waiting", min(map(severity, needs), default=99), sent_at, identifier
