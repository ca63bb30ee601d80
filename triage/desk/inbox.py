"""Messages that need a human in, each settled by one decision out: the coordinator's room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from triage.desk import keys, opened, site_map
from triage.errors import UnknownError
from triage.inbox import Settlement
from triage.inbox.listing import Group
from triage.inbox.whole_message import WholeMessage
from triage.pipeline import audit, consents, correct, message_page, persons, settle, tables
from triage.pipeline import edit as edits
from triage.standards.data_files import toml_of
from triage.store import people
from triage.store.actions import newest_number
from triage.store.messages import by_row, counts, decided_since, find, rows_of_action

room = Blueprint("inbox", __name__, url_prefix="/inbox")

ONE_BY_ONE = ("faces", "withdraw", "animal", "answers")  # about photos or words that must be seen
LISTED = 150  # messages in the list on the left at once, around the one on the page


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What the room calls one kind of need or state, and offers for it, the likeliest first.

    ``accept`` is what accepting the message comes to.
    """

    title: str
    fixes: list[str]
    ask: str = ""
    aside: str = ""
    accept: str = "Nothing more is needed"


_WORDS = toml_of("triage.desk", "inbox.toml")
OFFERS = {kind: Offer(**words) for kind, words in _WORDS["needs"].items()}


@room.get("/")
def start() -> str | Response:
    """The first message that needs a human, or a word on how mail comes in."""
    groups = message_page.open_messages(opened.survey(), most=LISTED)
    first = next(
        (m for g in groups if g.need != "waiting" for s in g.senders for m in s.messages), None
    )
    if first is not None:
        undone = request.args.get("undone") or None
        return redirect(url_for(".message", identifier=first.identifier, undone=undone))
    return _page(groups, None)


@room.get("/<identifier>")
def message(identifier: str) -> str:
    """One message with its decision."""
    survey = opened.survey()
    seconds = request.args.get("clock", type=float)
    whole = message_page.whole_message(survey, identifier, clock_seconds=seconds)
    around = whole.message.identifier
    return _page(message_page.open_messages(survey, around=around, most=LISTED), whole)


def _page(groups: tuple[Group, ...], whole: WholeMessage | None) -> str:
    survey = opened.survey()
    worst = whole.worst or whole.message.state if whole else ""
    offer = OFFERS.get(worst, OFFERS["open"])
    listed = [m.identifier for g in groups for s in g.senders for m in s.messages]
    here = (
        listed.index(whole.message.identifier) + 1
        if whole and whole.message.identifier in listed
        else 0
    )
    needs = whole.needs if whole else ()
    named = next((need.word for need in needs if need.kind == "photographer"), "")
    return render_template(
        "inbox/room.html",
        named=named,
        likely=consents.likely(survey, named),
        following=" ".join(listed[here:]),
        groups=groups,
        whole=whole,
        worst=worst,
        seen=f"{newest_number(survey)} {whole.stands}" if whole else "",
        offer=offer,
        fixes=_fixes(offer, whole),
        meant=_meant(whole) if whole else [],
        accept_words=_accept_words(offer, worst, whole),
        measured=whole is not None and whole.fix is not None and whole.fix.source == "camera gps",
        mails={one: find(survey, one) for need in needs for one in need.mails},
        sender=_who_wrote(whole) if whole and worst == "no photo" else None,
        map=site_map.draw(whole.sites, whole.fix) if whole else None,
        first_clock=whole.first_clock if whole else "",
        deletes=_of_sender(whole) if whole and worst == "delete request" else None,
        need_words={kind: one.title for kind, one in OFFERS.items()},
        questions=_WORDS["questions"],
        habitats=_WORDS["habitats"],
        undone=request.args.get("undone", ""),
        last=opened.last_action(),
        empty=counts(survey)[0] == 0,
        records=0 if whole else len(audit.record_needs(survey, now=opened.now())),
        keys_inbox=keys.INBOX,
    )


def _fixes(offer: Offer, whole: WholeMessage | None) -> list[str]:
    """What is offered, the likeliest first: a day that the words say before all else."""
    said = whole is not None and bool(whole.times) and not whole.clocks
    stands = whole is not None and whole.offer_stands
    placed = whole is None or bool(whole.photos)
    useless = {
        "accept": stands,
        "site": not placed,
        "ask": offer.ask == "place" and not placed,  # asked of the photo's mail
        "animal": whole is not None and not _meant(whole),
    }
    wanted = [fix for fix in offer.fixes if not useless.get(fix)]
    return sorted(wanted, key=lambda fix: (fix != "offer", not (said and fix == "date")))


def _meant(whole: WholeMessage) -> list[str]:
    """The photos that a decision is about: those of which something is asked, or the only one."""
    asked = {need.photo for need in whole.needs if need.kind == whole.worst}
    found = [one.photo for one in whole.photos if one.photo in asked]
    return found or [one.photo for one in whole.photos if len(whole.photos) == 1]


def _accept_words(offer: Offer, worst: str, whole: WholeMessage | None) -> str:
    """What accepting the message as it is comes to; days in doubt are named."""
    kinds = [need.kind for need in whole.needs] if whole else []
    if whole and worst == "private place" and not whole.photos:
        return "Done: the place is guarded, or it is no secret"
    if "private place" in kinds and worst != "private place":
        return f"{offer.accept}, and the place is no home and no secret"
    stands = {p.time.event_date for p in whole.photos if p.time} if whole else set()
    if worst == "date doubt" and len(stands) == 1 and "/" in (span := stands.pop()):
        return f"Leave it open: {span.replace('/', ' to ')}"
    return offer.accept


def _who_wrote(whole: WholeMessage) -> people.Person | None:
    """The sender with what they allow; None for one without an address."""
    address = whole.message.sender_address
    return people.find(opened.survey(), address) if address else None


@room.post("/settle")
def settle_messages() -> Response:
    """Carry out one decision for the message on the page and those ticked beside it."""
    form = request.form
    chosen = list(dict.fromkeys([form.get("current", ""), *form.getlist("message")]))
    decision = form.get("do", "")
    if len(chosen) > 1 and decision.partition(":")[0] in ONE_BY_ONE:
        raise UnknownError(
            "this is decided for one message at a time",
            failing=f"{len(chosen) - 1} ticked beside it",
            next_step="Take the ticks away, then press it again.",
        )
    if decision == "preview":
        return _preview(form.get("current", ""), form.get("really", ""))
    wanted = [one for one in chosen if one]
    by_hand = decision.startswith(("faces:", "withdraw", "animal", "new-site"))
    settlement = None if by_hand else _settlement(decision)
    with opened.unchanged(lambda: _as_shown(wanted, settlement)):
        answer = _settled(decision, settlement, wanted) if settlement else _done(decision, wanted)
    if decision == "new-site":  # others may have named the water before it was on the list
        opened.renew()
    return answer


def _as_shown(chosen: Sequence[str], settlement: Settlement | None) -> list[str]:
    """What a page holds as "seen" that shows the message as it stands, and what is ticked too.

    A decision that is sent again, since its answer was lost, is no other.
    """
    survey, seen = opened.survey(), request.form.get("seen", "")
    if settlement and settle.is_recorded(survey, chosen, settlement, by=opened.person()):
        return [seen]
    number = seen.partition(" ")[0]
    if not number.isdecimal() or decided_since(survey, chosen, int(number[:12])):
        return []
    whole = message_page.whole_message(survey, request.form.get("current", ""))
    return [f"{number} {whole.stands}"]


def _done(decision: str, wanted: Sequence[str]) -> Response:
    """Carry out a decision about the photos, or one that adds a water first."""
    form = request.form
    if decision.startswith("faces:"):
        return _publish(form.getlist("photo"), decision.removeprefix("faces:"))
    if decision == "withdraw":
        return _withdraw(form.get("current", ""))
    if decision == "animal":
        return _add_animals(form.getlist("photo"))
    return _settled(decision, Settlement(site=_new_site()), wanted)


def _settled(decision: str, settlement: Settlement, wanted: Sequence[str]) -> Response:
    settled = settle.settle(opened.survey(), wanted, settlement, **opened.signed())
    if decision.startswith("ask"):
        code, *others = [_code_of(one.state_reason) for one in settled]
        return redirect(url_for("letters.letter", code=code, also=" ".join(others) or None))
    return _onwards()


def _of_sender(
    whole: WholeMessage,
) -> tuple[persons.Forgettable, tuple[str, ...]] | None:
    """Who wrote a message, and those of their photos that are not withdrawn yet."""
    if not whole.message.sender_address:
        return None
    who = persons.whom(opened.survey(), whole.message.sender_address)
    return who, correct.not_withdrawn(opened.survey(), who.photos)


def _withdraw(identifier: str) -> Response:
    """Withdraw all photos of a message's sender; the message still waits to be called done."""
    survey = opened.survey()
    found = _of_sender(message_page.whole_message(survey, identifier))
    if found and found[1]:
        correct.withdraw(survey, found[1], reason="", **opened.signed())
    return redirect(url_for(".message", identifier=identifier))


def _new_site() -> str:
    """Add the water that the page describes; its name."""
    form = request.form
    habitat = form.get("new_habitat", "")
    made = tables.add_site(
        opened.survey(),
        opened.typed("new_name"),
        _degrees("new_latitude"),
        _degrees("new_longitude"),
        habitat=habitat if habitat in _WORDS["habitats"] else "",
        private=form.get("new_private") == "yes",
        **opened.signed(),
    )
    return made.locality


def _degrees(name: str) -> float | None:
    """A latitude or longitude as typed, with a point or a comma; None where nothing stands."""
    text = opened.typed(name).strip()
    try:
        return float(text.replace(",", ".")) if text else None
    except ValueError as error:
        raise UnknownError(
            "this is no number of degrees",
            failing=text[:60],
            next_step="Write such as 53.9051; latitude and longitude have a field each.",
        ) from error


def _settlement(decision: str) -> Settlement:
    """What the pressed button and the fields beside it say."""
    kind, _, value = decision.partition(":")
    fields = ("site", "date", "aside", "photographer")
    needed = {name: opened.typed(name).strip() for name in fields}
    if kind in needed and not (value or needed[kind]):
        raise UnknownError(
            "this decision needs a word of yours",
            failing="reason" if kind == "aside" else kind,
            next_step="Go back, fill the field beside the button, and press it again.",
        )
    if kind == "clock":
        return Settlement(camera_offset_seconds=float(value))
    made = {
        "site": Settlement(site=value or needed["site"]),
        "date": Settlement(date=value or needed["date"]),
        "aside": Settlement(set_aside=value or needed["aside"]),
        "accept": Settlement(accept=True),
        "offer": Settlement(take_offer=True),
        "ask": Settlement(ask=value),
        "answers": Settlement(answers=value),
        "photographer": Settlement(
            photographer=value or needed["photographer"],
            new_person=request.form.get("new_person") == "yes",
        ),
        "new-photographer": Settlement(photographer=value, new_person=True),
    }
    if kind not in made:
        raise UnknownError(
            "the page sent no decision", failing=decision[:40], next_step="Load the page again."
        )
    return made[kind]


def _code_of(reason: str) -> str:
    """The code of the letter that a state names, such as "asked: place (Q-1A2B.eml)"."""
    return reason.rpartition("(")[2].removesuffix(")").removesuffix(".eml")


def _preview(identifier: str, really: str) -> Response:
    """The message again, with what correcting its camera would change."""
    whole = message_page.whole_message(opened.survey(), identifier)
    seconds = clock_difference(whole.first_clock, really)
    return redirect(url_for(".message", identifier=whole.message.identifier, clock=seconds))


def clock_difference(shown: str, really: str) -> int:
    """Seconds from what a clock showed to when it really was, both local times of one place.

    Raises
    ------
    UnknownError
        If either is no date with a time.

    Examples
    --------
    >>> clock_difference("2025-06-20T14:08:12+02:00", "2026-06-20T14:08")
    31535988
    """
    try:
        before, after = (
            datetime.fromisoformat(one).replace(tzinfo=None) for one in (shown, really)
        )
    except ValueError as error:
        raise UnknownError(
            "a day and a time are needed",
            failing=really or "when the first photo was really taken",
            next_step="Fill the field with day and time, then press the button again.",
        ) from error
    return round((after - before).total_seconds())


def _publish(photos: list[str], decision: str) -> Response:
    for photo in photos:
        correct.correct(
            opened.survey(), photo, field="publication", value=decision, **opened.signed()
        )
    return _onwards()


def _add_animals(photos: list[str]) -> Response:
    for photo in photos:
        edits.add_animal(opened.survey(), photo, **opened.signed())
    return _onwards()


def _onwards() -> Response:
    """To the message again while it needs something, else to the next in the list."""
    current = request.form.get("current", "")
    listed = [current, *request.form.get("order", "").split()]
    following = message_page.still_open(opened.survey(), listed)
    return redirect(
        url_for(".message", identifier=following[0]) if following else url_for(".start")
    )


@room.post("/undo")
def undo() -> Response:
    """Take back my action of this number, or bring back what my undo of this number took.

    What was taken back is there again, to be decided otherwise.
    """
    undone = opened.take_back()
    number = None if undone.holds else undone.number
    back = request.form.get("back", "")
    if back == url_for("records.start"):
        return redirect(url_for("records.start", undone=number))
    decided = rows_of_action(opened.survey(), undone.root)
    if decided and number:
        message = by_row(opened.survey(), decided[0]).identifier
        return redirect(url_for(".message", identifier=message, undone=number))
    return redirect(url_for(".start", undone=number))
