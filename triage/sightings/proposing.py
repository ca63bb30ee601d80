"""Group photos into sightings, one animal each, by time, place, observer, suborder and looks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from triage.analysis import one_animal
from triage.analysis.geodesy import metres_between
from triage.sightings.records import Edit, Member

STRONG_LIKENESS = 0.2  # added to the likeness asked for at the longest gap in time
BURST_RELIEF = 0.1  # less is asked within a burst: seconds apart one animal shows other sides
TOLD_APART_LIKENESS = 0.8  # asked of frames whose sender speaks of several animals


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One photo (the best of its copies) as the grouping of sightings sees it.

    ``seconds`` is the instant on any common clock, None where only the day or nothing is known;
    ``day`` is an ISO day or empty. ``burst`` names its burst or is empty. ``told_apart`` says that
    the sender's words speak of several animals. ``colours`` and ``features`` are how the insect
    looks.
    """

    photo: str
    observer: str
    message: str
    day: str
    seconds: float | None
    decimal_latitude: float | None
    decimal_longitude: float | None
    coordinate_uncertainty_in_meters: float | None
    location_id: str
    suborder: str
    colours: tuple[float, ...]
    burst: str
    view: str = ""
    features: bytes = b""
    told_apart: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupingRules:
    """When photos make a sighting, and two show one animal; docs/sightings.md explains each.

    ``least_odonate`` in [0, 1] is how sure an odonate must be for a photo to make a sighting
    unless a person added its animal.
    """

    same_animal_seconds: float = 180.0
    same_place_metres: float = 60.0
    least_likeness: float = 0.65
    least_odonate: float = 0.5


Likeness = Callable[[Frame, Frame], float]
"""How alike the insects of two frames look, from 0 to 1, the same whichever is named first."""


def likeness_of_looks(first: Frame, second: Frame) -> float:
    """How likely the insects are one, by what the network sees of them and by their colours."""
    return one_animal.likeness(
        first.features,
        second.features,
        first.colours,
        second.colours,
        same_view=first.view == second.view,
    )


def propose(
    frames: Sequence[Frame],
    rules: GroupingRules,
    edits: Sequence[Edit] = (),
    *,
    likeness: Likeness = likeness_of_looks,
) -> list[tuple[Member, ...]]:
    """Group frames into sightings, cautiously, and then as people said.

    Frames of one observer and day join only when every pair among them may show one animal. The
    result does not depend on the order of the input; each group is sorted, and so are the groups.
    """
    partitions: dict[tuple[str, str], list[Frame]] = defaultdict(list)
    for frame in frames:
        # Without a day only the same message can bring photos together.
        partitions[(frame.observer, frame.day or f"message {frame.message}")].append(frame)
    groups: list[set[Member]] = []
    for partition in partitions.values():
        groups += [{(f.photo, 1) for f in group} for group in _cluster(partition, rules, likeness)]
    for edit in edits:
        groups = _apply(groups, edit)
    return sorted(tuple(sorted(group)) for group in groups if group)


def may_be_one_animal(
    first: Frame,
    second: Frame,
    rules: GroupingRules,
    likeness: Likeness = likeness_of_looks,
) -> bool:
    """Whether nothing that is known speaks against one animal in both frames.

    Suborders are asked first, however unsure either is, then time and place, and at last how alike
    the insects look. One burst speaks for one animal, in place of a short time; it never outweighs
    a suborder or a place.
    """
    if first.suborder != second.suborder:
        return False
    asked = _likeness_asked(first, second, rules)
    if asked is None or not _one_place(first, second, rules):
        return False
    return likeness(first, second) >= asked


def _likeness_asked(first: Frame, second: Frame, rules: GroupingRules) -> float | None:
    """The more the longer the time between, and None where it is too long for one animal."""
    gap = _gap(first, second)
    if _one_burst(first, second):
        asked = rules.least_likeness - BURST_RELIEF
    elif gap is None or gap > rules.same_animal_seconds:
        return None
    else:
        share = gap / rules.same_animal_seconds if rules.same_animal_seconds else 0.0
        asked = rules.least_likeness + STRONG_LIKENESS * share
    if first.message == second.message and (first.told_apart or second.told_apart):
        asked = max(asked, TOLD_APART_LIKENESS)
    return min(asked, 1.0)


def _one_burst(first: Frame, second: Frame) -> bool:
    return bool(first.burst) and first.burst == second.burst


def _gap(first: Frame, second: Frame) -> float | None:
    if first.seconds is not None and second.seconds is not None:
        return abs(first.seconds - second.seconds)
    # Two pictures sent together, at least one without a time of day: the mail is the bond.
    return 0.0 if first.message == second.message else None


def _one_place(first: Frame, second: Frame, rules: GroupingRules) -> bool:
    if first.location_id and second.location_id and first.location_id != second.location_id:
        return False
    metres = metres_between(first, second)
    slack = (first.coordinate_uncertainty_in_meters or 0) + (
        second.coordinate_uncertainty_in_meters or 0
    )
    return metres is None or metres <= rules.same_place_metres + slack


def _cluster(frames: list[Frame], rules: GroupingRules, likeness: Likeness) -> list[list[Frame]]:
    """Complete linkage, the nearest in time first: a group holds only mutually possible frames."""
    ordered = sorted(frames, key=lambda f: (f.seconds is None, f.seconds or 0.0, f.photo))
    groups: list[list[Frame]] = [[frame] for frame in ordered]
    pairs = sorted(
        (
            (_gap(a, b) or 0.0, -likeness(a, b), i, j)
            for i, a in enumerate(ordered)
            for j, b in enumerate(ordered[i + 1 :], i + 1)
            if may_be_one_animal(a, b, rules, likeness)
        )
    )
    home = list(range(len(ordered)))
    for _, _, i, j in pairs:
        first, second = home[i], home[j]
        if first == second:
            continue
        if all(
            may_be_one_animal(a, b, rules, likeness) for a in groups[first] for b in groups[second]
        ):
            for frame in groups[second]:
                home[ordered.index(frame)] = first
            groups[first] += groups[second]
            groups[second] = []
    return [group for group in groups if group]


def _apply(groups: list[set[Member]], edit: Edit) -> list[set[Member]]:
    named = set(edit.members)
    if edit.kind == "add":
        present = set().union(*groups) if groups else set()
        return groups + [{member} for member in sorted(named - present)]
    if edit.kind == "split":
        present = set().union(*groups) if groups else set()
        return [group - named for group in groups] + [named & present]
    touched = [group for group in groups if group & named]
    return [group for group in groups if not group & named] + [set().union(*touched)]
