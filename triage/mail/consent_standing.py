"""Chooses what stands of everything that one person has said about publishing.

A refusal stands at once. A grant stands once somebody of the survey has seen the words of one of
the person's grants, or when it answers our own question. The newest word wins, by the date of the
mail that said it, for the photos and for the name each by itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from triage.mail.consent import Publication, suspends_a_grant_only


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One statement: what it says, in which words, and when it was written (ISO instant in UTC).

    ``name_shown`` is a yes, a no or unstated; ``answers`` says that our own question was answered.
    """

    publish: Publication
    name_shown: Publication
    licence: str
    wording: str
    said_at: str
    answers: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingConsent:
    """What holds now, the words of grants that nobody has seen yet, and unclear ones.

    ``unclear`` are words about use that a person must decide: nothing was said since then that
    stands.
    """

    publish: Publication = "unstated"
    name_shown: Publication = "unstated"
    licence: str = ""
    unseen: tuple[str, ...] = ()
    unclear: tuple[str, ...] = ()


def standing_consent(statements: Iterable[Said], *, seen: bool) -> StandingConsent:
    """What stands of a person's statements; ``seen`` says that their grants were looked at.

    A statement that neither grants nor refuses, such as a condition, suspends what was granted
    before it, photos and name, until a person has decided; where nothing is granted, words that may
    be a soft refusal are nobody's work. One such of the survey's own is the word
    that they said nothing of it: what stood before stands again, and a seeming grant in the very
    same words counts for nothing.
    """
    said = sorted(statements, key=lambda one: (one.said_at, one.answers))
    nothing = {one.wording for one in said if one.answers and _is_silent(one)}
    nothing &= {one.wording for one in said if not _is_silent(one)}
    publish: Publication = "unstated"
    name: Publication = "unstated"
    licence = ""
    unseen: list[str] = []
    unclear: list[str] = []
    for one in said:
        believed = one.answers or (seen and one.wording not in nothing)
        if one.answers and _is_silent(one):
            unclear = [words for words in unclear if one.wording in nothing - {words}]
        elif _is_silent(one):
            granted = unseen or "yes" in (publish, name)
            if granted or not suspends_a_grant_only(one.wording):
                unclear.append(one.wording)
        elif "yes" in (one.publish, one.name_shown) and not believed:
            unseen += {one.wording} - nothing - {""}
        if one.publish == "no" or (one.publish == "yes" and believed):
            publish, licence = one.publish, one.licence if one.publish == "yes" else ""
            unclear = []
        if one.publish == "no" and one.name_shown != "yes":
            unseen = []  # what was granted before is over; a grant that comes later waits
        if one.name_shown == "no" or (one.name_shown == "yes" and believed):
            name = one.name_shown
    if unclear:
        publish, licence = ("unstated", "") if publish == "yes" else (publish, licence)
        name = "unstated" if name == "yes" else name
    return StandingConsent(
        publish=publish,
        name_shown=name,
        licence=licence,
        unseen=tuple(dict.fromkeys(unseen)),
        unclear=tuple(dict.fromkeys(words for words in unclear if words)),
    )


def _is_silent(said: Said) -> bool:
    return (said.publish, said.name_shown) == ("unstated", "unstated")
