"""Find the person of the survey whom a typed name means; a near name is asked about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from triage.errors import UnknownError
from triage.standards.person_names import likeness, near_names, of_one_family


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


def of_known_family(added: str, known: Iterable[KnownPerson]) -> str:
    """What to say of a person who was added, where others have a like family name; or nothing."""
    family = of_one_family(added, _names(known))
    if not family:
        return ""
    others = f"{' and '.join(family[:3])} {'has' if len(family) == 1 else 'have'}"
    return (
        f"{added} is new here, and {others} a like family name. If they are one person,"
        " 'triage people --same' joins them."
    )


def _names(known: Iterable[KnownPerson]) -> list[str]:
    return [one.name for one in known if one.name]


def _handles(one: KnownPerson) -> set[str]:
    return {form.casefold() for form in (one.code, *one.short_names, *one.addresses)}
