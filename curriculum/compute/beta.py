"""The beta distribution: how sure one may be of a chance after a few successes and failures.

Cumulative distribution: the regularised incomplete beta function by its continued fraction (NIST Digital Library of
Mathematical Functions, equation 8.17.22 with the symmetry 8.17.4; recalled, not read here), evaluated by the modified
method of Lentz. Quantiles by bisection. Held to a published table of the F distribution in tests/published.
"""

from __future__ import annotations

import math
from functools import lru_cache

_TINY = 1e-300
_CLOSE = 1e-15
_HALVINGS = 80


def beta_cdf(x: float, a: float, b: float) -> float:
    """The probability that a chance with the distribution Beta(a, b) is at most `x`; a and b above 0."""
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1 - beta_cdf(1 - x, b, a)
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    return math.exp(log_front) / (a * _fraction(x, a, b))


@lru_cache(maxsize=50_000)
def beta_quantile(probability: float, a: float, b: float) -> float:
    """The value that a chance with the distribution Beta(a, b) stays below with this probability, to 1e-12."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if beta_cdf(middle, a, b) < probability:
            low = middle
        else:
            high = middle
        if high - low < 1e-13:
            break
    return (low + high) / 2


def _fraction(x: float, a: float, b: float) -> float:
    """1 + d₁/(1 + d₂/(1 + …)) of DLMF 8.17.22."""
    value, c, d = 1.0, 1.0, 0.0
    for step in range(1, 1000):
        term = _term(step, x, a, b)
        d = 1 / _not_zero(1 + term * d)
        c = _not_zero(1 + term / c)
        value *= c * d
        if abs(c * d - 1) < _CLOSE:
            break
    return value


def _term(step: int, x: float, a: float, b: float) -> float:
    m = step // 2
    if step % 2:
        return -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
    return m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))


def _not_zero(number: float) -> float:
    return number if abs(number) > _TINY else _TINY
