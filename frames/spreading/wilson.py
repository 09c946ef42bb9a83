"""Confidence interval of a chance from m successes in n trials.

The values p for which |p̂ - p| <= z √(p (1 - p)/n), p̂ = m/n:

    p = [p̂ + z²/2n ± z √(p̂ (1 - p̂)/n + z²/4n²)] / (1 + z²/n)

It stays within 0 to 1 and has a width also for no success and no failure.
Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212.
"""

from math import sqrt

from scipy.special import ndtri


def wilson(met: int, trials: int, confidence: float = 0.95) -> tuple[float, float]:
    """Low and high end. Raises ValueError unless 0 <= met <= trials, trials > 0."""
    if not 0 <= met <= trials or trials <= 0:
        raise ValueError(f"{met} successes in {trials} trials: there must be trials")
    z, p = float(ndtri(0.5 + 0.5 * confidence)), met / trials
    square = z * z / trials
    middle = p + 0.5 * square
    half = z * sqrt(p * (1.0 - p) / trials + 0.25 * square / trials)
    low, high = (middle - half) / (1.0 + square), (middle + half) / (1.0 + square)
    return (0.0 if met == 0 else low), (1.0 if met == trials else high)
