"""Statistics on a circle, for dates: the last day of the year lies beside the first.

Mean direction and mean resultant length of weighted angles, the von Mises distribution, and its concentration from a
mean resultant length. Angles in radians.
Source: K. V. Mardia and P. E. Jupp, Directional Statistics (2000), chapters 2, 3 and 5 (recalled, not read here); the
results are held to worked examples of S. R. Jammalamadaka and A. SenGupta, Topics in Circular Statistics (2001), and
of J. C. Davis (1986), in tests/published.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

TURN = 2 * math.pi
_STEPS = 200
_SMALL = 1e-16
_SERIES_TO = 30.0


def mean_direction(angles: Sequence[float], weights: Sequence[float]) -> float:
    """The direction of the weighted vector sum, from 0 up to 2π; ValueError where the vectors cancel out."""
    cosine, sine = _vector_sum(angles, weights)
    if math.hypot(cosine, sine) <= 1e-12 * sum(weights):
        raise ValueError("Directions that cancel out have no mean.")
    return math.atan2(sine, cosine) % TURN


def resultant_length(angles: Sequence[float], weights: Sequence[float]) -> float:
    """The mean resultant length, from 0 (spread all round, or cancelling out) to 1 (all in one direction)."""
    return math.hypot(*_vector_sum(angles, weights)) / sum(weights)


def concentration(resultant: float) -> float:
    """κ of the von Mises distribution with this mean resultant length: the root of I₁(κ) / I₀(κ) = R, 0 <= R < 1.

    By Newton's method from the approximation R(2 − R²) / (1 − R²). This is the maximum-likelihood estimate, without
    the correction for small samples.
    """
    if not 0 <= resultant < 1:
        raise ValueError("A mean resultant length with a concentration lies from 0 up to, but below, 1.")
    kappa = resultant * (2 - resultant**2) / (1 - resultant**2)
    for _ in range(50):
        ratio = bessel_ratio(kappa)
        slope = 1 - ratio**2 - (ratio / kappa if kappa else 0.5)
        step = (ratio - resultant) / slope
        kappa -= step
        if abs(step) <= 1e-12 * max(1.0, kappa):
            break
    return kappa


def bessel_ratio(kappa: float) -> float:
    """I₁(κ) / I₀(κ), the mean resultant length of a von Mises distribution, by its continued fraction."""
    if kappa == 0:
        return 0.0
    ratio = 0.0
    for order in range(int(_STEPS + 2 * kappa), 0, -1):
        ratio = 1 / (2 * order / kappa + ratio)
    return ratio


def von_mises(angle: float, mean: float, kappa: float) -> float:
    """The density per radian at `angle`."""
    return math.exp(kappa * (math.cos(angle - mean) - 1)) / (TURN * _scaled_i0(kappa))


def _vector_sum(angles: Sequence[float], weights: Sequence[float]) -> tuple[float, float]:
    pairs = tuple(zip(angles, weights, strict=True))
    cosine = math.fsum(weight * math.cos(angle) for angle, weight in pairs)
    return cosine, math.fsum(weight * math.sin(angle) for angle, weight in pairs)


def _scaled_i0(kappa: float) -> float:
    """I₀(κ)·exp(−κ): by its power series, from 30 on by its asymptotic one (relative error below 1e-10)."""
    if kappa > _SERIES_TO:
        return _asymptotic_i0(kappa)
    total = term = 1.0
    for order in range(1, _STEPS):
        term *= (kappa / (2 * order)) ** 2
        total += term
        if term < _SMALL * total:
            break
    return total * math.exp(-kappa)


def _asymptotic_i0(kappa: float) -> float:
    total = term = 1.0
    for order in range(1, 12):
        term *= (2 * order - 1) ** 2 / (8 * order * kappa)
        total += term
    return total / math.sqrt(TURN * kappa)
