"""Weigh how likely an animal is found at a distance from a shore.

A kernel is the density, per square metre, of the places where animals are found around the point
where they emerged (a dispersal location kernel: Nathan, Klein, Robledo-Arnuncio & Revilla 2012,
in Dispersal Ecology and Evolution; from memory), here a mixture of round Gaussian clouds, so that
shore and uncertainty enter in closed form.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from triage.matching.settings import Kernel

SMALL_DISC = 0.3  # radius in spreads of the cloud: up to here its variance alone matters (< 1e-3)
QUADRATURE_NODES = 16  # error below 1e-8: tests/matching/test_movement.py


def density(
    kernel: Kernel,
    distances: ArrayLike,
    radius: ArrayLike = 0.0,
    shore: ArrayLike = 0.0,
    *,
    scale: float = 1.0,
) -> NDArray[np.float64]:
    """Density of finding an animal at a place, of those that emerged along a water's shore.

    Parameters
    ----------
    kernel : Kernel
        With at least one component.
    distances : array_like of float
        Metres from the water's middle to the stated place of the sighting, at least 0.
    radius : array_like of float
        Darwin Core coordinateUncertaintyInMeters of the sighting, at least 0: it is anywhere in
        this circle.
    shore : array_like of float
        Radius in metres of a round water; animals emerge evenly along its edge. Broadcast with
        ``distances``, as ``radius`` is.
    scale : float
        Multiplies the kernel's scales.

    Returns
    -------
    ndarray of float64
        Per square metre, in the broadcast shape; its integral over the plane is 1 for any water.

    Raises
    ------
    ValueError
        The kernel allows no inference.

    Notes
    -----
    The wider of circle and shore is integrated over exactly (a Gaussian cloud over a disc by
    quadrature, along a ring by a Bessel function); the narrower one is taken as a Gaussian of the
    same variance. Against Monte Carlo over both the error is below 2 % of the density at 0.
    """
    if not kernel.infers:
        raise ValueError(f"kernel {kernel.name} allows no inference from distance")
    away, disc, ring = np.broadcast_arrays(
        *(np.asarray(value, dtype=np.float64) for value in (distances, radius, shore))
    )
    shape, away = away.shape, np.atleast_1d(away)
    disc, ring = np.atleast_1d(disc), np.atleast_1d(ring)
    on_ring = 2.0 * ring**2 > disc**2  # which of the two has the greater variance
    total = np.zeros(away.shape)
    for share, sigma in zip(kernel.shares, kernel.scales, strict=True):
        variance = (sigma * scale) ** 2 + np.where(on_ring, disc**2 / 4.0, ring**2 / 2.0)
        spread = np.sqrt(variance)
        cloud = np.empty(away.shape)
        cloud[on_ring] = _cloud_on_ring(away[on_ring], spread[on_ring], ring[on_ring])
        cloud[~on_ring] = _cloud_over_disc(away[~on_ring], spread[~on_ring], disc[~on_ring])
        total += share * cloud
    return total.reshape(shape)


def _cloud_on_ring(
    away: NDArray[np.float64], spread: NDArray[np.float64], radius: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mean density of a round Gaussian cloud along a circle: exact, by the Bessel function I0."""
    from scipy.special import ive

    squared = np.square(spread)
    near = np.exp(-np.square(away - radius) / (2.0 * squared))
    return np.asarray(near * ive(0, away * radius / squared) / (2.0 * np.pi * squared))


def _cloud_over_disc(
    away: NDArray[np.float64], spread: NDArray[np.float64], radius: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mean density of a round Gaussian cloud over a disc whose centre lies ``away`` from its own.

    A disc much smaller than the cloud widens it by its variance, a quarter of the squared radius.
    """
    variance = np.square(spread) + np.square(radius) / 4.0
    mean = np.exp(-np.square(away) / (2.0 * variance)) / (2.0 * np.pi * variance)
    # Beyond nine spreads from its rim a disc holds less than 1e-17 of the cloud.
    wide = radius > SMALL_DISC * spread
    mean[wide & (away > radius + 9.0 * spread)] = 0.0
    rows = wide & (away <= radius + 9.0 * spread)
    if rows.any():
        mean[rows] = _probability_in_disc(away[rows], spread[rows], radius[rows]) / (
            np.pi * np.square(radius[rows])
        )
    return np.asarray(mean)


def _probability_in_disc(
    away: NDArray[np.float64], spread: NDArray[np.float64], radius: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Probability that a Gaussian point falls into a disc: chords of it summed by quadrature."""
    from scipy.special import ndtr

    nodes, weights = np.polynomial.legendre.leggauss(QUADRATURE_NODES)
    # Chords at height radius * sin(angle); beyond eight spreads they add nothing.
    widest = np.arcsin(np.minimum(1.0, 8.0 * spread / radius))
    total = np.zeros(away.shape)
    for node, weight in zip(nodes, weights, strict=True):
        angle = widest * (node + 1.0) / 2.0
        half_chord = radius * np.cos(angle)
        height = radius * np.sin(angle) / spread
        chord = ndtr((half_chord - away) / spread) - ndtr((-half_chord - away) / spread)
        total += weight * chord * np.exp(-np.square(height) / 2.0) * half_chord
    # Two halves of the disc, and half the width of the interval of angles: the factors cancel.
    return np.asarray(total * widest / (spread * math.sqrt(2.0 * math.pi)))


def reach(
    kernels: Sequence[tuple[Kernel, float]], unknown: float, least_share: float, *, scale: float
) -> float:
    """Distance in metres beyond which no known site can earn ``least_share``, at most farthest.

    ``kernels`` go with the greatest weight that any site has under each; ``unknown`` is the
    density per square metre of animals from unknown waters on the same scale.
    """
    farthest = max((kernel.farthest for kernel, _ in kernels), default=0.0) * scale
    least = max(least_share, 1e-6) * unknown

    def enough(distance: float) -> bool:
        best = sum(weight * density(kernel, distance, scale=scale) for kernel, weight in kernels)
        return bool(np.asarray(best) >= least)

    if not farthest or enough(farthest):
        return farthest
    near, far = 0.0, farthest
    while far - near > 1.0:
        middle = (near + far) / 2
        near, far = (middle, far) if enough(middle) else (near, middle)
    return far


def kernel_for(
    lineage: dict[str, str], suborder: str, *, teneral: bool, kernels: tuple[Kernel, ...]
) -> Kernel:
    """The kernel of the finest taxon that has one; of the suborder, or of all, if undetermined."""
    if teneral:
        for kernel in kernels:
            if kernel.name == "teneral":
                return kernel
    names = [name for rank, name in reversed(lineage.items()) if rank != "order"]
    if "suborder" not in lineage:
        names.append(suborder.strip().capitalize())
    for name in names:
        for kernel in kernels:
            if name in kernel.taxa:
                return kernel
    return next(kernel for kernel in kernels if "Odonata" in kernel.taxa)
