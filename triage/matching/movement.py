"""A distance with both position uncertainties in, how likely an animal is found that far out.

A kernel is the density, per square metre, of the places where animals are found around the point
where they emerged (a dispersal location kernel: Nathan, Klein, Robledo-Arnuncio & Revilla 2012,
in Dispersal Ecology and Evolution, chapter 15), here a mixture of round Gaussian clouds, so that
both uncertainties enter in closed form.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from triage.matching.settings import Kernel, MatchingSettings


def density(
    kernel: Kernel, distances: ArrayLike, variance: ArrayLike = 0.0, *, scale: float = 1.0
) -> NDArray[np.float64]:
    """Density of finding an animal at a distance from where it emerged, over both uncertainties.

    Parameters
    ----------
    kernel : Kernel
        With at least one component.
    distances : array_like of float
        Metres between the two stated positions, at least 0.
    variance : array_like of float
        Variance of the difference of the two positions along one axis, square metres
        (``position_variance`` of one plus that of the other); broadcast with ``distances``.
    scale : float
        Multiplies the kernel's scales.

    Returns
    -------
    ndarray of float64
        Per square metre, in the broadcast shape; greatest at distance 0, falling to 0.

    Raises
    ------
    ValueError
        The kernel allows no inference.

    Notes
    -----
    The convolution of Gaussian clouds adds their variances, so this is exact for Gaussian
    errors and moment-matched for the uniform circles that Darwin Core describes.
    """
    if not kernel.infers:
        raise ValueError(f"kernel {kernel.name} allows no inference from distance")
    squared = np.square(np.asarray(distances, dtype=np.float64))
    spread = np.asarray(variance, dtype=np.float64)
    total = np.zeros(np.broadcast(squared, spread).shape)
    for share, sigma in zip(kernel.shares, kernel.scales, strict=True):
        both = (sigma * scale) ** 2 + spread
        total = total + share / (2 * math.pi * both) * np.exp(-squared / (2 * both))
    return np.asarray(total, dtype=np.float64)


def movement_term(
    kernel: Kernel, distances: ArrayLike, variance: ArrayLike = 0.0, *, scale: float = 1.0
) -> NDArray[np.float64]:
    """Density at a distance relative to the density at the place of emergence itself.

    Parameters are those of ``density``.

    Returns
    -------
    ndarray of float64 in [0, 1]
        1 only for distance 0 and positions without error; uncertainty lowers it near the place
        and raises it far away.

    Raises
    ------
    ValueError
        The kernel allows no inference.

    Examples
    --------
    >>> one = Kernel(name="one", taxa=(), shares=(1.0,), scales=(100.0,), farthest=1e4, source="")
    >>> movement_term(one, [0.0, 100.0]).round(4).tolist()
    [1.0, 0.6065]
    """
    return density(kernel, distances, variance, scale=scale) / density(kernel, 0.0, scale=scale)


def position_variance(radius: ArrayLike) -> NDArray[np.float64]:
    """Variance along one axis of a position that lies anywhere within a circle.

    Parameters
    ----------
    radius : array_like of float
        Darwin Core coordinateUncertaintyInMeters.

    Returns
    -------
    ndarray of float64
        Square metres: a quarter of the squared radius (closed form for the uniform disc).
    """
    return np.asarray(np.square(np.asarray(radius, dtype=np.float64)) / 4.0)


def share_within(kernel: Kernel, radius: ArrayLike, *, scale: float = 1.0) -> NDArray[np.float64]:
    """Share of the animals found within a radius of where they emerged.

    Parameters
    ----------
    radius : array_like of float
        Metres, at least 0.

    Returns
    -------
    ndarray of float64 in [0, 1]

    Raises
    ------
    ValueError
        The kernel allows no inference.
    """
    if not kernel.infers:
        raise ValueError(f"kernel {kernel.name} allows no inference from distance")
    squared = np.square(np.asarray(radius, dtype=np.float64))
    beyond = np.zeros(squared.shape)
    for share, sigma in zip(kernel.shares, kernel.scales, strict=True):
        beyond = beyond + share * np.exp(-squared / (2 * (sigma * scale) ** 2))
    return np.asarray(1.0 - beyond)


def none_term(kernel: Kernel, settings: MatchingSettings) -> float:
    """Movement term of "none of the known sites": unknown waters spread evenly over the land.

    With ``n`` unknown sites per square metre, each as productive as a known one, animals from
    unknown sites have the density ``n`` everywhere, whatever the kernel: its integral is 1. This
    is that density on the scale of ``movement_term``; it may exceed 1 for far-ranging animals.
    """
    per_square_metre = settings.unknown_sites_per_square_kilometre / 1e6
    return per_square_metre / float(density(kernel, 0.0, scale=settings.movement_scale))


def reach(kernel: Kernel, settings: MatchingSettings) -> float:
    """Distance in metres beyond which no known site can earn ``least_share``, at most farthest.

    Even the best season and taxon terms against those of an unknown site are then too little.
    """
    if not kernel.infers:
        return 0.0
    farthest = kernel.farthest * settings.movement_scale
    unknown = settings.season_unknown * settings.taxon_unknown * none_term(kernel, settings)
    least = max(settings.least_share, 1e-6) * unknown
    near, far = 0.0, farthest
    if float(movement_term(kernel, far, scale=settings.movement_scale)) >= least:
        return farthest
    while far - near > 1.0:
        middle = (near + far) / 2
        enough = float(movement_term(kernel, middle, scale=settings.movement_scale)) >= least
        near, far = (middle, far) if enough else (near, middle)
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
