"""Decide which name stands for a sighting by all that its determiners said, and who is wanted."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace

from triage.determinations.records import Accepted, Determination, SightingState

Lineage = Callable[[str], Sequence[tuple[str, str]]]
"""A name in, its (rank, name) pairs from its own rank up to the order out."""

MAY_BE_ONE = "two who looked may be one person, and count as one until somebody says which"


def newest_of_each(determinations: Sequence[Determination]) -> list[Determination]:
    """The newest determination of every determiner, oldest first; the rest stay on record."""
    newest: dict[str, Determination] = {}
    for one in sorted(determinations, key=lambda d: (d.date_identified, d.identifier)):
        newest.pop(one.identified_by, None)
        newest[one.identified_by] = one
    return list(newest.values())


def accepted(
    determinations: Sequence[Determination],
    *,
    lineage: Lineage,
    needed: int = 1,
    extra_care: Callable[[str], str] = lambda name: "",
    may_be_one: Collection[frozenset[str]] = (),
) -> Accepted:
    """Decide where a sighting stands.

    While two of its determiners may be one person it is settled only if that makes no difference.

    Parameters
    ----------
    determinations : sequence of Determination
        All live ones of one sighting, in any order.
    lineage : callable
        From a name to its (rank, name) pairs, its own first.
    needed : int
        How many independent determiners the survey asks for.
    extra_care : callable
        From a name to the reason why two determiners are needed (outside season or area, marked
        in the checklist), or an empty text.
    may_be_one : collection of frozenset of str
        Every two of the determiners of whom nobody has said whether they are one person.

    Returns
    -------
    Accepted
        The finest name with enough support and no dissent; a majority of three or more decides a
        disagreement; otherwise the common coarser name stands and a second opinion is asked for.
    """
    as_many = _stands(determinations, lineage, needed, extra_care)
    if not may_be_one or as_many.state == "second opinion":
        return as_many
    as_one = _stands(_as_one(determinations, may_be_one), lineage, needed, extra_care)
    if all(getattr(as_many, one) == getattr(as_one, one) for one in _SETTLED_BY):
        return as_many
    return replace(as_one, state="second opinion", reason=MAY_BE_ONE)


_SETTLED_BY = ("state", "scientific_name", "qualifier")


def _as_one(
    determinations: Sequence[Determination], may_be_one: Collection[frozenset[str]]
) -> list[Determination]:
    """The same, as if all who may be one person were."""
    whose = {one.identified_by: one.identified_by for one in determinations}
    for pair in may_be_one:
        kept, gone = (whose[who] for who in sorted(pair))
        whose = {who: kept if one == gone else one for who, one in whose.items()}
    return [replace(one, identified_by=whose[one.identified_by]) for one in determinations]


def _stands(
    determinations: Sequence[Determination],
    lineage: Lineage,
    needed: int,
    extra_care: Callable[[str], str],
) -> Accepted:
    current = newest_of_each(determinations)
    if not current:
        return Accepted(state="queued", reason="not looked at yet")
    named = [one for one in current if one.outcome == "determined"]
    best = _best_supported(named, lineage, needed, extra_care) if named else _unnamed(current)
    asking = asks_for_second_opinion(determinations)
    if asking:
        return replace(best, state="second opinion", reason=f"{asking} asks for a second opinion")
    return best


def asks_for_second_opinion(determinations: Sequence[Determination]) -> str:
    """Who asked for somebody else's look and has not had one since; else nothing.

    A request is not withdrawn by whoever made it naming the animal again: only somebody else's
    later determination answers it.
    """
    ordered = sorted(determinations, key=lambda d: (d.date_identified, d.identifier))
    asking = ""
    for one in ordered:
        if asking and one.identified_by != asking:
            asking = ""
        if one.second_opinion:
            asking = one.identified_by
    return asking


def _unnamed(current: Sequence[Determination]) -> Accepted:
    if all(one.outcome == "not an adult" for one in current):
        return Accepted(state="set aside", reason=f"not an adult: {current[-1].reason}")
    return Accepted(state="undeterminable", reason=current[-1].reason or "cannot be told")


def _best_supported(
    named: Sequence[Determination],
    lineage: Lineage,
    needed: int,
    extra_care: Callable[[str], str],
) -> Accepted:
    lines = [list(lineage(one.scientific_name)) for one in named]
    depth = {pair: len(line) - i for line in lines for i, pair in enumerate(line)}
    support = {pair: sum(pair in line for line in lines) for pair in depth}
    # Deepest name first; among equals the one with more support, then by name.
    for pair in sorted(depth, key=lambda p: (-depth[p], -support[p], p)):
        dissent = [
            line for line in lines if pair not in line and not _is_ancestor(line, pair, lines)
        ]
        care = extra_care(pair[1])
        wanted = max(needed, 2 if care else 1)
        if dissent and support[pair] * 2 <= len(lines):
            continue
        if support[pair] < wanted:
            if dissent or len(lines) >= wanted:
                continue
            reason = care or f"{wanted} independent determinations are asked for"
            return _name(named, lines, pair, "second opinion", reason)
        if not _disputed(pair, lines):
            return _name(named, lines, pair, "determined", _agreed(support[pair], len(lines)))
        below = "the determiners disagree below this rank"
        return replace(_name(named, lines, pair, "second opinion", below), agreed=True)
    return Accepted(state="second opinion", reason="the determiners agree on no name")


def _disputed(pair: tuple[str, str], lines: list[list[tuple[str, str]]]) -> bool:
    """Whether two determiners name different taxa below this one."""
    below = {line[: line.index(pair)][-1] for line in lines if pair in line and line[0] != pair}
    return len(below) > 1


def _is_ancestor(
    line: list[tuple[str, str]], pair: tuple[str, str], lines: list[list[tuple[str, str]]]
) -> bool:
    """Whether this line ends at a coarser name that contains the pair: no dissent, less detail."""
    own = line[0]
    return any(pair in other and own in other[other.index(pair) :] for other in lines)


def _name(
    named: Sequence[Determination],
    lines: list[list[tuple[str, str]]],
    pair: tuple[str, str],
    state: SightingState,
    reason: str,
) -> Accepted:
    exact = [one for one, line in zip(named, lines, strict=True) if line[0] == pair]
    holders = exact or list(named)
    sexes = {one.sex for one in named if one.sex}
    qualifiers = {one.qualifier for one in holders}
    return Accepted(
        state=state,
        scientific_name=pair[1],
        taxon_rank=pair[0],
        # A doubt stands only while everybody who names the taxon has it.
        qualifier=qualifiers.pop() if exact and len(qualifiers) == 1 else "",
        sex=sexes.pop() if len(sexes) == 1 else "",
        reason=reason,
    )


def _agreed(support: int, all_of_them: int) -> str:
    return "one determiner" if all_of_them == 1 else f"{support} of {all_of_them} determiners"
