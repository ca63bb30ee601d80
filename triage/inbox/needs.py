"""List what a human must still decide about a message, worst first, each with what settles it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, cast

from triage.metadata.private_places import MAY_BE_PRIVATE
from triage.standards.counting import counted
from triage.standards.data_files import toml_of

NeedKind = Literal[
    "delete request",
    "answer",
    "correction",
    "unreadable",
    "not examined",
    "place",
    "date",
    "clock",
    "date doubt",
    "place doubt",
    "private place",
    "several animals",
    "photographer",
    "two senders",
    "link",
    "other file",
    "no insect",
    "not an adult",
    "people",
    "no photo",
    "newsletter",
]

_WORDS = cast("dict[NeedKind, dict[str, str]]", toml_of("triage.inbox", "needs.toml"))
FIXES = {kind: words["fix"] for kind, words in _WORDS.items()}
"""What each row offers; the order of the list is the order of the inbox, worst first."""

DOUBTS = {kind: words["doubt"] for kind, words in _WORDS.items() if "doubt" in words}
DOUBTS["private place"] = MAY_BE_PRIVATE
"""Needs that put a record in doubt, in words that may be released."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One thing that a human must decide, with the photo it is about (or none).

    ``offered`` is what its doubt suggests instead, ``offer`` another fix than the kind's own,
    ``word`` what that fix wants: the code of a question, the name of a photographer; ``mails`` the
    identifiers of earlier mails that it may be about.
    """

    kind: NeedKind
    text: str
    photo: str = ""
    offer: str = ""
    offered: str = ""
    word: str = ""
    mails: tuple[str, ...] = ()

    @property
    def fix(self) -> str:
        """How to settle it."""
        fix = self.offer or FIXES[self.kind]
        return f"--take-offer for {self.offered}, or {fix}" if self.offered else fix


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """What the words of a message ask or tell, each as they stand there; empty for nothing.

    ``delete`` asks to take something out, ``correction`` may put an earlier mail right,
    ``private`` tells of a home or of a place to keep,
    ``no_day`` of a day that no calendar has, with the reason; ``several`` of several animals,
    ``photographer`` that somebody else took the photos, by whose name if one is given;
    ``told_above`` is what whoever forwards another's mail tells of a place or day, ``forwarder``
    their name; ``sender`` is an address that 'triage forget' knows;
    ``distribution`` the list that the mail came through;
    ``answer`` what is left to read of an answer to our question, ``answers`` that it is one,
    ``answered`` the identifier of the mail that was asked about;
    ``may_answer`` the code of a question that it may answer; ``earlier`` the sender's earlier mails
    with photos, the likeliest first, which words without a photo may correct.
    """

    delete: str = ""
    correction: str = ""
    private: str = ""
    several: str = ""
    no_day: str = ""
    photographer: str = ""
    photographer_name: str = ""
    told_above: str = ""
    forwarder: str = ""
    sender: str = ""
    distribution: str = ""
    answer: str = ""
    answers: bool = False
    answered: tuple[str, ...] = ()
    may_answer: str = ""
    earlier: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFacts:
    """What the inbox knows of one photo of a message."""

    photo: str
    file_name: str
    problem: str
    odonate: float | None
    kind: str
    faces: int
    publication: str
    has_time: bool
    has_place: bool
    others_who_sent_it: int
    in_sighting: bool
    repeats: str
    clock_doubts: tuple[str, ...] = ()
    date_doubts: tuple[str, ...] = ()
    offered_date: str = ""
    place_doubts: tuple[str, ...] = ()
    offered_place: str = ""
    photographer_known: bool = False
    time_said: bool = False  # by a person who was asked, or who put its clock right
    carried_by: int = 0  # the action that corrected its camera in another mail, or typed against it
    placed_by: int = 0  # the action that typed its place against its own fix
    place_is_guarded: bool = False  # it is or touches a private water
    private_water: str = ""  # what its own fix or words name, where a public place was chosen
    public_choice: str = ""  # that place
    chosen_by: int = 0  # the action that chose it


_NOTHING_SAID = Wording()
_BEFORE_A_TIME = re.compile(r"(?<=\d)T(?=\d\d:)")  # ISO 8601; people leave a blank there


def severity(need: Need) -> int:
    """0 is worst."""
    return list(FIXES).index(need.kind)


def needs_of(
    photos: Sequence[PhotoFacts],
    *,
    links: Sequence[str],
    other_files: Sequence[str],
    least_odonate: float,
    said: Wording = _NOTHING_SAID,
) -> list[Need]:
    """List what must be decided about one message, worst first, one row a kind and photo."""
    found: list[Need] = list(_needs_of_words(said))
    if said.distribution:
        return sorted([*found, _newsletter(said, len(photos))], key=severity)
    found += _needs_of_private_places(photos, said)
    if said.several and any(photo.in_sighting for photo in photos):
        found.append(Need(kind="several animals", text=f"the mail says: '{said.several}'"))
    if (said.photographer or said.told_above) and any(photo.in_sighting for photo in photos):
        found += _needs_of_photographer(photos, said)
    for photo in photos:
        found += _needs_of_photo(photo, least_odonate, said)
    for link in links if not photos else ():
        found.append(Need(kind="link", text=f"a link instead of a photo: {link}"))
    for name in other_files:
        found.append(Need(kind="other file", text=f"not examined: {name}"))
    if (
        not photos
        and not links
        and not other_files
        and not (said.answers or said.delete or said.may_answer)
        and not (said.correction or (said.private and said.earlier))
    ):
        found.append(_words_only(said.earlier))
    return sorted(found, key=severity)


def _needs_of_words(said: Wording) -> Iterator[Need]:
    if said.delete:
        fix = (
            f"'triage withdraw PHOTO', or 'triage forget {said.sender or 'ADDRESS'}'; then --accept"
        )
        yield Need(kind="delete request", text=f"asks: '{said.delete}'", offer=fix)
    if said.correction and not (said.answers or said.may_answer):
        named = ", ".join(one[:10] for one in said.earlier)
        about = f"it may be about an earlier one ({named})" if named else "no earlier one is known"
        text = f"the mail says: '{said.correction}'; {about}"
        yield Need(kind="correction", text=text, mails=said.earlier)
    if said.answer:
        yield Need(kind="answer", text=said.answer, mails=said.answered)
    elif said.may_answer:
        fix = f"--answers {said.may_answer} if it does; else read it, then --accept"
        text = f"may answer our question {said.may_answer}, without its thread"
        yield Need(kind="answer", text=text, offer=fix, word=said.may_answer)


def _needs_of_private_places(photos: Sequence[PhotoFacts], said: Wording) -> Iterator[Need]:
    """A public place that somebody chose answers nothing: only a word on the secret does."""
    placed = [one for one in photos if one.in_sighting]
    if said.private and any(not one.place_is_guarded for one in placed):
        chosen = dict.fromkeys(one.public_choice for one in placed if one.public_choice)
        released = f"; {', '.join(chosen)} would be released as it is" if chosen else ""
        yield Need(kind="private place", text=f"the mail says: '{said.private}'{released}")
    elif said.private and not photos and said.earlier and not said.answers:
        text = f"the mail says: '{said.private}'; it may be about an earlier mail of this sender"
        yield Need(kind="private place", text=text, mails=said.earlier)
    for one in placed if not said.private else ():
        if one.private_water:
            name = one.file_name or one.photo[:12]
            text = f"{name}: it seems to be of {one.private_water}, which is private, and"
            text += f" {one.public_choice}, which was chosen, would be released as it is"
            yield Need(kind="private place", text=text, photo=one.photo)


def _needs_of_photographer(photos: Sequence[PhotoFacts], said: Wording) -> Iterator[Need]:
    if all(photo.photographer_known for photo in photos):
        return
    named = said.photographer_name if said.photographer else said.forwarder
    name = named or "NAME"
    fix = FIXES["photographer"].replace("NAME", f"'{name}'" if " " in name else name, 1)
    text = f"the mail says: '{said.photographer}'"
    if not said.photographer:
        writer = "whoever wrote the forwarded mail"
        text = f"counted as taken by {writer}; above it stands: '{said.told_above}'"
        fix = fix.replace("the sender", writer)
    yield Need(kind="photographer", text=text, offer=fix, word=named)


def _words_only(earlier: tuple[str, ...]) -> Need:
    """Words without a photo may correct what an earlier mail of the same sender said."""
    if not earlier:
        return Need(kind="no photo", text="words only")
    named = ", ".join(one[:10] for one in earlier)
    return Need(
        kind="no photo",
        text="words only; they may correct an earlier mail of this sender",
        offer=f"'triage settle MESSAGE' with --site or --date for the one that they correct"
        f" ({named}); then --set-aside REASON, or --ask original",
        mails=earlier,
    )


def _newsletter(said: Wording, count: int) -> Need:
    brings = f"; {counted(count, 'picture')}, in no sighting" if count else ""
    return Need(kind="newsletter", text=f"sent to many ({said.distribution}){brings}")


PERHAPS = 0.16  # chance of an adult: 5 of 9 that are missed have it, and 28 of 189 other photos
NOT_ADULT = {
    "exuvia": (
        "seems to show an exuvia",
        "If the skin was collected, type its lot in. "
        "An adult that hangs from its skin is proof of breeding: add it as an animal",
    ),
    "larva": ("seems to show a larva", "If it was collected, type its lot in"),
    "hand": ("seems to show a hand", "If a skin or a larva lies in it, type the lot in"),
}
"""What is seen instead of an adult, and what to do with it."""
OTHER_KINDS = {
    "other insect": "another insect",
    "page": "a page or a screen",
    "no insect": "no insect",
}


def _needs_of_photo(photo: PhotoFacts, least_odonate: float, said: Wording) -> list[Need]:
    name = photo.file_name or photo.photo[:12]
    if photo.problem:
        return [Need(kind="unreadable", text=f"{name}: {photo.problem}", photo=photo.photo)]
    if photo.odonate is None:
        return [Need(kind="not examined", text=f"{name}: not examined yet", photo=photo.photo)]
    if photo.repeats:
        return []
    found = []
    insect = photo.in_sighting or photo.odonate >= least_odonate
    if photo.kind in NOT_ADULT and not (insect and photo.kind == "hand"):
        seen, to_do = NOT_ADULT[photo.kind]
        text = f"{name}: {seen}{_perhaps(photo.odonate)}. {to_do}"
        found.append(_need("not an adult", text, photo))
    elif not insect:
        what = OTHER_KINDS.get(photo.kind, "no dragonfly")
        text = f"{name}: seems to show {what}{_perhaps(photo.odonate)}"
        found.append(_need("no insect", text, photo))
    else:
        found += [*_needs_of_place(photo, name), *_needs_of_time(photo, name, said.no_day)]
        if photo.others_who_sent_it:
            found.append(
                _need("two senders", f"{name}: the same picture came from another sender", photo)
            )
    if photo.faces and not photo.publication:
        found.append(_need("people", f"{name}: people may be in it", photo))
    return found


def _perhaps(odonate: float) -> str:
    """Said of what is rather no adult: tiny ones and those that leave their skin look like this."""
    likely = PERHAPS <= odonate < 0.5
    return f"; perhaps an adult ({odonate:.0%})" if likely else ""


def _needs_of_place(photo: PhotoFacts, name: str) -> Iterator[Need]:
    doubts = "; ".join(photo.place_doubts)
    if not photo.has_place or photo.place_doubts:
        kind: NeedKind = "place doubt" if photo.has_place else "place"
        text = doubts if photo.has_place else f"no place{': ' if doubts else ''}{doubts}"
        yield _need(kind, f"{name}: {text}", photo, photo.offered_place)


def _needs_of_time(photo: PhotoFacts, name: str, no_day: str) -> Iterator[Need]:
    said = (f"the mail says {no_day}",) if no_day and not photo.time_said else ()
    doubts = (*(photo.clock_doubts or photo.date_doubts), *said)
    text = f"{name}: {'; '.join(doubts)}"
    if not photo.has_time:
        yield _need("date", f"{name}: no date{': ' if said else ''}{'; '.join(said)}", photo)
    elif doubts:
        yield _need(
            "clock" if photo.clock_doubts else "date doubt", text, photo, photo.offered_date
        )


def _need(kind: NeedKind, text: str, photo: PhotoFacts, offered: str = "") -> Need:
    text, offered = (_BEFORE_A_TIME.sub(" ", one) for one in (text, offered))
    return Need(kind=kind, text=text, photo=photo.photo, offered=offered)
