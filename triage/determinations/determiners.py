"""Find the person of the survey whom a typed name means; a near name is asked about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from triage.errors import UnknownError
from triage.standards.person_names import (
    likeness,
    names_nobody,
    names_several,
    near_names,
    of_one_family,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownPerson:
    """A person of the survey under every form in which they may be typed."""

    row: int
    code: str
    name: str
    short_names: tuple[str, ...] = ()
    addresses: tuple[str, ...] = ()


def recognise(typed: str, known: Sequence[KnownPerson]) -> KnownPerson | None:
    """The one person of this name, short name, code or address; none if nobody is called so.

    Raises
    ------
    UnknownError
        If several people are called so.
    """
    wanted = " ".join(typed.split()).casefold()
    found = [one for one in known if wanted in _handles(one)]
    found = found or [one for one in known if one.name and likeness(typed, one.name) == "same"]
    if len(found) > 1:
        raise UnknownError(
            f"{len(found)} people are called so",
            failing=typed,
            next_step=f"Give a code in place of the name: {', '.join(p.code for p in found)}.",
        )
    return found[0] if found else None


def names_near(typed: str, known: Iterable[KnownPerson]) -> list[str]:
    """Names of people of which this one may be a slip, the nearest first."""
    return [name for name, _ in near_names(typed, _names(known))]


def ask_about(typed: str, known: Iterable[KnownPerson]) -> UnknownError:
    """What to say of a name that is nobody's yet: whom it may mean, or how to add somebody."""
    refuse_no_person(typed)
    names = _names(known)
    near = near_names(typed, names)
    if not near:
        family = of_one_family(typed, names)  # a nickname has many forms, its family name one
        others = (
            f"; {' and '.join(family[:3])} of a like family name may be meant" if family else ""
        )
        return UnknownError(
            f"nobody in this survey is called so{others}",
            failing=typed,
            next_step="Add --new to add this person to the survey.",
        )
    others = " or ".join(f"{name} ({reason})" for name, reason in near[:3])
    return UnknownError(
        f"this may be {others}",
        failing=typed,
        next_step="Write that name if it is the same person; add --new if it is somebody else.",
    )


def refuse_no_person(typed: str) -> None:
    """Refuse what is nobody's name, or the names of several people.

    Raises
    ------
    UnknownError
        If it is either.
    """
    if names_several(typed):
        raise UnknownError(
            "this names several people",
            failing=typed,
            next_step="Record what each of them says by itself, under one name. If it is one"
            " person, write the given names first, without a comma.",
        )
    if names_nobody(typed):
        raise UnknownError(
            "this is nobody's name",
            failing=typed or "no name",
            next_step="Write the name of the person.",
        )


def of_known_family(added: str, known: Iterable[KnownPerson]) -> str:
    """What to say of a person who was added, where others have a like name; or nothing."""
    names = _names(known)
    near = [name for name, _ in near_names(added, names)]
    like = near or of_one_family(added, names)
    if not like:
        return ""
    others = f"{' and '.join(like[:3])} {'has' if len(like) == 1 else 'have'}"
    return (
        f"{added} is new here, and {others} a like {'name' if near else 'family name'}. Until"
        " somebody says whether they are one person or two they do not count as two determiners:"
        " 'triage inbox' asks."
    )


@lru_cache(maxsize=65_536)
def may_be_one(name: str, other: str) -> str:
    """Why two determiners of these names may be one person, in words; empty if they are two.

    Nicknames are many, so a like family name is enough: one person under two names would settle
    what needs two.

    >>> may_be_one("Ruth Fenner", "R. Fenner"), may_be_one("Ruth Fenner", "Ida Kvist")
    ('one has only the initial', '')
    """
    if not name or not other:
        return ""
    if likeness(name, other) == "same":
        return "the same name"
    near = near_names(name, [other])
    if near:
        return near[0][1]
    family = of_one_family(name, [other])
    return "both name sightings, and their family names are near" if family else ""


def _names(known: Iterable[KnownPerson]) -> list[str]:
    return [one.name for one in known if one.name]


def _handles(one: KnownPerson) -> set[str]:
    return {form.casefold() for form in (one.code, *one.short_names, *one.addresses)}
