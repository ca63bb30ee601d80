"""Cluster weighted places within a stated radius."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.analysis import geodesy


@dataclass(frozen=True, slots=True, kw_only=True)
class Cluster:
    """Members (indices, ascending), their weighted centre, and metres from it to the farthest."""

    members: tuple[int, ...]
    decimal_latitude: float
    decimal_longitude: float
    radius: float


def clusters_within(
    latitude: NDArray[np.float64],
    longitude: NDArray[np.float64],
    weight: NDArray[np.float64],
    names: Sequence[str],
    radius: float,
) -> list[Cluster]:
    """Gather places around the weightiest ones, each place into one cluster.

    The weightiest free place takes in all free places within ``radius`` metres of it, and so on
    (leader clustering, Hartigan 1975, Clustering Algorithms, chapter 3; from memory). Chains
    along a shore can't grow without end, as they can by nearest neighbours. Equal weights go by
    ``names``, so the order of the places changes nothing.
    """
    from scipy.spatial import cKDTree

    if not len(latitude):
        return []
    points = geodesy.geocentric(latitude, longitude)
    tree = cKDTree(points)
    free = np.ones(len(points), dtype=bool)
    found: list[Cluster] = []
    for leader in sorted(range(len(points)), key=lambda index: (-weight[index], names[index])):
        if not free[leader]:
            continue
        near = [i for i in sorted(tree.query_ball_point(points[leader], radius)) if free[i]]
        free[near] = False
        centre = _centre(latitude[near], longitude[near], weight[near])
        away = geodesy.distances(*centre, latitude[near], longitude[near])
        found.append(
            Cluster(
                members=tuple(near),
                decimal_latitude=centre[0],
                decimal_longitude=centre[1],
                radius=float(away.max()),
            )
        )
    return found


def _centre(
    latitude: NDArray[np.float64], longitude: NDArray[np.float64], weight: NDArray[np.float64]
) -> tuple[float, float]:
    """Weighted mean of the directions, which no meridian or pole disturbs."""
    phi, lam = np.radians(latitude), np.radians(longitude)
    directions = np.stack([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)])
    east, north, up = (directions * weight).sum(axis=1)
    return (
        float(np.degrees(np.arctan2(up, np.hypot(east, north)))),
        float(np.degrees(np.arctan2(north, east))),
    )
