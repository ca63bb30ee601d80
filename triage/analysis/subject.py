"""Find the insect in an upright photo: where it is, whether it is an odonate and how it sits.

The insect network looks at the whole photo for the insect's place, then at the insect alone for
its outline, its body, its view and its suborder; the class network looks at the whole photo for
whether it is an odonate at all. Linear heads turn the scores of all looks into probabilities.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import numpy as np

from triage.analysis import hands, images, networks, view
from triage.analysis.networks import Floats, InsectMaps, Pixels
from triage.analysis.view import Box

Kind = Literal["adult", "pair", "exuvia", "other insect", "hand", "page", "no insect", "unsure"]
OTHER_KINDS: tuple[Kind, ...] = ("other insect", "hand", "page", "no insect", "exuvia")
CLASS_SIDE = 320  # px, the photo's longer side as the class network sees it
WHOLE_SIDE = 384  # px, the same as the insect network sees the whole photo
CLOSE_SIDE = 320  # px, the longer side of the closer look
CLOSE_LEAST = 400  # px, to which the cut-out is halved before it is scaled: cheap and as good
SHRUNK_SIDE = 448  # px, least longer side of the copy from which the whole looks are made
CLOSE_ROOM = 1.3  # sides of the closer look over those of the insect
TOLD = 0.5  # share of a kind among all but adults at which it is told
MIDDLE, INWARD = 0.5, 0.6  # of the map of a side lies outside what is read from it: a body's side
# or the place to look at from near; the side of an insect's box. Chosen on held-out photos
OTHER_HEAT = 0.12  # heat at which a further insect is looked at; chosen on held-out photos, as is
OTHER_SURE = 2.0  # the network's own log odds from near at which it is one
MOST_OTHERS = 4  # looked at in one photo
SHAPE_MEAN, SHAPE_SPREAD = np.array([-0.41, -0.37, -1.0]), np.array([0.24, 0.24, 0.57])
OTHER_SHARE = 0.3  # of the smaller box that two separate insects may have in common


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subject:
    """What one photo shows. Boxes are x0, y0, x1, y1 as fractions of the upright photo.

    ``odonate`` is the probability of an adult odonate, calibrated so that 0.5 is the threshold.
    ``box`` holds the insect with its wings, ``body_box`` head to abdomen tip; both are always the
    best guess, whatever ``odonate`` says. ``outline`` are the body's outermost points (x, y).
    ``other_boxes`` are further separate insects, looked for where ``odonate`` is 0.5 or more. The
    five view probabilities sum to 1. ``features`` is a float16 vector for refitting the heads.
    """

    odonate: float
    anisoptera: float
    box: Box
    body_box: Box
    outline: view.Outline | None = None
    other_boxes: tuple[Box, ...] = ()
    p_dorsal: float
    p_lateral: float
    p_anterior: float
    p_oblique: float
    p_other: float
    kind: Kind
    method: str
    features: bytes = field(repr=False, default=b"")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sight:
    """What the networks say before any head: boxes as in ``Subject`` and the feature vector."""

    box: Box
    body_box: Box
    outline: view.Outline
    other_boxes: tuple[Box, ...]
    features: Floats


def look_at(
    rgb: Pixels,
    *,
    small: Pixels | None = None,
    heads: view.Heads | None = None,
    box: Box | None = None,
    threads: int = 1,
) -> Subject:
    """Look at one upright photo.

    Parameters
    ----------
    rgb : uint8 array, height x width x 3
        The upright photo at any size of at least one pixel.
    small : uint8 array, optional
        The same photo halved to 448 pixels or more, if the caller has it.
    heads : Heads, optional
        Refitted heads to use instead of the shipped ones.
    box : Box, optional
        Where a person says the insect is; found unless given.
    threads : int
        Threads of the networks. One by default, since photos are examined side by side.

    Returns
    -------
    Subject
        Always complete: a blank photo gives a low ``odonate`` and a box that means nothing.

    Raises
    ------
    ValueError
        If ``rgb`` is not such an array.
    """
    seen = sight_of(rgb, small=small, box=box, threads=threads)
    return subject_of(seen, heads or view.shipped_heads(), box=box)


def subject_of(seen: Sight, heads: view.Heads, *, box: Box | None = None) -> Subject:
    """What heads make of a sight; ``box`` is where a person says the insect is, if one did."""
    stored = seen.features.astype(np.float16)
    features = stored.astype(np.float64)  # what is kept decides, so that a refit sees the same
    views = view.view_probabilities(features, heads)
    odonate = float(view.odonate_probability(features, heads))
    return Subject(
        odonate=odonate,
        anisoptera=float(view.anisoptera_probability(features, heads)),
        box=box or _inside(*view.moved_box(seen.box, features, heads)),
        body_box=seen.body_box,
        outline=seen.outline,
        other_boxes=seen.other_boxes if odonate >= 0.5 else (),
        p_dorsal=float(views[0]),
        p_lateral=float(views[1]),
        p_anterior=float(views[2]),
        p_oblique=float(views[3]),
        p_other=float(views[4]),
        kind=kind_of(features, heads),
        method=f"insect network {heads.version}",
        features=stored.tobytes(),
    )


def sight_of(
    rgb: Pixels,
    *,
    small: Pixels | None = None,
    box: Box | None = None,
    threads: int = 1,
    insect_model: Path | None = None,
    fold: int | None = None,
    always: bool = False,
) -> Sight:
    """Run both networks on one photo, the closer look at a given box if there is one.

    The class network is asked where an adult is not sure without it, or ``always``.
    ``insect_model`` replaces the shipped insect network; ``fold`` is that of ``hands.hand_score``.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8 or 0 in rgb.shape:
        raise ValueError(f"a photo is uint8 height x width x 3, not {rgb.dtype} {rgb.shape}")
    small = images.halved(rgb if small is None else small, SHRUNK_SIDE)
    whole = networks.insect_maps(whole_look(small), threads=threads, model=insect_model)
    first, *others = _insects(whole)
    window = room_about(box or _mean(first, _box_of(whole, MIDDLE)), *rgb.shape[:2])

    def look(window: Box) -> InsectMaps:
        return networks.insect_maps(close_look(rgb, window), threads=threads, model=insect_model)

    close = look(window)
    places = _body_places(close)
    body = _outer(_box_within(places), window)
    if box is None:
        box = _outer(_box_of(close, INWARD), window)
    else:
        body = _within(body, box)
    further: list[Box] = []
    if close.answers[networks.IS_ODONATE] >= 0:
        for other in [other for other in others if _apart(other, box)][:MOST_OTHERS]:
            window_there = room_about(other, *rgb.shape[:2])
            there = look(window_there)
            outline = _outer(_box_of(there, INWARD), window_there)
            sure = there.answers[networks.IS_ODONATE] >= OTHER_SURE
            if sure and all(_apart(outline, known) for known in (box, *further)):
                further.append(outline)
    looks = (whole, close)
    parts = [np.zeros(networks.CLASS_SCORES), *(look.scores for look in looks)]
    parts += [*(look.answers for look in looks), *(look.embedding for look in looks), close.alike]
    parts += [np.zeros(1), _shape(box, body, close.answers, *rgb.shape[:2])]
    features = view.without_classes(np.concatenate(parts))
    if always or not view.is_sure(features, view.shipped_heads()):
        classes = networks.class_look(networks.fitted(small, CLASS_SIDE), threads=threads)
        features[: networks.CLASS_SCORES] = classes.scores
        features[view.HAND] = hands.hand_score(classes.classes, small, fold=fold)
    return Sight(
        box=box,
        body_box=body,
        outline=_outline(places, window),
        other_boxes=tuple(further),
        features=features,
    )


def kind_of(features: Floats, heads: view.Heads) -> Kind:
    """What the photo shows: an adult or a pair, a hand, or the likeliest other kind if likely.

    A hand is told by itself: the head of kinds sees what the hand holds, so it counts as an insect.
    """
    if view.odonate_probability(features, heads) >= 0.5:
        return "pair" if view.pair_probability(features, heads) >= 0.5 else "adult"
    if features[view.HAND] >= 0:
        return "hand"
    others = view.kind_probabilities(features, heads)[1:]
    others[OTHER_KINDS.index("other insect")] += others[OTHER_KINDS.index("hand")]
    others[OTHER_KINDS.index("hand")] = 0.0
    best = int(np.argmax(others))
    return OTHER_KINDS[best] if others[best] >= TOLD * others.sum() else "unsure"


def _insects(maps: InsectMaps) -> list[Box]:
    """The box at each separate peak of the heat, the strongest first; always one."""
    import cv2

    heat = maps.heat
    around = cv2.dilate(heat, np.ones((3, 3), np.uint8))
    strongest = np.unravel_index(int(heat.argmax()), heat.shape)
    peaks = np.argwhere((heat >= around) & (heat >= OTHER_HEAT)).tolist()
    found = [_box_at(maps, int(strongest[0]), int(strongest[1]))]
    for row, column in sorted(peaks, key=lambda cell: -float(heat[cell[0], cell[1]])):
        box = _box_at(maps, row, column)
        if all(_apart(box, other) for other in found):
            found.append(box)
    return found


def _box_at(maps: InsectMaps, row: int, column: int) -> Box:
    """The mean of the boxes that the cells around a peak give, weighted by their heat."""
    rows, columns = maps.heat.shape
    near = (slice(max(row - 1, 0), row + 2), slice(max(column - 1, 0), column + 2))
    weight = maps.heat[near].astype(np.float64) + 1e-9
    weight = weight / weight.sum()
    y = (np.arange(rows)[near[0], None] + 0.5) / rows
    x = (np.arange(columns)[None, near[1]] + 0.5) / columns
    left, top, right, bottom = maps.sides[:4, near[0], near[1]]
    sides = (x - left, y - top, x + right, y + bottom)
    return _inside(*(float((side * weight).sum()) for side in sides))


def _box_of(maps: InsectMaps, inward: float) -> Box:
    """The main insect's box: a side is the mean of its places by both its maps."""
    places = [_side_places(edges[:4], inward) for edges in (maps.edges, maps.fine_edges)]
    return _box_within((places[0] + places[1]) / 2)


def _body_places(maps: InsectMaps) -> Floats:
    """The body's outermost points, 4 x (x, y): the medians under the finer maps of its sides.

    Such a map often has a second hump, on a leg or a stem, which draws a mean to it.
    """
    return _side_places(maps.fine_edges[4:], MIDDLE)


def _box_within(places: Floats) -> Box:
    """The box whose left, top, right and bottom these places are on."""
    return _inside(*(float(places[side, side % 2]) for side in range(4)))


def _side_places(edges: Floats, inward: float) -> Floats:
    """The outermost point on each side, sides x (x, y): where so much of its map lies outside."""
    shares = np.exp(edges - edges.max(axis=(1, 2), keepdims=True))
    shares /= shares.sum(axis=(1, 2), keepdims=True)
    outside = (inward, inward, 1 - inward, 1 - inward)  # counted from the left and from the top
    places = [_quantiles(shares.sum(axis=k), outside) for k in (1, 2)]
    return np.array(places).T


def _quantiles(shares: Floats, before: Sequence[float]) -> list[float]:
    """In each row the place, 0 to 1, before which so much of it lies, half of a cell's own too."""
    below = np.cumsum(shares, axis=1) - shares / 2
    places = np.linspace(0, 1, shares.shape[1])
    return [float(np.interp(*given, places)) for given in zip(before, below, strict=True)]


def _outline(places: Floats, window: Box) -> view.Outline:
    """Places in fractions of the photo, seen through a window."""
    width, height = window[2] - window[0], window[3] - window[1]
    return tuple((window[0] + x * width, window[1] + y * height) for x, y in places.tolist())


def _shape(box: Box, body: Box, answers: Floats, height: int, width: int) -> Floats:
    """What the boxes say of the view, 8 numbers of about unit size.

    Logarithms of the body's diagonal over the insect's, and of shorter over longer side of each,
    from their usual values; the same for dragonflies against damselflies (as the network takes it);
    how much it takes it for either; and its log odds of a pair.
    """
    wide, high = (box[2] - box[0]) * width, (box[3] - box[1]) * height
    across, down = (body[2] - body[0]) * width, (body[3] - body[1]) * height
    ratios = (
        np.hypot(across, down) / np.hypot(wide, high),
        min(wide, high) / max(wide, high),
        min(across, down) / max(across, down),
    )
    shape = (np.log(np.clip(ratios, 0.02, 2.0)) - SHAPE_MEAN) / SHAPE_SPREAD
    taken = np.tanh(answers[networks.ANISOPTERA] / 2)  # -1 damselfly to 1 dragonfly
    return np.array([*shape, *(shape * taken), taken, answers[networks.IS_PAIR] / 4])


def _mean(a: Box, b: Box) -> Box:
    x0, y0, x1, y1 = ((p + q) / 2 for p, q in zip(a, b, strict=True))
    return x0, y0, x1, y1


def _inside(x0: float, y0: float, x1: float, y1: float) -> Box:
    """The box cut to the photo and at least a thousandth wide and high."""
    low_x, low_y = min(max(x0, 0.0), 0.999), min(max(y0, 0.0), 0.999)
    return low_x, low_y, min(max(x1, low_x + 0.001), 1.0), min(max(y1, low_y + 0.001), 1.0)


def overlap(a: Box, b: Box) -> float:
    """Intersection over union of two boxes, 0 (apart) to 1 (the same).

    Examples
    --------
    >>> overlap((0.0, 0.0, 0.5, 1.0), (0.0, 0.0, 1.0, 1.0))
    0.5
    """
    both = _common(a, b)
    return both / (_area(a) + _area(b) - both)


def _within(body: Box, box: Box) -> Box:
    """The part of a body's box inside the insect's; all of that where they are apart."""
    x0, y0 = max(body[0], box[0]), max(body[1], box[1])
    x1, y1 = min(body[2], box[2]), min(body[3], box[3])
    return (x0, y0, x1, y1) if x0 < x1 and y0 < y1 else box


def _apart(a: Box, b: Box) -> bool:
    return _common(a, b) <= OTHER_SHARE * min(_area(a), _area(b))


def _common(a: Box, b: Box) -> float:
    across = min(a[2], b[2]) - max(a[0], b[0])
    down = min(a[3], b[3]) - max(a[1], b[1])
    return max(across, 0.0) * max(down, 0.0)


def _area(box: Box) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def whole_look(rgb: Pixels, *, exact: bool = False) -> Pixels:
    """The whole photo as the insect network sees it; ``exact`` as in ``networks.fitted``."""
    return networks.fitted(images.halved(rgb, SHRUNK_SIDE), WHOLE_SIDE, exact=exact)


def close_look(rgb: Pixels, window: Box, *, exact: bool = False) -> Pixels:
    """A part of the photo as the insect network sees it from near."""
    part = images.halved(_cut_out(rgb, window), CLOSE_LEAST)
    return networks.fitted(part, CLOSE_SIDE, exact=exact)


def room_about(box: Box, height: int, width: int) -> Box:
    """The insect's surroundings: its box with room, no side below 0.7 of the other's room."""
    x0, y0, x1, y1 = box
    shorter = 0.7 * CLOSE_ROOM * max((x1 - x0) * width, (y1 - y0) * height)
    half_x = max(CLOSE_ROOM * (x1 - x0), shorter / width) / 2
    half_y = max(CLOSE_ROOM * (y1 - y0), shorter / height) / 2
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return _inside(x - half_x, y - half_y, x + half_x, y + half_y)


def _cut_out(rgb: Pixels, window: Box) -> Pixels:
    """The pixels in a window, at least one row and one column."""
    x0, y0, x1, y1 = window
    return rgb[_stretch(y0, y1, rgb.shape[0]), _stretch(x0, x1, rgb.shape[1])]


def _stretch(low: float, high: float, count: int) -> slice:
    start = min(int(low * count), count - 1)
    return slice(start, max(start + 1, round(high * count)))


def _outer(box: Box, window: Box) -> Box:
    """A box given in fractions of a window, in fractions of the photo."""
    x, y, width, height = window[0], window[1], window[2] - window[0], window[3] - window[1]
    return _inside(x + box[0] * width, y + box[1] * height, x + box[2] * width, y + box[3] * height)
