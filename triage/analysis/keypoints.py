"""Decide whether two grey pictures are one exposure, and how the second was made.

Oriented binary features (Rublee, E., Rabaud, V., Konolige, K., Bradski, G. (2011), ORB: an
efficient alternative to SIFT or SURF, doi 10.1109/ICCV.2011.6126544) propose how one picture lies
on the other; RANSAC (Fischler, M. A., Bolles, R. C. (1981), doi 10.1145/358669.358692) keeps the
proposal that most features agree on; then the pixels themselves are compared, place by place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np

from triage.analysis import hashing
from triage.analysis.overlap import Overlap, compare_pixels

if TYPE_CHECKING:
    from numpy.typing import NDArray

WORKING_PX = 512  # long side at which features are looked for, small pictures enlarged to it
FEATURE_COUNT = 700  # per picture
FAINTEST = 5  # grey levels by which a corner differs from what is about it, and
STRONGER = 12  # looked for first: in three quarters of the time, the same but for 2 in 1,000
_GRID = 8  # cells a side: each gets its share of features, so that text does not take them all
_RATIO = 0.85  # best over second-best distance of a feature's match (Lowe 2004)
_RANSAC_PX = 4.0

MIN_INLIERS = 10
MIN_AGREEMENT = 0.66  # share of textured neighbourhoods that look the same
SURE_AGREEMENT = 0.95  # of it: from here on what differs is tone, as of colours made grey
MOST_LAID_OVER = 0.10  # share of the overlap that words or a mark laid over a copy may change
MIN_SCENE_AGREEMENT = 0.25  # a scene in which more moved than that is not told from strangers
MOST_FRAME_TURN = 15.0  # degrees, and
MOST_FRAME_ZOOM = 1.4  # times: the camera hardly does more between two frames of a scene
MIN_COVER = 0.55  # of the one or the other picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Features:
    """A grey picture at working size with the places and packed bits of its features."""

    grey: NDArray[np.uint8] = field(repr=False)
    points: NDArray[np.float32] = field(repr=False)
    descriptors: NDArray[np.uint8] = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Relation:
    """How the second picture lies on the first.

    ``inliers`` features agree; ``agreement``, ``difference`` and ``changed`` are those of the
    overlap's pixels; the covers are the overlap's share of each picture; ``turn`` in degrees
    clockwise from first to second; ``scale`` is the second's size of things over the first's, both
    at working size. ``frames`` names the picture that is the other one inside a border or on a
    screen. ``same_scene`` without ``is_copy``: features agree as between frames of a burst,
    too many of the pixels do not.
    """

    is_copy: bool
    same_scene: bool
    inliers: int
    agreement: float
    difference: float
    changed: float
    cover_first: float
    cover_second: float
    turn: float
    mirrored: bool
    scale: float
    frames: Literal["", "first", "second"] = ""


NO_RELATION = Relation(
    is_copy=False,
    same_scene=False,
    inliers=0,
    agreement=0.0,
    difference=255.0,
    changed=1.0,
    cover_first=0.0,
    cover_second=0.0,
    turn=0.0,
    mirrored=False,
    scale=1.0,
)


def find_features(grey: NDArray[np.uint8], *, count: int = FEATURE_COUNT) -> Features:
    """Oriented binary features of a picture, spread over it.

    Parameters
    ----------
    grey : uint8 array, shape (height, width)
        The upright picture, any size.
    count : int
        The most features to keep.

    Returns
    -------
    Features
        With empty arrays for a flat or tiny picture.

    Raises
    ------
    ValueError
        If ``grey`` is not a two-dimensional uint8 array with at least one pixel.
    """
    hashing.check_grey(grey)
    working = _at_long_side(grey, WORKING_PX)
    points, descriptors = _spread_features(working, count, [FAINTEST])
    return Features(grey=working, points=points, descriptors=descriptors)


def find_descriptors(grey: NDArray[np.uint8], *, count: int) -> NDArray[np.uint8]:
    """Only the packed features of a picture, for looking it up among many.

    Parameters
    ----------
    grey : uint8 array, shape (height, width)
        The upright picture, any size.
    count : int
        The most features to keep.

    Returns
    -------
    uint8 array, shape (n, 32)
        None (n = 0) for a flat or tiny picture.

    Raises
    ------
    ValueError
        If ``grey`` is not a two-dimensional uint8 array with at least one pixel.
    """
    hashing.check_grey(grey)
    _, descriptors = _spread_features(_at_long_side(grey, WORKING_PX), count, [STRONGER, FAINTEST])
    return descriptors


def relate(
    first: Features, second: Features, *, mirrored: Sequence[bool] = (False, True)
) -> Relation:
    """Whether two pictures are one exposure, and how the second was made from it.

    Parameters
    ----------
    first, second : Features
        From `find_features`; the second is described as made from the first.
    mirrored : sequence of bool
        Which to try: the second as it is (False), its mirror image (True), in this order.

    Returns
    -------
    Relation
        ``is_copy`` needs agreeing features, agreeing pixels over most of the overlap, and an
        overlap that is most of the one or the other picture; so two photos of one place, or two
        screenshots of one program, are no copies. `NO_RELATION` when nothing agrees.

    Raises
    ------
    ValueError
        Never for what `find_features` makes.
    """
    best = NO_RELATION
    for way in mirrored:
        tried = second
        if way:
            tried = find_features(np.ascontiguousarray(second.grey[:, ::-1]))
        found = _relate_one_way(first, tried, mirrored=way)
        if found.is_copy:
            return found
        best = max(best, found, key=_rank)
    return best


def evidence_words(relation: Relation) -> str:
    """How the second picture was made from the first, in a few words; empty if not changed so.

    >>> evidence_words(NO_RELATION)
    ''
    """
    words = ["mirrored"] if relation.mirrored else []
    quarter = round(relation.turn / 90) % 4
    if quarter:
        words.append(f"turned {quarter * 90}")
    rest = abs((relation.turn + 45) % 90 - 45)
    if rest >= 1:
        words.append(f"rotated by {rest:.0f} degrees")
    words.extend(_cover_words(relation))
    return ", ".join(words)


def _cover_words(relation: Relation) -> list[str]:
    first, second = relation.cover_first, relation.cover_second
    if relation.frames:
        share = first if relation.frames == "first" else second
        return [f"bordered, the picture fills {share:.0%}"]
    if min(first, second) >= 0.97 or not max(first, second):
        return []
    if second >= 0.9:
        return [f"cropped to {first:.0%}"]
    if first >= 0.9:
        return [f"shows more, this is {second:.0%} of it"]
    return [f"two crops, {first:.0%} and {second:.0%} in common"]


def _rank(relation: Relation) -> tuple[bool, float, int]:
    return relation.is_copy, relation.agreement, relation.inliers


def _relate_one_way(first: Features, second: Features, *, mirrored: bool) -> Relation:
    import cv2

    if min(len(first.descriptors), len(second.descriptors)) < MIN_INLIERS:
        return NO_RELATION
    matcher = cv2.BFMatcher(cv2.NORM_HAMMING)
    pairs = matcher.knnMatch(second.descriptors, first.descriptors, k=2)
    good = [p[0] for p in pairs if len(p) == 2 and p[0].distance < _RATIO * p[1].distance]
    if len(good) < MIN_INLIERS:
        return NO_RELATION
    source = second.points[[match.queryIdx for match in good]]
    target = first.points[[match.trainIdx for match in good]]
    cv2.setRNGSeed(1)  # the same pair always gets the same answer
    matrix, mask = cv2.estimateAffinePartial2D(
        source, target, method=cv2.RANSAC, ransacReprojThreshold=_RANSAC_PX, maxIters=2000
    )
    if matrix is None:
        return NO_RELATION
    kept = mask.ravel().astype(bool)
    inliers = len(np.unique(target[kept], axis=0))
    size = math.hypot(matrix[0, 0], matrix[1, 0])
    if inliers < MIN_INLIERS or not 0.1 < size < 10:
        return NO_RELATION
    matrix = _refined(np.asarray(matrix, dtype=np.float64), source[kept], target[kept])
    overlap = compare_pixels(first.grey, second.grey, matrix)
    covered = max(overlap.cover_first, overlap.cover_second) >= MIN_COVER
    turn = -math.degrees(math.atan2(matrix[1, 0], matrix[0, 0])) % 360
    return Relation(
        is_copy=covered and _one_exposure(overlap),
        same_scene=(
            covered
            and overlap.agreement >= MIN_SCENE_AGREEMENT
            and not mirrored
            and min(turn, 360 - turn) <= MOST_FRAME_TURN
            and 1 / MOST_FRAME_ZOOM <= size <= MOST_FRAME_ZOOM
        ),
        inliers=inliers,
        agreement=overlap.agreement,
        difference=overlap.difference,
        changed=overlap.changed,
        cover_first=overlap.cover_first,
        cover_second=overlap.cover_second,
        turn=turn,
        mirrored=mirrored,
        scale=1 / size,
        frames=_which_frames(first.grey, second.grey, overlap.cover_first, overlap.cover_second),
    )


def _one_exposure(overlap: Overlap) -> bool:
    """Whether what differs is tone, noise, softness or something laid over, and nothing moved."""
    if overlap.moved or overlap.agreement < MIN_AGREEMENT:
        return False
    return overlap.agreement >= SURE_AGREEMENT or overlap.changed <= MOST_LAID_OVER


def _which_frames(
    first: NDArray[np.uint8], second: NDArray[np.uint8], cover_first: float, cover_second: float
) -> Literal["", "first", "second"]:
    """The picture whose part outside the overlap is border or page, not more of the scene."""
    if max(cover_first, cover_second) < 0.85 or min(cover_first, cover_second) > 0.95:
        return ""
    wide, cover = (first, cover_first) if cover_first < cover_second else (second, cover_second)
    share = hashing.content(wide).size / wide.size
    if share > 0.95 or not 0.7 < share / cover < 1.3:
        return ""
    return "first" if cover_first < cover_second else "second"


def _refined(
    matrix: NDArray[np.float64], source: NDArray[np.float32], target: NDArray[np.float32]
) -> NDArray[np.float64]:
    """Least squares on the agreeing features: full affine when there are enough of them."""
    if len(source) < 30:
        return matrix
    design = np.column_stack([source, np.ones(len(source))]).astype(np.float64)
    solution, *_ = np.linalg.lstsq(design, target.astype(np.float64), rcond=None)
    return np.ascontiguousarray(solution.T)


def _spread_features(
    grey: NDArray[np.uint8], count: int, faintest: Sequence[int]
) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
    """Features of the strongest corners; fainter ones are looked for where those are too few."""
    import cv2

    for least in faintest:
        finder = cv2.ORB.create(nfeatures=count * 4, fastThreshold=least, edgeThreshold=16)
        found = finder.detect(grey, None)
        if len(found) >= count * 4:
            break
    if not found:
        return _no_features()
    strength = np.array([point.response for point in found])
    places = np.asarray(cv2.KeyPoint.convert(found), dtype=np.float64)
    kept = _strongest_of_each_cell(places, strength, grey.shape, count)
    chosen, descriptors = finder.compute(grey, [found[index] for index in kept])
    if descriptors is None:
        return _no_features()
    points = np.asarray(cv2.KeyPoint.convert(chosen), dtype=np.float32)
    return points, np.asarray(descriptors, dtype=np.uint8)


def _strongest_of_each_cell(
    places: NDArray[np.float64], strength: NDArray[np.float64], shape: tuple[int, int], count: int
) -> NDArray[np.intp]:
    """Indices of features taken in rounds: every cell's best, every cell's second best, ..."""
    height, width = shape
    column = np.minimum((places[:, 0] * _GRID / width).astype(int), _GRID - 1)
    row = np.minimum((places[:, 1] * _GRID / height).astype(int), _GRID - 1)
    cell = row * _GRID + column
    order = np.lexsort((-strength, cell))
    sizes = np.bincount(cell)
    turn = np.arange(len(order)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    by_turn = np.lexsort((-strength[order], turn))
    return order[by_turn][:count]


def _no_features() -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
    return np.zeros((0, 2), dtype=np.float32), np.zeros((0, 32), dtype=np.uint8)


def _at_long_side(grey: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    import cv2

    height, width = grey.shape
    factor = side / max(height, width)
    if factor == 1:
        return np.ascontiguousarray(grey)
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    method = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(grey, size, interpolation=method))
