"""Places with weights in, clusters no wider than a stated radius out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.analysis import geodesy
from triage.matching.places import chord, on_sphere


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
    points = on_sphere(latitude, longitude)
    tree = cKDTree(points)
    free = np.ones(len(points), dtype=bool)
    found: list[Cluster] = []
    for leader in sorted(range(len(points)), key=lambda index: (-weight[index], names[index])):
        if not free[leader]:
            continue
        near = [i for i in sorted(tree.query_ball_point(points[leader], chord(radius))) if free[i]]
        free[near] = False
        middle = (points[near] * weight[near, None]).sum(axis=0)
        middle /= np.linalg.norm(middle)
        centre = (
            float(np.degrees(np.arcsin(np.clip(middle[2], -1, 1)))),
            float(np.degrees(np.arctan2(middle[1], middle[0]))),
        )
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
