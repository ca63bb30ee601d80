"""Learn better heads and usability from a survey's corrections, if they are better.

Everything is measured on held-out groups before it is kept, and `triage undo` goes back.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from triage.analysis import images, subject
from triage.analysis.refitting import Refit as Tried
from triage.analysis.refitting import refit_boxes, refit_heads
from triage.analysis.view import FEATURES, Heads, shipped_heads
from triage.checklist import BELOW_GENUS, Checklist
from triage.errors import SourceError
from triage.pipeline import standing
from triage.pipeline.examine import learned_heads
from triage.quality import LOOKED_AT_PX, measured_factors
from triage.quality.refit import Outcome, Refit, fit_usability
from triage.quality.usability import model_to_bytes
from triage.store import actions, evidence, learned, originals, photos
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What was tried, in words with the figures before and after, and whether anything changed."""

    lines: tuple[str, ...]
    changed: bool


def learn(survey: Survey, *, by: str, now: datetime, progress: Progress = silent) -> Learned:
    """Refit heads and usability to this survey; each is kept only if it is better."""
    lines, changed = _learn_heads(survey, by=by, now=now, progress=progress)
    usability = usability_refit(survey)
    lines.append(f"usability: {usability.reason} ({usability.rows} determined sightings)")
    if usability.kept:
        _keep(survey, "usability", model_to_bytes(usability.model), lines[-1:], by=by, now=now)
    return Learned(lines=tuple(lines), changed=changed or usability.kept)


def usability_refit(survey: Survey) -> Refit:
    """Try a usability model on the accepted determinations: was the species reached or not?"""
    stands = standing.standing(survey)
    rows = photos.load(survey, {p for row in stands.rows.values() for p in row.photos})
    outcomes = []
    for identifier, row in stands.rows.items():
        accepted = stands.accepted[identifier]
        if accepted.state not in ("determined", "undeterminable"):
            continue
        measured = [m for p in row.photos if (m := rows[p].measurement) is not None]
        if not measured:
            continue
        best = max(measured, key=lambda m: m.usability)
        outcomes.append(
            Outcome(
                factors=measured_factors(best),
                named=accepted.taxon_rank in BELOW_GENUS,
                group=str(row.observer),
            )
        )
    return fit_usability(outcomes, before=photos.usability_model(survey))


def _figures(one: Tried) -> str:
    """The figures before and after; none where there were too few photos to try."""
    if not one.loss_before:
        return ""
    return (
        f"; right {one.right_before:.3f} before, {one.right_after:.3f} after, loss"
        f" {one.loss_before:.3f} and {one.loss_after:.3f}, {one.photos} photos"
    )


def _learn_heads(
    survey: Survey, *, by: str, now: datetime, progress: Progress
) -> tuple[list[str], bool]:
    before = learned_heads(survey)
    heads = Heads.from_bytes(before) if before else shipped_heads()
    version = f"{shipped_heads().version} of this survey, {now:%Y-%m-%d}"
    found, tried = _learn_views(survey, heads, version)
    found, of_boxes = _learn_boxes(survey, found, version, progress)
    tried += of_boxes
    if not tried:
        return ["views, suborders and boxes: nothing was corrected or named yet"], False
    lines = [f"{one.head}: {one.reason}{_figures(one)}" for one in tried]
    if not any(one.kept for one in tried):
        return lines, False
    _keep(survey, "heads", found.to_bytes(), lines, by=by, now=now)
    return lines, True


def _learn_views(survey: Survey, heads: Heads, version: str) -> tuple[Heads, tuple[Tried, ...]]:
    views = photos.live_corrections(survey, "view")
    suborders = _named_suborders(survey)
    wanted = sorted(views.keys() | suborders.keys())
    kept = {
        photo: np.frombuffer(raw, dtype=np.float16).astype(np.float64)
        for photo, raw in photos.measured_features(survey, wanted).items()
    }
    wanted = [photo for photo in wanted if photo in kept and kept[photo].size == FEATURES]
    if not wanted:
        return heads, ()
    owners = _owners(survey, wanted)
    return refit_heads(
        np.stack([kept[photo] for photo in wanted]),
        views=[views.get(photo, "") for photo in wanted],
        suborders=[suborders.get(photo, "") for photo in wanted],
        groups=[owners[photo] for photo in wanted],
        heads=heads,
        version=version,
    )


def _learn_boxes(
    survey: Survey, heads: Heads, version: str, progress: Progress
) -> tuple[Heads, tuple[Tried, ...]]:
    """Corrected photos are looked at once more without being told where the insect is."""
    boxes = photos.live_corrections(survey, "box")
    sights: dict[str, subject.Sight] = {}
    for number, photo in enumerate(sorted(boxes), start=1):
        path = originals.path_of(survey.originals, photo)
        try:
            rgb = images.decode(path.read_bytes(), name=photo).rgb if path else None
        except (OSError, SourceError):
            rgb = None  # listed as unreadable where it was examined
        if rgb is not None:
            sights[photo] = subject.sight_of(images.halved(rgb, LOOKED_AT_PX))
        progress("looking at corrected boxes", number, len(boxes))
    if not sights:
        return heads, ()
    owners = _owners(survey, list(sights))
    used, tried = refit_boxes(
        np.stack([sight.features for sight in sights.values()]),
        found=[sight.box for sight in sights.values()],
        corrected=[tuple(json.loads(boxes[photo])) for photo in sights],
        groups=[owners[photo] for photo in sights],
        heads=heads,
        version=version,
    )
    return used, (tried,)


def _owners(survey: Survey, wanted: list[str]) -> dict[str, str]:
    """Who sent each photo first: photos of one person hang together."""
    shown = reversed(photos.appearances(survey, wanted))
    return {one.photo: str(one.person or one.message) for one in shown}


def _named_suborders(survey: Survey) -> dict[str, str]:
    """The suborder of every photo of a determined sighting."""
    checklist: Checklist = evidence.checklist(survey)
    stands = standing.standing(survey)
    found = {}
    for identifier, row in stands.rows.items():
        accepted = stands.accepted[identifier]
        if accepted.state != "determined":
            continue
        suborder = checklist.lineage(accepted.scientific_name).get("suborder", "").lower()
        if suborder in ("anisoptera", "zygoptera"):
            found.update(dict.fromkeys(row.photos, suborder))
    return found


def _keep(
    survey: Survey, kind: str, content: bytes, lines: list[str], *, by: str, now: datetime
) -> None:
    summary = f"learned {kind} from this survey"
    with actions.acting(survey, "examine", summary, by=by, now=now) as action:
        learned.add_learned(survey, kind, content, json.dumps(lines), action=action)
