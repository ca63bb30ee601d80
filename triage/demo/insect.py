"""Builds one parametric odonate from the look of its species: solids and wing planes, in mm.

Body axes: x towards the head, y to the animal's left, z up; the origin lies in the thorax. The
proportions are drawn freely after field-guide habit (from memory, no source): they shall be
recognised at a glance, nothing is to be measured on them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Colour = tuple[int, int, int]  # sRGB, 0 to 255


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Shape (mm) and colours of one species; ``profile`` holds (t, half width) along the abdomen.

    ``spots`` are paired marks on each abdominal segment: colour, then first and last phase of
    the segment, then least and greatest distance from the midline (0 to 1). ``tail`` maps
    segment numbers to a colour. ``stripes`` of the thorax: angle from the top in degrees, width,
    colour.
    """

    suborder: str
    abdomen: float
    profile: tuple[tuple[float, float], ...]
    depth_ratio: float = 0.9
    thorax: tuple[float, float, float]
    thorax_colour: Colour
    stripes: tuple[tuple[float, float, Colour], ...] = ()
    head_width: float
    eyes_touch: bool
    eye_top: Colour
    eye_bottom: Colour
    face: Colour
    top: Colour
    side: Colour
    midline: tuple[float, Colour] | None = None
    ring: tuple[float, Colour] | None = None
    spots: tuple[tuple[Colour, float, float, float, float], ...] = ()
    tail: tuple[tuple[int, Colour], ...] = ()
    legs: Colour = (20, 18, 16)
    wing: float
    stigma: Colour = (30, 26, 22)
    base_patch: tuple[float, Colour] | None = None
    node_spot: Colour | None = None
    band: tuple[float, float, Colour] | None = None
    tint: tuple[Colour, float] = ((225, 215, 190), 0.10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Solid:
    """An ellipsoid: centre, radii and axes (columns) in body axes, and how it is painted."""

    centre: Array
    radii: Array
    axes: Array
    paint: str
    t: float = 0.0
    dt: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wing:
    """A flat wing: base, unit vectors along span and chord, length and chord in mm."""

    base: Array
    span: Array
    chord: Array
    length: float
    width: float
    hind: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """How the animal holds itself, angles in degrees.

    ``dihedral`` lifts the wings of Anisoptera; ``gape`` opens the folded wings of Zygoptera;
    ``droop`` bends the abdomen downwards along its length; ``sweep`` moves wings forwards.
    """

    dihedral: float = -4.0
    gape: float = 6.0
    droop: float = 6.0
    sweep: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Insect:
    """One posed animal: solids for the body, planes for the wings."""

    look: Look
    solids: tuple[Solid, ...]
    wings: tuple[Wing, ...]
    extent: float = field(default=0.0)


def build(look: Look, pose: Pose) -> Insect:
    """Pose one animal of this look."""
    solids = [*_thorax(look), *_head(look), *_abdomen(look, pose), *_legs(look)]
    wings = _wings(look, pose)
    return Insect(
        look=look, solids=tuple(solids), wings=tuple(wings), extent=look.abdomen + look.thorax[0]
    )


def _thorax(look: Look) -> list[Solid]:
    length, width, height = look.thorax
    tilt = np.radians(18.0 if look.suborder == "anisoptera" else 32.0)
    axes = _turn_y(tilt)
    return [
        _solid((0.0, 0.0, 0.0), (length * 0.5, width * 0.5, height * 0.5), "thorax", axes=axes),
        _solid(
            (length * 0.12, 0.0, height * 0.08),
            (length * 0.36, width * 0.47, height * 0.46),
            "thorax",
        ),
        _solid(
            (length * 0.46, 0.0, height * 0.1), (length * 0.16, width * 0.2, width * 0.2), "face"
        ),
    ]


def _head(look: Look) -> list[Solid]:
    width = look.head_width
    x = look.thorax[0] * 0.5 + width * 0.22
    z = look.thorax[2] * 0.1
    solids = [
        _solid(
            (x + width * 0.1, 0.0, z - width * 0.06), (width * 0.24,) * 2 + (width * 0.26,), "face"
        )
    ]
    if look.eyes_touch:
        radii = (width * 0.33, width * 0.29, width * 0.33)
        offset = width * 0.225
    else:
        radii = (width * 0.24, width * 0.19, width * 0.23)
        offset = width * 0.33
        solids.append(_solid((x, 0.0, z), (width * 0.17, width * 0.36, width * 0.16), "head"))
    for sign in (1.0, -1.0):
        solids.append(_solid((x, sign * offset, z + width * 0.04), radii, "eye"))
    return solids


def _abdomen(look: Look, pose: Pose) -> list[Solid]:
    """Return overlapping discs along a gently bent axis."""
    start = np.array([-look.thorax[0] * 0.42, 0.0, look.thorax[2] * 0.05])
    ts, halves = (np.array(column) for column in zip(*look.profile, strict=True))
    count = int(np.clip(look.abdomen / (np.mean(halves) * 0.28), 60, 150))
    solids = []
    point = start
    step = look.abdomen / count
    for index in range(count):
        t = (index + 0.5) / count
        angle = np.radians(pose.droop) * (0.3 + t)
        direction = np.array([-np.cos(angle), 0.0, -np.sin(angle)])
        point = point + direction * step
        half = float(np.interp(t, ts, halves))
        axes = np.column_stack(
            [-direction, np.array([0.0, 1.0, 0.0]), np.array([-np.sin(angle), 0.0, np.cos(angle)])]
        )
        radii = (max(half, step * 1.2), half, half * look.depth_ratio)
        solids.append(_solid(point, radii, "abdomen", axes=axes, t=t, dt=radii[0] / look.abdomen))
    end = point
    for sign in (1.0, -1.0):
        tip = end + np.array([-look.abdomen * 0.03, sign * halves[-1] * 0.6, 0.0])
        solids.append(_rod(end, tip, float(halves[-1]) * 0.35, "legs"))
    return solids


def _legs(look: Look) -> list[Solid]:
    length, width, height = look.thorax
    thick = max(0.22, width * 0.05)
    solids = []
    for sign in (1.0, -1.0):
        for row, (x, knee_x, foot_x) in enumerate(
            ((0.36, 0.75, 0.95), (0.24, 0.45, 0.5), (0.1, -0.1, 0.05))
        ):
            reach = 0.75 + 0.12 * row
            hip = np.array([x * length, sign * width * 0.28, -height * 0.36])
            knee = np.array([knee_x * length, sign * width * reach, -height * 0.55])
            foot = np.array([foot_x * length, sign * width * (0.35 + 0.2 * row), -height * 1.0])
            solids += [_rod(hip, knee, thick * 1.3, "legs"), _rod(knee, foot, thick, "legs")]
    return solids


def _wings(look: Look, pose: Pose) -> list[Wing]:
    length, width, height = look.thorax
    wings = []
    for sign in (1.0, -1.0):
        for hind in (False, True):
            x = -length * 0.12 if hind else length * 0.12
            base = np.array([x, sign * width * 0.2, height * 0.42])
            if look.suborder == "anisoptera":
                yaw = np.radians((-4.0 if hind else 9.0) + pose.sweep)
                lift = np.radians(pose.dihedral + (0.0 if hind else 3.0))
                span = np.array(
                    [np.sin(yaw), sign * np.cos(yaw) * np.cos(lift), np.cos(yaw) * np.sin(lift)]
                )
                chord = np.array([-np.cos(yaw), sign * np.sin(yaw), -0.06])
                wide = look.wing * (0.31 if hind else 0.235)
            else:
                back = np.radians(14.0 if hind else 9.0)
                gape = np.radians(pose.gape * (1.0 if hind else 1.25))
                span = np.array([-np.cos(back), sign * np.sin(gape), np.sin(back)])
                chord = np.array([np.sin(back), sign * np.sin(gape) * 0.4, np.cos(back)])
                wide = look.wing * (0.2 if look.band is None else 0.3)
            long = look.wing * (0.96 if hind else 1.0)
            span = span / np.linalg.norm(span)
            chord = chord - span * float(chord @ span)
            wings.append(
                Wing(
                    base=base,
                    span=span,
                    chord=chord / np.linalg.norm(chord),
                    length=long,
                    width=wide,
                    hind=hind,
                )
            )
    return wings


def _solid(
    centre: tuple[float, ...] | Array,
    radii: tuple[float, ...],
    paint: str,
    *,
    axes: Array | None = None,
    t: float = 0.0,
    dt: float = 0.0,
) -> Solid:
    return Solid(
        centre=np.asarray(centre, dtype=np.float64),
        radii=np.asarray(radii, dtype=np.float64),
        axes=np.eye(3) if axes is None else axes,
        paint=paint,
        t=t,
        dt=dt,
    )


def _rod(first: Array, last: Array, radius: float, paint: str) -> Solid:
    along = last - first
    length = float(np.linalg.norm(along))
    x = along / length
    helper = np.array([0.0, 0.0, 1.0]) if abs(x[2]) < 0.9 else np.array([0.0, 1.0, 0.0])
    y = np.cross(helper, x)
    y = y / np.linalg.norm(y)
    axes = np.column_stack([x, y, np.cross(x, y)])
    return _solid((first + last) / 2, (length * 0.56, radius, radius), paint, axes=axes)


def _turn_y(angle: float) -> Array:
    cosine, sine = float(np.cos(angle)), float(np.sin(angle))
    return np.array([[cosine, 0.0, -sine], [0.0, 1.0, 0.0], [sine, 0.0, cosine]])
