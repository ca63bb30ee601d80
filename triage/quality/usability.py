"""Focus, size, view, exposure and framing in, the chance that an expert can name the species out.

Until a survey has its own determinations to learn from, the weights are common practice, no source.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass

FACTORS = ("focus", "size", "view", "exposure", "framing")
SMALLEST_FACTOR = 0.02  # keeps the logarithm of a factor finite

LENGTH_WANTED_PX = 600.0  # an insect this long shows what can be seen; common practice, no source
VIEW_VALUES: Mapping[str, float] = {  # same; a face alone seldom suffices
    "dorsal": 1.0,
    "lateral": 1.0,
    "oblique": 0.7,
    "anterior": 0.35,
    "other": 0.3,
}
CUT_BODY = 0.4  # what is left when the frame cuts the body; common practice, no source
CUT_WINGS = 0.85  # what is left when it cuts the wings only; same

SECOND_VIEW_GAIN: Mapping[str, float] = {
    # Share of what the best view leaves open that a faultless further view closes; common practice,
    # no source. Plants in three chosen views instead of the best one: two thirds of the errors gone
    # (Rzanny et al. 2019, Plant Methods 15:77, doi:10.1186/s13007-019-0462-4).
    "dorsal": 0.6,
    "lateral": 0.6,
    "oblique": 0.25,
    "anterior": 0.25,
    "other": 0.1,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Factors:
    """What usability is made of, each in [0, 1] and 1 at its best."""

    focus: float
    size: float
    view: float
    exposure: float
    framing: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UsabilityModel:
    """A logistic model on the logarithms of the factors: one that is near 0 spoils the photo."""

    method: str
    intercept: float
    weights: Mapping[str, float]


STARTING_MODEL = UsabilityModel(  # common practice, no source: all at their best gives 0.90
    method="usability 1, starting weights",
    intercept=2.2,
    weights={"focus": 1.5, "size": 1.2, "view": 1.0, "exposure": 0.8, "framing": 1.0},
)


def model_to_bytes(model: UsabilityModel) -> bytes:
    """The model as JSON, to be kept in a survey; equal models give equal bytes."""
    values = {"method": model.method, "intercept": model.intercept, "weights": dict(model.weights)}
    return json.dumps(values, sort_keys=True).encode()


def model_from_bytes(content: bytes) -> UsabilityModel:
    """The model that was kept.

    Raises
    ------
    ValueError
        If the bytes hold no model.
    """
    try:
        return UsabilityModel(**json.loads(content))
    except (TypeError, ValueError) as error:
        raise ValueError(f"no usability model: {error}") from error


def factors_of(
    *,
    focus: float,
    insect_px: float,
    views: Mapping[str, float],
    exposure: float,
    body_cut: bool,
    wings_cut: bool,
) -> Factors:
    """Turn measurements into factors.

    Parameters
    ----------
    focus, exposure : float
        In [0, 1].
    insect_px : float
        Length of the insect in pixels of the upright full-size image.
    views : mapping of str to float
        Probability of each view; they sum to 1.
    body_cut, wings_cut : bool
        Whether the frame cuts the body, or the whole insect.
    """
    framing = CUT_BODY if body_cut else CUT_WINGS if wings_cut else 1.0
    return Factors(
        focus=focus,
        size=min(1.0, insect_px / LENGTH_WANTED_PX),
        view=sum(VIEW_VALUES[view] * share for view, share in views.items()),
        exposure=exposure,
        framing=framing,
    )


def log_factors(factors: Factors) -> list[float]:
    """Natural logarithms in the order of ``FACTORS``, none below log 0.02."""
    return [math.log(max(SMALLEST_FACTOR, getattr(factors, name))) for name in FACTORS]


def usability(factors: Factors, *, odonate: float, model: UsabilityModel = STARTING_MODEL) -> float:
    """The chance, in [0, 1], that an expert can name the species from this photo alone.

    Parameters
    ----------
    factors : Factors
    odonate : float
        Chance that it shows an adult odonate at all; it multiplies the rest.
    model : UsabilityModel
        The starting weights unless the survey has learned its own.

    Examples
    --------
    >>> best = Factors(focus=1, size=1, view=1, exposure=1, framing=1)
    >>> round(usability(best, odonate=1.0), 2)
    0.9
    """
    logs = zip(FACTORS, log_factors(factors), strict=True)
    score = model.intercept + sum(model.weights[name] * value for name, value in logs)
    return odonate / (1.0 + math.exp(-score))


def pair_usability(best_by_view: Mapping[str, float]) -> float:
    """The chance that an expert can name the species from the best photo of each view together.

    The best view counts whole; each further view closes a share of what is still open
    (``SECOND_VIEW_GAIN`` times its own usability), so a dorsal and a lateral photo together beat
    two of one view, of which only the better counts.

    Parameters
    ----------
    best_by_view : mapping of str to float
        Usability of the best photo of each view that there is, in [0, 1].

    Returns
    -------
    float
        In [0, 1]; at least the best single usability. No view at all gives 0.

    Raises
    ------
    ValueError
        If a view is unknown or a usability lies outside [0, 1].

    Examples
    --------
    >>> round(pair_usability({"dorsal": 0.8, "lateral": 0.7}), 3)
    0.884
    """
    for view, value in best_by_view.items():
        if view not in SECOND_VIEW_GAIN or not 0 <= value <= 1:
            raise ValueError(f"no usability of a view: {view} {value}")
    ranked = sorted(best_by_view.items(), key=lambda item: (-item[1], item[0]))
    if not ranked:
        return 0.0
    still_open = 1.0 - ranked[0][1]
    for view, value in ranked[1:]:
        still_open *= 1.0 - SECOND_VIEW_GAIN[view] * value
    return 1.0 - still_open
