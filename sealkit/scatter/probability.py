"""Probability of failure from failures counted among builds, with its interval.

References
----------
[1] C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404 (from memory): the exact interval.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from sealkit.errors import fail

_FEW = 50  # failures (or builds that hold) below which the exact interval is taken


@dataclass(frozen=True)
class Probability:
    """A probability of failure and how sure it is."""

    # failed, count: builds that fail, and all builds
    failed: int
    count: int
    value: float  # estimate
    # low, high: interval that holds the true probability with the confidence
    low: float
    high: float
    confidence: float  # such as 0.95
    # weakest status of what was drawn, which the interval does not count; "" if not told
    inputs: str = ""

    def text(self) -> str:
        """In words, such as ``0.42 % (95 % sure with inputs invented: 0.30 to 0.54 %)``."""
        of = f" with inputs {self.inputs}" if self.inputs else ""
        sure = f"{100 * self.confidence:g} % sure{of}"
        if self.failed == 0:
            return f"none of {self.count:,} builds; under {_percent(self.high)} ({sure})"
        if self.failed == self.count:
            over = f"over {low}" if (low := _percent(self.low)) != "100 %" else "nearly 100 %"
            return f"all of {self.count:,} builds; {over} ({sure})"
        low = _percent(self.low).removesuffix(" %")
        return f"{_percent(self.value)} ({sure}: {low} to {_percent(self.high)})"

    def any_of(self, bores: int) -> Probability:
        """The same for one or more of so many bores, each for itself (`any_of`)."""
        low, value, high = (any_of(p, bores) for p in (self.low, self.value, self.high))
        return replace(self, low=low, value=value, high=high)


def any_of(probability: float, bores: int) -> float:
    """Probability that one or more of so many bores fail, each for itself: 1 - (1 - p)**n."""
    if isinstance(bores, bool) or not isinstance(bores, int) or bores < 1:
        raise fail("bores", bores, "a whole number from 1")
    return 1.0 if probability >= 1.0 else -math.expm1(bores * math.log1p(-probability))


def _percent(p: float) -> str:
    """A probability as a percentage with two figures, more near all or nothing."""
    percent = 100.0 * p
    edge = min(percent, 100.0 - percent)
    if edge < 5e-7:  # what six decimals do not tell from all or nothing
        return f"{percent:.0f} %"
    digits = min(max(1 - math.floor(math.log10(edge)), 0), 6)
    return f"{percent:.{digits}f} %"


def probability_of(failed: ArrayLike, counts: ArrayLike, confidence: float = 0.95) -> Probability:
    """Probability and interval from failures and builds in each of several independent scrambles.

    mean of the scrambles plus or minus t s/sqrt(R); with few failures (or few that hold) the exact
    binomial interval; with none, high = 1 - (1 - confidence)**(1/n)

    Exact interval: [1]; it counts the builds as independent draws. Interval of the scrambles:
    Student's t over independent replicates.

    Raises InputError for counts that do not fit or a confidence out of range.

    Parameters
    ----------
    failed, counts : builds that failed and all builds, one number for each scramble
    confidence : above 0 and below 1

    >>> print(probability_of([3, 5, 4, 4], [100] * 4).text())
    4.0 % (95 % sure: 2.3 to 6.4 %)
    """
    bad, all_ = (np.atleast_1d(np.asarray(x, dtype=float)) for x in (failed, counts))
    if not 0.0 < confidence < 1.0:
        raise fail("confidence", confidence, "a share above 0 and below 1")
    if bad.shape != all_.shape or np.any(bad < 0) or np.any(bad > all_) or all_.sum() < 1:
        raise fail("failed", f"{bad.sum():g} of {all_.sum():g}", "failures among builds")
    k, n = float(bad.sum()), float(all_.sum())
    p = k / n
    used = all_ > 0
    scrambles = int(used.sum())
    if min(k, n - k) < _FEW or scrambles < 2:
        low, high = _exact(k, n, confidence)
    else:
        from scipy.special import stdtrit

        weight = all_[used] / n
        rest = bad[used] / all_[used] - p
        error = math.sqrt(float(np.sum((weight * rest) ** 2)) * scrambles / (scrambles - 1))
        reach = float(stdtrit(scrambles - 1, 0.5 + confidence / 2)) * error
        low, high = max(p - reach, 0.0), min(p + reach, 1.0)
    return Probability(int(k), int(n), p, low, high, confidence)


def _exact(k: float, n: float, confidence: float) -> tuple[float, float]:
    from scipy.special import betaincinv

    tail = 1.0 - confidence
    if k == 0:
        return 0.0, 1.0 - tail ** (1.0 / n)
    if k == n:
        return float(tail ** (1.0 / n)), 1.0
    low = float(betaincinv(k, n - k + 1, tail / 2))
    return low, float(betaincinv(k + 1, n - k, 1.0 - tail / 2))
