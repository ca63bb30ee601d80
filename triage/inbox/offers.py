"""What could settle a message, read from its photos' claims: sites, days and clocks to offer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from triage.analysis.geodesy import metres_between
from triage.exuviae import Site
from triage.metadata.camera_clock import CameraCorrection
from triage.metadata.capture_time import TimeClaim, corrected
from triage.metadata.position import PlaceClaim
from triage.standards.letters import alphabetical

MEANT = 4  # sites that are offered by one key each
OF_TEXT = ("message text", "message coordinates", "message site name", "sender's answer")
"""Sources of claims that were read from words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimedPhoto:
    """A photo of a message with everything that is claimed of it, and what stands."""

    photo: str
    file_name: str
    times: tuple[TimeClaim, ...]
    places: tuple[PlaceClaim, ...]
    time: TimeClaim | None
    place: PlaceClaim | None

    @property
    def clock(self) -> TimeClaim | None:
        """What the camera's clock showed, where it shows a time."""
        return next(
            (c for c in self.times if c.source == "camera clock" and "T" in c.event_date), None
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockPreview:
    """One camera's constant error, and what its correction would change."""

    correction: CameraCorrection
    changes: tuple[tuple[str, str, str], ...]  # file name, time as it stands, time as corrected


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedTime:
    """A time that may stand for every photo of the message, and what says it."""

    event_date: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NearbySite:
    """A site that may be meant; ``metres`` from where the photos were taken, if that is known."""

    site: Site
    metres: float | None


def nearest_first(sites: Iterable[Site], fix: PlaceClaim | None) -> list[NearbySite]:
    """Every site, the nearest to the photos first where that is known, else by name."""
    found = [
        NearbySite(site=site, metres=None if fix is None else metres_between(fix, site))
        for site in sites
    ]
    return sorted(
        found,
        key=lambda n: (n.metres if n.metres is not None else 0.0, alphabetical(n.site.locality)),
    )


def meant(
    sites: Sequence[NearbySite], shown: Sequence[ClaimedPhoto], *, near: bool
) -> tuple[NearbySite, ...]:
    """Sites that the words may mean, as their doubts list them; else the nearest to the photos."""
    said = [c for p in shown for c in p.places if c.source in OF_TEXT]
    doubts = " ".join((*(d for c in said for d in c.doubts), *(c.note for c in said)))
    named = {c.location_id for c in said if c.location_id}
    listed = [n for n in sites if n.site.location_id in named or n.site.locality in doubts]
    nearest = [n for n in sites if n not in listed] if near else []
    return tuple((listed + nearest)[:MEANT])


def offered_times(shown: Sequence[ClaimedPhoto]) -> Iterable[OfferedTime]:
    """What doubts suggest or words say, where it is the same for every photo."""
    by_photo = []
    for photo in shown:
        offers = {c.offered_event_date: c.source for c in photo.times if c.offered_event_date}
        said = {day: c.source for c in photo.times if c.source in OF_TEXT for day in _readings(c)}
        by_photo.append({**offers, **said})
    for event_date, source in by_photo[0].items() if by_photo else ():
        if all(event_date in other for other in by_photo):
            yield OfferedTime(event_date=event_date, source=source)


def _readings(claim: TimeClaim) -> tuple[str, ...]:
    """The days that a claim may mean: both ends of a span if its doubt says that one is meant."""
    ends = tuple(dict.fromkeys(claim.event_date.split("/")))
    doubted = any(all(end in doubt for end in ends) for doubt in claim.doubts)
    return ends if len(ends) == 2 and doubted else (claim.event_date,)


def typed_clock(shown: Sequence[ClaimedPhoto], seconds: float) -> ClockPreview:
    """What a correction by so many seconds would change of all photos whose camera shows a time."""
    typed = CameraCorrection(
        camera="",
        offset_seconds=seconds,
        uncertainty_seconds=0.0,
        photos=tuple(p.photo for p in shown if p.clock is not None),
        reason="as you typed it for the first photo",
    )
    return preview(shown, typed)


def preview(shown: Sequence[ClaimedPhoto], one: CameraCorrection) -> ClockPreview:
    """What this correction of a camera's clock would change."""
    changes = tuple(
        (p.file_name, claim.event_date, corrected(claim, one.offset_seconds).event_date)
        for p in shown
        if p.photo in one.photos and (claim := p.clock) is not None
    )
    return ClockPreview(correction=one, changes=changes)
