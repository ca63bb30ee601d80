"""Tell the chance that an expert can name the species, from focus, size, view, exposure, framing.

Values and weights were set on two readers' grades of labelled photos, until a survey has its
own determinations to learn from.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass

FACTORS = ("focus", "size", "view", "exposure", "framing")
SMALLEST_FACTOR = 0.02  # keeps the logarithm of a factor finite

# An insect this long and wide shows half of what a very large one shows; 300 with the usual wings,
# 1.4 times as long as the body, is a body of 250.
EXTENT_AT_HALF_PX = 300.0
VIEW_VALUES: Mapping[str, float] = {  # a face alone seldom suffices
    "dorsal": 1.0,
    "lateral": 1.0,
    "oblique": 0.65,
    "anterior": 0.25,
    "other": 0.4,
}
PAIR_VALUE = 0.9  # least value of the view of a pair, which shows both sexes
CUT_BODY = 0.4  # what is left when the frame cuts the body
CUT_WINGS = 0.9  # what is left when it cuts the wings only
STOUT = 0.4  # breadth over length from which no body is seen whole from the back or the side
STOUT_PAIR = 0.7  # the same of two in a wheel or a tandem


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


STARTING_MODEL = UsabilityModel(  # set on readers' grades (docs/figures/focus.md)
    method="usability 3, starting weights",
    intercept=2.8,
    weights={"focus": 3.0, "size": 2.5, "view": 2.0, "exposure": 0.3, "framing": 1.0},
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
    pair: bool = False,
    span_px: float = 0.0,
    breadth: float = 0.0,
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
    pair : bool
        Whether a mating wheel or a tandem is seen; none is believed that is too stout for one.
    span_px : float
        Length of the insect with its wings, as its body's; less than that counts as no more.
    breadth : float
        Breadth of the body over its length, 0 where unknown.
    """
    pair = pair and is_pair(breadth)
    framing = CUT_BODY if body_cut else CUT_WINGS if wings_cut else 1.0
    framing *= min(1.0, _stoutest(pair) / max(breadth, SMALLEST_FACTOR))
    extent = insect_px * max(insect_px, span_px)  # squared: broad wings name a short animal
    view = sum(VIEW_VALUES[view] * share for view, share in views.items())
    return Factors(
        focus=focus,
        size=extent / (extent + EXTENT_AT_HALF_PX**2),
        view=max(view, PAIR_VALUE) if pair else view,
        exposure=exposure,
        framing=framing,
    )


def is_pair(breadth: float) -> bool:
    """Whether what is taken for a pair may be one: a face that fills the photo is stouter."""
    return breadth <= STOUT_PAIR


def is_stout(breadth: float, *, pair: bool) -> bool:
    """Whether a body is too stout to be seen whole from the back or the side."""
    return breadth > _stoutest(pair and is_pair(breadth))


def _stoutest(pair: bool) -> float:
    return STOUT_PAIR if pair else STOUT


def log_factors(factors: Factors) -> list[float]:
    """Natural logarithms in the order of ``FACTORS``, none below log 0.02."""
    return [math.log(max(SMALLEST_FACTOR, getattr(factors, name))) for name in FACTORS]


def usability(factors: Factors, *, odonate: float, model: UsabilityModel = STARTING_MODEL) -> float:
    """The chance, in [0, 1], that an expert can name the species from this photo alone.

    Parameters
    ----------
    factors : Factors
    odonate : float
        Chance that it shows an adult odonate at all; below one half it takes away in proportion.
    model : UsabilityModel
        The starting weights unless the survey has learned its own.

    Examples
    --------
    >>> best = Factors(focus=1, size=1, view=1, exposure=1, framing=1)
    >>> round(usability(best, odonate=1.0), 2)
    0.94
    """
    logs = zip(FACTORS, log_factors(factors), strict=True)
    score = model.intercept + sum(model.weights[name] * value for name, value in logs)
    return min(1.0, odonate / 0.5) / (1.0 + math.exp(-score))
