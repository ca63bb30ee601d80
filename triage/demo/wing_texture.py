"""Draws the veined, translucent picture of a wing (RGBA)."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from triage.demo.data_files import read_toml
from triage.demo.insect import Look

Edge = Callable[[Any], NDArray[np.float64]]
Mask = NDArray[np.uint8]

_SHAPES = read_toml("wings.toml")
TEXTURE_WIDTH = 960  # pixels along the span, before the camera shrinks it


@lru_cache(maxsize=96)
def wing_texture(look: Look, hind: bool, aspect: float, seed: int) -> NDArray[np.float32]:
    """Draw one wing, base at the left, leading edge on top: (rows, TEXTURE_WIDTH, 4).

    Colours lie in [0, 1] and are not multiplied by the alpha in the last channel. ``aspect`` is
    chord over span, above 0; the seed decides where the small cells lie.
    """
    if aspect <= 0:
        raise ValueError("aspect must be positive")
    width = TEXTURE_WIDTH
    height = max(32, round(width * aspect))
    rng = np.random.default_rng(seed)
    lead, trail = _outline(look, hind)
    u = np.linspace(0, 1, 200)
    edge = np.concatenate(
        [np.column_stack([u, lead(u)]), np.column_stack([u[::-1], trail(u[::-1])])]
    )
    polygon = (edge * (width - 1, height - 1) * 16).astype(np.int32)
    mask = np.zeros((height, width), np.uint8)
    cv2.fillPoly(mask, [polygon], 255, cv2.LINE_AA, 4)
    veins = np.zeros((height, width), np.uint8)
    _net(veins, look, lead, trail, rng)
    cv2.polylines(veins, [polygon], True, 235, 3, cv2.LINE_AA, 4)
    return _Paint(look, mask, veins, lead, trail, rng).finish(hind)


def _outline(look: Look, hind: bool) -> tuple[Edge, Edge]:
    """Return leading and trailing edge as functions of the span fraction."""
    if look.suborder == "zygoptera":
        kind = "narrow" if look.band is None else "banded"
    else:
        kind = "hind" if hind else "fore"
    outline = _SHAPES["outlines"][kind]
    smooth = PchipInterpolator(outline["at"], outline["chord"])

    def lead(u: Any) -> NDArray[np.float64]:
        near_tip = np.clip((np.asarray(u) - 0.84) / 0.16, 0, 1)
        return np.asarray(0.08 - 0.04 * np.sin(np.pi * np.asarray(u)) + 0.30 * near_tip**3)

    def trail(u: Any) -> NDArray[np.float64]:
        return np.asarray(smooth(np.asarray(u)))

    return lead, trail


def _net(veins: Mask, look: Look, lead: Edge, trail: Edge, rng: np.random.Generator) -> None:
    """Draw long veins, the rows of cells under the leading edge, and the fine net, in place."""
    height, width = veins.shape
    u = np.linspace(0, 1, 120)

    def curve(share: float, end: float) -> NDArray[np.float64]:
        bend = share * (0.55 + 0.45 * np.clip(u / 0.35, 0, 1))
        bend = bend + share * 0.25 * u * (share > 0.1)
        v = lead(u) + (trail(u) - lead(u)) * np.clip(bend, 0, 1)
        keep = (u <= end) & (v <= trail(u))
        return np.column_stack([u[keep] * (width - 1), v[keep] * (height - 1)])

    for share, end, thick in _SHAPES["veins"]["long"]:
        _line(veins, curve(share, end), 235, thick)
    for first, last, count in _SHAPES["veins"]["cross"]:
        above, below = curve(first, 1.0), curve(last, 0.97)
        fewer = count // 2 if look.suborder == "zygoptera" else count
        for x in np.linspace(0.06, 0.93, fewer) + rng.uniform(-0.008, 0.008, fewer):
            start = above[min(len(above) - 1, int(x * 119))]
            _line(veins, np.array([start, below[min(len(below) - 1, int(x * 119))]]), 205, 1)
    fine = _cells(height, width, 380 if look.suborder == "anisoptera" else 190, rng)
    columns = np.arange(width) / width
    start_rows = (lead(columns) + (trail(columns) - lead(columns)) * 0.36) * height
    fine[np.arange(height)[:, None] < start_rows[None, :]] = 0
    np.maximum(veins, fine, out=veins)


def _cells(height: int, width: int, count: int, rng: np.random.Generator) -> Mask:
    """Return the edges of the Voronoi cells of a shaken honeycomb."""
    side = float(np.sqrt(width * height / count))
    xs, ys = np.meshgrid(np.arange(0.5, width / side), np.arange(0.5, height / side))
    xs = xs + 0.5 * (np.arange(xs.shape[0]) % 2)[:, None]
    points = np.column_stack([xs.ravel(), ys.ravel()]) + rng.uniform(-0.24, 0.24, (xs.size, 2))
    points = np.clip(points * side, 1, (width - 2, height - 2))
    division = cv2.Subdiv2D((0, 0, width, height))
    for x, y in points:
        division.insert((float(x), float(y)))
    facets, _ = division.getVoronoiFacetList([])
    fine = np.zeros((height, width), np.uint8)
    for facet in facets:
        corners = np.asarray(facet, np.float64)
        _line(fine, np.vstack([corners, corners[:1]]), 195, 1)
    return fine


def _line(target: Mask, points: NDArray[np.float64], level: int, thick: int) -> None:
    path = np.clip(points * 16, -(2**20), 2**20).astype(np.int32)
    cv2.polylines(target, [path], False, level, thick, cv2.LINE_AA, 4)


class _Paint:
    """A wing on the easel: the membrane first, then marks on it, then the veins over all."""

    def __init__(
        self,
        look: Look,
        mask: Mask,
        veins: Mask,
        lead: Edge,
        trail: Edge,
        rng: np.random.Generator,
    ) -> None:
        height, width = mask.shape
        self.look = look
        self.inside = mask.astype(np.float32) / 255
        self.line = veins.astype(np.float32) / 255
        xs, ys = np.meshgrid(np.linspace(0, 1, width), np.linspace(0, 1, height))
        self.xs, self.ys, self.top = xs, ys, lead(xs)
        self.rise = (ys - self.top) / np.maximum(trail(xs) - self.top, 1e-3)
        self.colour = np.empty((height, width, 3))
        self.colour[:] = np.array(look.tint[0]) / 255
        noise = rng.normal(size=(height, width)).astype(np.float32)
        sheen = np.asarray(cv2.GaussianBlur(noise, (0, 0), 26), np.float64)
        sheen = np.clip(0.5 + sheen / (sheen.std() + 1e-6) * 0.25, 0, 1)
        self.alpha = look.tint[1] * (0.7 + 0.9 * sheen)

    def lay(
        self,
        area: NDArray[np.bool_],
        shade: tuple[int, int, int],
        strength: float,
        *,
        soft: float = 3.0,
    ) -> None:
        """Lay a mark of one colour over an area, its edge a little soft."""
        weight = np.asarray(cv2.GaussianBlur(area.astype(np.float32), (0, 0), soft)) * strength
        self.colour *= 1 - weight[..., None]
        self.colour += np.array(shade) / 255 * weight[..., None]
        self.alpha = self.alpha * (1 - weight) + weight * strength

    def finish(self, hind: bool) -> NDArray[np.float32]:
        """Lay the marks of the species and the veins; return colour and alpha."""
        look, xs, ys = self.look, self.xs, self.ys
        if look.base_patch is not None and (hind or look.base_patch[0] > 0.1):
            reach = look.base_patch[0] * (1.25 if hind else 0.85)
            self.lay((xs + 0.12 * ys) < reach, look.base_patch[1], 0.9)
        if look.band is not None:
            first, last, shade = look.band
            bow = 0.5 * (ys - 0.5) ** 2
            self.lay((xs > first + bow) & (xs < last - 0.4 * bow), shade, 0.93, soft=14.0)
        if look.node_spot is not None:
            spot = (xs - 0.49) ** 2 / 0.0009 + (ys - self.top - 0.07) ** 2 / 0.008 < 1
            self.lay(spot, look.node_spot, 0.9)
        if look.band is None:
            first, last = (0.83, 0.905) if look.suborder == "anisoptera" else (0.84, 0.885)
            mark = (xs > first) & (xs < last) & (self.rise > 0.0) & (self.rise < 0.13)
            self.lay(mark, look.stigma, 0.97)
        dark = np.array((34, 28, 22)) / 255
        gold = np.array((120, 95, 50)) / 255
        vein_colour = np.where((self.rise < 0.04)[..., None], gold, dark)
        strength = self.line[..., None] * 0.92
        colour = self.colour * (1 - strength) + vein_colour * strength
        alpha = np.maximum(self.alpha, self.line * 0.92) * self.inside
        return np.dstack([colour, alpha]).astype(np.float32)
