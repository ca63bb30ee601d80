"""Two grey pictures and how the one lies on the other in, how far their pixels agree out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_COMPARE_PX = 256  # long side at which pixels are compared: recompression and blur matter less
_WINDOW = 15  # side in pixels of the neighbourhood that is correlated
_FLAT = 4.0  # grey values 0 to 255: below this standard deviation a neighbourhood says nothing
_AGREES = 0.7  # correlation from which a neighbourhood counts as the same


def compare_pixels(
    first: NDArray[np.uint8], second: NDArray[np.uint8], matrix: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    """How far two aligned pictures agree, neighbourhood by neighbourhood.

    Parameters
    ----------
    first, second : uint8 arrays, shape (height, width)
        Grey pictures.
    matrix : float array, shape (2, 3)
        Takes pixel positions (x, y) of ``second`` to ``first``.

    Returns
    -------
    agreement : float in [0, 1]
        Share of the overlap's neighbourhoods with texture in either whose correlation is at least
        0.7. Brightness, contrast and gamma hardly change it. 0 where nothing has texture.
    difference : float in [0, 255]
        Mean absolute difference of grey values over the overlap; 255 without overlap.
    cover_first, cover_second : float in [0, 1]
        The overlap's share of each picture's area.

    Raises
    ------
    ValueError
        If ``matrix`` is not 2 x 3.
    """
    import cv2

    if matrix.shape != (2, 3):
        raise ValueError(f"an affine matrix is 2 x 3, not {matrix.shape}")
    height, width = first.shape
    warped = cv2.warpAffine(second, matrix, (width, height), flags=cv2.INTER_LINEAR)
    inside = cv2.warpAffine(np.full_like(second, 255), matrix, (width, height)) > 250
    overlap = float(np.count_nonzero(inside))
    cover_first = overlap / inside.size
    area = abs(float(np.linalg.det(matrix[:, :2]))) * second.size
    cover_second = min(1.0, overlap / area) if area > 0 else 0.0
    factor = _COMPARE_PX / max(height, width)
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    shrunk = [
        np.asarray(
            cv2.resize(plane.astype(np.float32), size, interpolation=cv2.INTER_AREA),
            dtype=np.float32,
        )
        for plane in (first, warped, inside)
    ]
    a, b = (_smoothed(plane) for plane in shrunk[:2])
    correlation, deviation_a, deviation_b, valid = _local_correlation(a, b, shrunk[2] >= 0.999)
    difference = float(np.abs(a - b)[valid].mean()) if valid.any() else 255.0
    textured = valid & (np.maximum(deviation_a, deviation_b) >= _FLAT)
    if not textured.any():
        return 0.0, difference, cover_first, cover_second
    agreement = float(np.mean(correlation[textured] >= _AGREES))
    return agreement, difference, cover_first, cover_second


def _smoothed(plane: NDArray[np.float32]) -> NDArray[np.float32]:
    """Against noise, which is texture that the two pictures do not share."""
    import cv2

    return np.asarray(cv2.GaussianBlur(plane, (0, 0), 1.0), dtype=np.float32)


def _local_correlation(
    a: NDArray[np.float32], b: NDArray[np.float32], inside: NDArray[np.bool_]
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[np.bool_]]:
    """Pearson correlation in a window round every pixel, both deviations, and where it holds."""
    import cv2

    def mean(plane: NDArray[Any]) -> NDArray[Any]:
        return np.asarray(cv2.boxFilter(plane.astype(np.float64), -1, (_WINDOW, _WINDOW)))

    mean_a, mean_b = mean(a), mean(b)
    variance_a = np.maximum(mean(a * a) - mean_a**2, 0)
    variance_b = np.maximum(mean(b * b) - mean_b**2, 0)
    covariance = mean(a * b) - mean_a * mean_b
    correlation = covariance / np.sqrt(np.maximum(variance_a * variance_b, 1e-6))
    valid = mean(inside.astype(np.float64)) >= 0.999
    return correlation, np.sqrt(variance_a), np.sqrt(variance_b), valid
