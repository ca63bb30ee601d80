"""Measure the order that usability gives, on pairs of photos whose labels leave no doubt.

Of two photos of adult odonates one is surely the better if it is twice as long, or sharp where the
other is soft, or from the back or the side where the other is from the front, and no worse in the
two other respects. The labels are a person's; usability, its box, view and focus are those of
networks that had not seen the photo.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from triage import quality
from triage.analysis import images
from triage.analysis.view import VIEWS
from triage.bench.figures import (
    DRAWS,
    NONE,
    Figure,
    area_under_curve,
    bounds,
    drawn_groups,
    numbered,
    table,
)
from triage.bench.labels import Labelled
from triage.bench.out_of_fold import box_of, outline_of, row_of
from triage.bench.vision.selective import Focus, held_out_focus
from triage.quality.usability import factors_of, usability

LONGER = 2.0  # times as long, that nobody doubts
LIKE = 0.8  # times as long, that counts as no shorter
LARGE, SMALL = 500.0, 220.0  # pixels
RANKS: Mapping[str, int] = {"dorsal": 2, "lateral": 2, "oblique": 1, "anterior": 0}
RESPECTS = ("length", "focus", "view")


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A labelled photo with its usability; ``length`` in pixels, of the hand-drawn body."""

    label: Labelled
    length: float
    usability: float


class Order(NamedTuple):
    """Share of decided pairs in the right order, by what decides them; and the area under the
    curve of surely good photos against surely bad ones, and how many these are."""

    shares: list[Figure]
    good_against_bad: float
    good: int
    bad: int

    def lines(self) -> list[str]:
        """A table in Markdown and a sentence."""
        return [
            "Order by usability; pairs of photos that their labels decide, in the right order",
            *table(self.shares, what="decided by", of="pairs"),
            f"Surely good ({self.good}) against surely bad ({self.bad}), AUC: "
            f"{self.good_against_bad:.3f}",
        ]


def order_of(labels: Sequence[Labelled], *, draws: int = DRAWS) -> Order:
    """Measure the order on labelled photos; those of odonates with a box and a focus count."""
    photos = [judged(one) for one in labels if one.odonate and one.box and one.focus]
    pairs = list(decided(photos))
    clear = [(one.usability, kind) for one in photos if (kind := _clear(one)) is not None]
    kinds = np.array([kind for _, kind in clear], dtype=bool)
    return Order(
        [
            _share(name, [pair for pair in pairs if name in ("any", pair[2])], draws)
            for name in ("any", *RESPECTS)
        ],
        area_under_curve(np.array([value for value, _ in clear]), kinds),
        good=int(kinds.sum()),
        bad=int((~kinds).sum()),
    )


def judged(label: Labelled) -> Judged:
    """Measure one labelled photo by what had not seen it."""
    content, rgb = label.content(), label.rgb()
    height, width = rgb.shape[:2]
    drawn = label.body_box or label.box or (0.0, 0.0, 1.0, 1.0)
    return Judged(
        label=label,
        length=quality.length_px(drawn, width=width, height=height),
        usability=_usability(content, rgb, held_out_focus(content)),
    )


def _usability(content: bytes, rgb: images.Pixels, focus: Focus) -> float:
    row = row_of(content)
    if row is None:
        return quality.measure(rgb).usability
    box, body = box_of(row["box"]), box_of(row["body_box"])
    height, width = rgb.shape[:2]
    factors = factors_of(
        focus=focus(rgb),
        insect_px=quality.length_px(body, width=width, height=height),
        span_px=quality.length_px(box, width=width, height=height),
        breadth=quality.breadth(outline_of(row["outline"]), width=width, height=height),
        views={name: float(row[f"p_{name}"]) for name in VIEWS},
        exposure=quality.exposure_of(images.halved(rgb, quality.LOOKED_AT_PX), body),
        body_cut=quality.is_cut(body),
        wings_cut=quality.is_cut(box),
        pair=row["kind"] == "pair",
    )
    return usability(factors, odonate=float(row["odonate"]))


def decided(photos: Sequence[Judged]) -> Iterable[tuple[Judged, Judged, str]]:
    """Each pair of different groups that is decided: better, worse, and by what."""
    for one in photos:
        for other in photos:
            if one.label.group != other.label.group and (name := _by(one, other)):
                yield one, other, name


def _by(one: Judged, other: Judged) -> str:
    """What makes one surely better than the other; empty if it is not, or worse in anything."""
    longer = one.length / other.length
    sharper = (one.label.focus == "sharp") - (other.label.focus == "sharp")
    ranks = [RANKS.get(photo.label.view) for photo in (one, other)]
    if None in ranks:
        return ""
    seen = (ranks[0] or 0) - (ranks[1] or 0)
    if longer < LIKE or sharper < 0 or seen < 0:
        return ""
    if longer >= LONGER:
        return "length"
    if sharper:
        return "focus"
    return "view" if seen == 2 and one.label.sure and other.label.sure else ""


def _clear(one: Judged) -> bool | None:
    """True of a surely good photo, False of a surely bad one; pairs of animals are neither."""
    sharp, view = one.label.focus == "sharp", one.label.view
    if sharp and one.label.sure and view in ("dorsal", "lateral") and one.length >= LARGE:
        return True
    other = view == "other" and not one.label.pair
    return False if not sharp or other or one.length < SMALL else None


def _share(name: str, pairs: Sequence[tuple[Judged, Judged, str]], draws: int) -> Figure:
    right = np.array([float(a.usability > b.usability) for a, b, _ in pairs])
    groups = [photo.label.group for pair in pairs for photo in pair[:2]]
    first, second = numbered(groups).reshape(-1, 2).T
    shares = []
    for drawn in drawn_groups(groups, draws=draws):
        often = np.bincount(drawn, minlength=len(set(groups)))
        weight = often[first] * often[second]
        if weight.sum():
            shares.append(float(weight @ right / weight.sum()))
    low, high = bounds(shares)
    value = float(right.mean()) if pairs else NONE
    return Figure(name=name, value=value, low=low, high=high, count=len(pairs))
