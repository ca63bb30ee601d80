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
