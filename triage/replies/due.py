"""Which sightings a letter to a person tells of, who gets none and why, which drafts are stale."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

from triage.replies.letters import OpenKind
from triage.replies.refusals import refuses_letters
from triage.replies.telling import said_of
from triage.sightings import Sighting
from triage.standards.counting import counted

SETTLED = ("determined", "undeterminable")

ASKED: Mapping[str, OpenKind] = {
    "place": "place",
    "place doubt": "place",
    "date": "date",
    "clock": "date",
    "date doubt": "date",
    "unreadable": "original",
    "link": "original",
    "two senders": "identity",
}
"""What a letter asks for each kind of need; the others are the coordinator's alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterRow:
    """A letter as kept. ``said`` is what was said of each sighting, by its identifier."""

    person: int
    kind: str
    year: int
    draft_name: str
    said: dict[str, str]


def kind_of(year: int) -> str:
    """The kind of the letters about a year; of thanks where that is 0."""
    return "season" if year else "thanks"


def due_sightings(
    drafted: Iterable[LetterRow],
    sightings: Iterable[Sighting],
    observers: Mapping[str, int | None],
    year: int,
) -> dict[int, list[Sighting]]:
    """By person the settled sightings to tell of.

    All of a year, unless its letter said just that; for thanks, those that no letter told of so.
    """
    before: dict[int, dict[str, str]] = defaultdict(dict)
    for letter in drafted:
        if letter.year == year:
            before[letter.person] = ({} if year else before[letter.person]) | letter.said
    due: dict[int, list[Sighting]] = defaultdict(list)
    for sighting in sightings:
        observer = observers[sighting.identifier]
        if observer is None or sighting.state not in SETTLED:
            continue
        told_so = before[observer].get(sighting.identifier) == said_of(sighting)
        if sighting.event_date.startswith(f"{year}-") if year else not told_so:
            due[observer].append(sighting)
    if not year:
        return due
    return {
        person: found
        for person, found in due.items()
        if before[person] != {one.identifier: said_of(one) for one in found}
    }


def reason_for_none(
    *,
    addresses: Collection[str],
    wrote: bool,
    needs: Iterable[str],
    texts: Iterable[str],
) -> str:
    """Why a person gets no letter; empty if they do.

    ``wrote`` says that they wrote themselves, ``needs`` are the kinds of what their mails need,
    ``texts`` what they wrote.
    """
    if not addresses:
        return "no address"
    if not wrote:
        return "no mail of their own, or only automatic mail"
    if "delete request" in needs:
        return "asks to have something deleted; settle that first ('triage inbox')"
    if any(map(refuses_letters, texts)):
        return "asked for no letters"
    return ""


def stale_drafts(
    drafted: Iterable[LetterRow], sightings: Iterable[Sighting], there: Collection[str]
) -> Iterator[str]:
    """Drafts that still lie ``there`` and say what no longer stands."""
    stands = {one.identifier: said_of(one) for one in sightings}
    for letter in drafted:
        changed = [one for one, said in letter.said.items() if stands.get(one) != said]
        if changed and letter.draft_name in there:
            yield (
                f"{letter.draft_name}: {counted(len(changed), 'determination')} in it taken back"
                " or changed since; "
                "delete it if it was not sent"
            )
