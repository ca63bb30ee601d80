"""Draws a posed insect as a camera sees it.

The camera is a long lens: parallel rays. Every solid is hit analytically where its outline falls,
every wing is a plane, so its picture is an affine image of the wing's texture.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from triage.demo.insect import Insect, Look, Solid, Wing
from triage.demo.wing_texture import wing_texture

Array = NDArray[np.float64]
Picture = NDArray[np.float32]

_LIGHT = np.array([-0.35, 0.55, -0.75])  # right, up, away from the camera
_FAR = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """Where the camera stands, seen from the insect.

    ``azimuth`` 0 looks at the face, 90 at the left flank, 180 along the back from behind;
    ``elevation`` 90 looks down on the back; ``roll`` turns the picture counter-clockwise. All in
    degrees. ``pixels_per_mm`` sets the scale, ``centre`` the picture position (fractions).
    """

    azimuth: float
    elevation: float
    roll: float = 0.0
    pixels_per_mm: float
    centre: tuple[float, float] = (0.5, 0.5)
    aim: tuple[float, float, float] = (-14.0, 0.0, 0.0)

    def axes(self) -> Array:
        """Return rows right, up, away in body axes."""
        azimuth, elevation, roll = np.radians([self.azimuth, self.elevation, self.roll])
        towards = np.array(
            [
                np.cos(elevation) * np.cos(azimuth),
                np.cos(elevation) * np.sin(azimuth),
                np.sin(elevation),
            ]
        )
        right = np.array([-np.sin(azimuth), np.cos(azimuth), 0.0])
        up = np.cross(towards, right)
        turned = right * np.cos(roll) - up * np.sin(roll)
        return np.stack([turned, right * np.sin(roll) + up * np.cos(roll), -towards])


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """The insect alone: colour times alpha, alpha, and the box of its pixels (x0, y0, x1, y1)."""

    colour: Picture
    alpha: Picture
    box: tuple[float, float, float, float]


def draw(insect: Insect, camera: Camera, width: int, height: int, *, seed: int) -> Layer:
    """Draw one insect on nothing, at twice the size asked for and shrunk."""
    scale = 2
    canvas = _Canvas(camera, width * scale, height * scale, scale, seed)
    for solid in insect.solids:
        canvas.draw_solid(insect.look, solid)
    canvas.darken_hollows()
    away = camera.axes()[2]
    order = sorted(insect.wings, key=lambda w: -float(away @ (w.base + w.span * w.length / 2)))
    for number, wing in enumerate(order):
        canvas.draw_wing(insect.look, wing, seed + number)
    result = canvas.finished()
    small = np.asarray(cv2.resize(result, (width, height), interpolation=cv2.INTER_AREA))
    alpha = np.clip(small[..., 3], 0, 1).astype(np.float32)
    colour = np.clip(small[..., :3], 0, 1).astype(np.float32)
    return Layer(colour=colour, alpha=alpha, box=_box(alpha))


def _box(alpha: Picture) -> tuple[float, float, float, float]:
    height, width = alpha.shape
    rows = np.flatnonzero(alpha.max(axis=1) > 0.3)
    columns = np.flatnonzero(alpha.max(axis=0) > 0.3)
    if not rows.size or not columns.size:
        return (0.0, 0.0, 0.0, 0.0)
    return (
        float(columns[0] / width),
        float(rows[0] / height),
        float((columns[-1] + 1) / width),
        float((rows[-1] + 1) / height),
    )


class _Canvas:
    """Body, wings behind it and wings before it, while they are drawn."""

    def __init__(self, camera: Camera, width: int, height: int, scale: int, seed: int) -> None:
        self.camera = camera
        self.axes = camera.axes()
        self.width, self.height = width, height
        self.per_mm = camera.pixels_per_mm * scale
        self.body = np.zeros((height, width, 4), np.float32)
        self.behind = np.zeros((height, width, 4), np.float32)
        self.before = np.zeros((height, width, 4), np.float32)
        self.depth = np.full((height, width), _FAR, np.float32)
        self.grain = _grain(np.random.default_rng(seed), height, width)

    def place(self, point: Array) -> tuple[float, float, float]:
        """Return x and y in pixels and the distance in mm of a point in body axes."""
        right, up, away = self.axes @ (point - np.asarray(self.camera.aim))
        x = self.camera.centre[0] * self.width + right * self.per_mm
        y = self.camera.centre[1] * self.height - up * self.per_mm
        return float(x), float(y), float(away)

    def window(
        self, left: float, right: float, top: float, bottom: float
    ) -> tuple[slice, slice] | None:
        """Return the part of these pixels that lies on the canvas, or None."""
        x0, x1 = max(0, int(left)), min(self.width, int(right) + 2)
        y0, y1 = max(0, int(top)), min(self.height, int(bottom) + 2)
        return None if x0 >= x1 or y0 >= y1 else (slice(y0, y1), slice(x0, x1))

    def draw_solid(self, look: Look, solid: Solid) -> None:
        """Hit one ellipsoid with the parallel rays of the pixels around it."""
        frame = self.axes @ solid.axes
        form = frame @ np.diag(1 / solid.radii**2) @ frame.T
        spread = frame @ np.diag(solid.radii**2) @ frame.T
        x0, y0, away = self.place(solid.centre)
        half_x, half_y = np.sqrt(spread[[0, 1], [0, 1]]) * self.per_mm
        window = self.window(x0 - half_x, x0 + half_x, y0 - half_y, y0 + half_y)
        if window is None:
            return
        dx = (np.arange(window[1].start, window[1].stop) - x0)[None, :] / self.per_mm
        dy = (y0 - np.arange(window[0].start, window[0].stop))[:, None] / self.per_mm
        b = form[0, 2] * dx + form[1, 2] * dy
        c = form[0, 0] * dx**2 + 2 * form[0, 1] * dx * dy + form[1, 1] * dy**2 - 1
        root = b * b - form[2, 2] * c
        z = (-b - np.sqrt(np.maximum(root, 0))) / form[2, 2]
        hit = (root >= 0) & (z + away < self.depth[window])
        if not hit.any():
            return
        dx, dy = np.broadcast_to(dx, z.shape)[hit], np.broadcast_to(dy, z.shape)[hit]
        inner = (frame.T @ np.stack([dx, dy, z[hit]])) / solid.radii[:, None]
        normal = frame @ (inner / solid.radii[:, None])
        normal = normal / np.linalg.norm(normal, axis=0)
        paint, gloss = _paint(look, solid, inner)
        noise = self.grain[window][hit]
        rough = 0.1 * (1 - gloss)  # eyes are smooth, cuticle is not
        colour = _shade(paint, normal + rough * noise, gloss) * (1 + 0.07 * noise)[:, None]
        self.body[window][hit] = np.column_stack([np.clip(colour, 0, 1), np.ones(len(colour))])
        self.depth[window][hit] = z[hit] + away

    def darken_hollows(self) -> None:
        """Darken what lies deeper than its surroundings, as less light gets there."""
        there = self.depth < _FAR
        if not there.any():
            return
        filled = np.where(there, self.depth, self.depth[there].max()).astype(np.float32)
        around = np.asarray(cv2.GaussianBlur(filled, (0, 0), 1.1 * self.per_mm))
        self.body[..., :3] *= (1 - np.clip((filled - around) * 0.22, 0.0, 0.6))[..., None]

    def draw_wing(self, look: Look, wing: Wing, seed: int) -> None:
        """Lay the texture of one wing in its plane, behind or before the body."""
        texture = self._lit(wing_texture(look, wing.hind, wing.width / wing.length, seed % 4), wing)
        rows, columns = texture.shape[:2]
        spots = ((0, 0), (1, 0), (0, 1), (1, 1))
        at = np.array([self.place(_on_wing(wing, u, v)) for u, v in spots])
        window = self.window(at[:, 0].min(), at[:, 0].max(), at[:, 1].min(), at[:, 1].max())
        if window is None:
            return
        shrink = columns / max(1.0, float(np.linalg.norm(at[1, :2] - at[0, :2])))
        if shrink > 1.5:
            texture = np.asarray(cv2.GaussianBlur(texture, (0, 0), 0.35 * shrink), np.float32)
        corner = np.array([window[1].start, window[0].start])
        source = np.array([[0, 0], [columns, 0], [0, rows]], np.float32)
        affine = cv2.getAffineTransform(source, (at[:3, :2] - corner).astype(np.float32))
        high, wide = window[0].stop - window[0].start, window[1].stop - window[1].start
        picture = np.asarray(cv2.warpAffine(texture, affine, (wide, high)), np.float32)
        edges = at[1:3, :2] - at[0, :2]
        slope = np.linalg.lstsq(edges, at[1:3, 2] - at[0, 2], rcond=None)[0]
        xs = np.arange(window[1].start, window[1].stop)[None, :] - at[0, 0]
        ys = np.arange(window[0].start, window[0].stop)[:, None] - at[0, 1]
        hidden = ((at[0, 2] + slope[0] * xs + slope[1] * ys) > self.depth[window])[..., None]
        _over(self.behind[window], np.where(hidden, picture, np.float32(0)))
        _over(self.before[window], np.where(hidden, np.float32(0), picture))

    def _lit(self, texture: Picture, wing: Wing) -> Picture:
        """Return the texture as light and tilt change it, colours multiplied by alpha."""
        texture = texture.copy()
        normal = self.axes @ np.cross(wing.span, wing.chord)
        glint = 0.5 + 0.7 * abs(float(_LIGHT @ normal) / float(np.linalg.norm(_LIGHT)))
        tilt = 1 - abs(float(normal[2]))
        texture[..., 3] = np.clip(texture[..., 3] * (1 + 0.5 * tilt), 0, 1)
        texture[..., :3] = np.clip(texture[..., :3] * glint, 0, 1) * texture[..., 3:4]
        return texture

    def finished(self) -> Picture:
        """Return wings behind, body and wings before, one over the other."""
        _over(self.behind, self.body)
        _over(self.behind, self.before)
        return self.behind


def _on_wing(wing: Wing, u: float, v: float) -> Array:
    return np.asarray(wing.base + wing.span * wing.length * u + wing.chord * wing.width * v)


def _over(below: Picture, above: Picture) -> None:
    """Lay premultiplied `above` over `below`, in place."""
    below *= 1 - above[..., 3:4]
    below += above


def _grain(rng: np.random.Generator, height: int, width: int) -> Picture:
    coarse = rng.normal(size=(height // 3 + 1, width // 3 + 1)).astype(np.float32)
    coarse = np.asarray(cv2.GaussianBlur(coarse, (0, 0), 1.2), np.float32)
    coarse = np.asarray(cv2.resize(coarse, (width, height)), np.float32)
    return np.asarray(coarse / (coarse.std() + 1e-6), np.float32)


def _shade(paint: Array, normal: Array, gloss: float) -> Array:
    light = _LIGHT / np.linalg.norm(_LIGHT)
    facing = np.clip(light @ normal * 0.75 + 0.25, 0, 1)
    sky = 0.5 + 0.5 * normal[1]
    ambient = 0.26 + 0.2 * sky
    halfway = light + np.array([0.0, 0.0, -1.0])
    halfway = halfway / np.linalg.norm(halfway)
    shine = gloss * np.clip(halfway @ normal, 0, 1) ** 36
    rim = gloss * 0.18 * np.clip(1 + normal[2], 0, 1) ** 3
    return np.asarray(
        paint * (ambient + 0.95 * facing)[:, None] + shine[:, None] + (rim * sky)[:, None]
    )


def _paint(look: Look, solid: Solid, inner: Array) -> tuple[Array, float]:
    """Colour of each hit point; ``inner`` are its coordinates on the unit sphere."""
    count = inner.shape[1]
    up, across = inner[2], np.abs(inner[1])
    if solid.paint == "abdomen":
        return _paint_abdomen(look, solid, inner[0], up, across), 0.28
    if solid.paint == "eye":
        blend = np.clip(0.5 + 0.9 * up, 0, 1)[:, None]
        colour = np.array(look.eye_top) * blend + np.array(look.eye_bottom) * (1 - blend)
        return colour / 255, 0.9
    if solid.paint == "thorax":
        colour = np.tile(np.array(look.thorax_colour, np.float64), (count, 1))
        angle = np.degrees(np.arctan2(across, up)) + 14 * inner[0]
        for place, wide, shade in look.stripes:
            weight = np.clip((wide / 2 - np.abs(angle - place)) / 2 + 0.5, 0, 1)[:, None]
            colour = colour * (1 - weight) + np.array(shade) * weight
        return colour / 255, 0.16
    flat = {"face": look.face, "head": look.thorax_colour, "legs": look.legs}[solid.paint]
    return np.tile(np.array(flat, np.float64) / 255, (count, 1)), 0.25


def _paint_abdomen(look: Look, solid: Solid, along: Array, up: Array, across: Array) -> Array:
    t = np.clip(solid.t - along * solid.dt, 0, 0.9999)
    segment = np.floor(t * 10)
    phase = t * 10 - segment
    blend = np.clip((up + 0.15) * 3, 0, 1)[:, None]
    colour = np.array(look.top) * blend + np.array(look.side) * (1 - blend)
    for shade, first, last, near, far in look.spots:
        inside = (phase > first) & (phase < last) & (across > near) & (across < far) & (up > -0.2)
        colour = np.where(inside[:, None], np.array(shade, np.float64), colour)
    if look.midline is not None:
        inside = (across < look.midline[0]) & (up > 0)
        colour = np.where(inside[:, None], np.array(look.midline[1], np.float64), colour)
    if look.ring is not None:
        colour = np.where(
            (phase > look.ring[0])[:, None], np.array(look.ring[1], np.float64), colour
        )
    for number, shade in look.tail:
        colour = np.where((segment == number)[:, None], np.array(shade, np.float64), colour)
    seam = np.clip(1 - np.minimum(phase, 1 - phase) * 22, 0, 1)
    return np.asarray(colour / 255 * (1 - 0.45 * seam)[:, None])
