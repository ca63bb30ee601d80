"""Photos with time, place and observer in, proposed sightings (one animal each) out."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from triage.analysis.colours import likeness

Member = tuple[str, int]
"""A photo's digest and the number of the animal in it, from 1."""

SURE_SUBORDER = 0.8  # probability from which two different suborders are two animals
STRONG_LIKENESS = 0.2  # added to the likeness asked for at the longest gap in time


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """One animal, or one pair, at one place and time, by one observer (Darwin Core Occurrence).

    What matching, exports and reports know of it. ``event_date`` is ISO 8601 as precise as the
    evidence; ``observer`` is the person's code. Coordinates are the held, unreleased ones.
    ``photos`` are digests, the best of each view first. Names are empty until determined.
    """

    identifier: str
    observer: str
    event_date: str
    decimal_latitude: float | None
    decimal_longitude: float | None
    coordinate_uncertainty_in_meters: float | None
    location_id: str = ""
    locality: str = ""
    photos: tuple[str, ...] = ()
    best_dorsal: str = ""
    best_lateral: str = ""
    suborder: str = ""
    state: str = "queued"
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    sex: str = ""
    behavior: str = ""
    life_stage: str = "adult"
    georeference_protocol: str = ""
    place_source: str = ""
    time_source: str = ""
    frozen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One photo (the best of its copies) as the grouping of sightings sees it.

    ``seconds`` is the instant on any common clock, None where only the day or nothing is known;
    ``day`` is an ISO day or empty. ``burst`` names its burst or is empty.
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
    suborder_probability: float
    colours: tuple[float, ...]
    burst: str
    camera: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupingRules:
    """When two photos may show one animal; docs/sightings.md explains each."""

    same_animal_seconds: float = 180.0
    same_place_metres: float = 60.0
    least_likeness: float = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """What a person said about which photos show one animal, in the order it was said."""

    kind: Literal["split", "merge", "add"]
    members: tuple[Member, ...]


def sighting_identifier(members: Iterable[Member]) -> str:
    """Sixteen hexadecimal digits from the photos and animals, the same for the same set."""
    text = "\n".join(f"{photo}#{animal}" for photo, animal in sorted(members))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def propose(
    frames: Sequence[Frame], rules: GroupingRules, edits: Sequence[Edit] = ()
) -> list[tuple[Member, ...]]:
    """Group frames into sightings, cautiously, and then as people said.

    Frames of one observer and day join only when every pair among them may show one animal:
    near in time and place, no two suborders, colours alike, or frames of one burst. The result
    does not depend on the order of the input; each group is sorted, and so are the groups.
    """
    partitions: dict[tuple[str, str], list[Frame]] = defaultdict(list)
    for frame in frames:
        # Without a day only the same message can bring photos together.
        partitions[(frame.observer, frame.day or f"message {frame.message}")].append(frame)
    groups: list[set[Member]] = []
    for partition in partitions.values():
        groups += [{(f.photo, 1) for f in group} for group in _cluster(partition, rules)]
    for edit in edits:
        groups = _apply(groups, edit)
    return sorted(tuple(sorted(group)) for group in groups if group)


def may_be_one_animal(first: Frame, second: Frame, rules: GroupingRules) -> bool:
    """Whether nothing that is known speaks against one animal in both frames."""
    if first.burst and first.burst == second.burst:
        return True
    sure = min(first.suborder_probability, second.suborder_probability) >= SURE_SUBORDER
    if sure and first.suborder != second.suborder:
        return False
    gap = _gap(first, second)
    if gap is None or gap > rules.same_animal_seconds:
        return False
    if not _one_place(first, second, rules):
        return False
    share = gap / rules.same_animal_seconds if rules.same_animal_seconds else 0.0
    wanted = min(rules.least_likeness + STRONG_LIKENESS * share, 1.0)
    return likeness(first.colours, second.colours) >= wanted


def _gap(first: Frame, second: Frame) -> float | None:
    if first.seconds is not None and second.seconds is not None:
        return abs(first.seconds - second.seconds)
    # Two pictures sent together, at least one without a time of day: the mail is the bond.
    return 0.0 if first.message == second.message else None


def _one_place(first: Frame, second: Frame, rules: GroupingRules) -> bool:
    if first.location_id and second.location_id and first.location_id != second.location_id:
        return False
    if first.decimal_latitude is None or second.decimal_latitude is None:
        return True
    assert first.decimal_longitude is not None
    assert second.decimal_longitude is not None
    from triage.analysis.geodesy import distance

    metres = distance(
        first.decimal_latitude,
        first.decimal_longitude,
        second.decimal_latitude,
        second.decimal_longitude,
    )
    slack = (first.coordinate_uncertainty_in_meters or 0) + (
        second.coordinate_uncertainty_in_meters or 0
    )
    return bool(metres <= rules.same_place_metres + slack)


def _cluster(frames: list[Frame], rules: GroupingRules) -> list[list[Frame]]:
    """Complete linkage, the nearest in time first: a group holds only mutually possible frames."""
    ordered = sorted(frames, key=lambda f: (f.seconds is None, f.seconds or 0.0, f.photo))
    groups: list[list[Frame]] = [[frame] for frame in ordered]
    pairs = sorted(
        (
            (_gap(a, b) or 0.0, -likeness(a.colours, b.colours), i, j)
            for i, a in enumerate(ordered)
            for j, b in enumerate(ordered[i + 1 :], i + 1)
            if may_be_one_animal(a, b, rules)
        )
    )
    home = list(range(len(ordered)))
    for _, _, i, j in pairs:
        first, second = home[i], home[j]
        if first == second:
            continue
        if all(may_be_one_animal(a, b, rules) for a in groups[first] for b in groups[second]):
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
