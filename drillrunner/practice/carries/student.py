"""Student's t and chi-squared for whole degrees of freedom, without numpy. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache


def student_cdf(t: float, free: int) -> float:
    """Student's t distribution for a whole number of degrees of freedom.

    The closed form for whole degrees of freedom: Abramowitz & Stegun, 26.7.3 and 26.7.4 (from
    memory; the tests check it against published quantiles and SciPy).
    """
    angle = math.atan2(t, math.sqrt(free))
    cosine, sine = math.cos(angle), math.sin(angle)
    term = total = cosine if free % 2 else 1.0
    for k in range(3 if free % 2 else 2, free - 1, 2):
        term *= cosine * cosine * (k - 1) / k
        total += term
    if free == 1:
        middle = 2 * angle / math.pi
    elif free % 2:
        middle = 2 / math.pi * (angle + sine * total)
    else:
        middle = sine * total
    return (1 + middle) / 2


@lru_cache
def student_quantile(p: float, free: int) -> float:
    """The point below which Student's t lies with chance p, 0.5 <= p < 1."""
    return _solve(lambda t: student_cdf(t, free), p, 1e6)


@lru_cache
def chi2_quantile(p: float, free: int) -> float:
    """The point below which chi-squared lies with chance p."""
    return _solve(lambda x: _gamma_share(free / 2, x / 2), p, 1e3)


def _gamma_share(a: float, x: float) -> float:
    """The regularised lower incomplete gamma function, by its series."""
    if x <= 0:
        return 0.0
    term = total = 1 / a
    k = 1
    while term > total * 1e-16:
        term *= x / (a + k)
        total += term
        k += 1
    return min(total * math.exp(a * math.log(x) - x - math.lgamma(a)), 1.0)


def _solve(rising: Callable[[float], float], target: float, high: float) -> float:
    """Where a rising function of 0 to `high` reaches the target, by halving."""
    low = 0.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < target else (low, middle)
    return (low + high) / 2


def digamma(x: float) -> float:
    """The derivative of log gamma, x > 0: raised past 6, then its asymptotic series.

    Abramowitz & Stegun, 6.3.5 and 6.3.18 (from memory; the tests check it against SciPy).
    """
    low = 0.0
    while x < 6:
        low -= 1 / x
        x += 1
    square = 1 / (x * x)
    series = square * (1 / 12 - square * (1 / 120 - square * (1 / 252 - square / 240)))
    return low + math.log(x) - 0.5 / x - series


def trigamma(x: float) -> float:
    """The derivative of digamma, x > 0. Abramowitz & Stegun, 6.4.6 and 6.4.12 (from memory)."""
    low = 0.0
    while x < 8:
        low += 1 / (x * x)
        x += 1
    square = 1 / (x * x)
    series = square * (1 / 6 - square * (1 / 30 - square * (1 / 42 - square / 30)))
    return low + 1 / x + square / 2 + series / x
