"""A Weibull curve through interval-censored failures, where there are enough of them.

The share intact of what survived the making is exp(-(age / scale) ^ shape): a shape above 1 fails
more and more often with age, one below 1 less and less. Failures while making are a mass at 0 that
the curve leaves out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, expm1, inf, log, sqrt

from labbook.evidence.statistics.intervals import Interval, failed_while_making, latest
from labbook.evidence.statistics.refusal import Refusal

__all__ = ["Weibull", "weibull"]

LEAST_FAILED = 5
LEAST_INTERVALS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Weibull:
    """The fitted curve, for ages up to `until`, the last look.

    `scale` is the age by which 63 % of those that survived the making have failed, in the unit of
    the ages. `shape_error` and `scale_error` are standard errors of the *logarithms* of the two.
    `while_making` of `of` failed at 0.
    """

    shape: float
    scale: float
    shape_error: float
    scale_error: float
    log_likelihood: float
    of: int
    failed: int
    while_making: int
    until: float

    def intact(self, age: float) -> float | Refusal:
        """The share intact at an age, of all that were made."""
        if not 0 <= age <= self.until:
            return Refusal(f"{age:g} is not within what was watched, which ends at {self.until:g}")
        survived = 1 - self.while_making / self.of
        return float(survived * exp(-((age / self.scale) ** self.shape)))


def weibull(intervals: Iterable[Interval]) -> Weibull | Refusal:
    """The most probable Weibull curve of a group of batches, in any order.

    Refused below 5 batches that failed after the making in at least 3 different intervals, and
    where the looks leave no greatest likelihood.
    """
    every = tuple(intervals)
    later = [one for one in every if not failed_while_making(one)]
    failed = [one for one in later if one.failed]
    kinds = {(one.low, one.high) for one in failed}
    if len(failed) < LEAST_FAILED or len(kinds) < LEAST_INTERVALS:
        return Refusal(
            f"{len(failed)} failed after the making, in {len(kinds)} different intervals; a "
            f"Weibull curve takes at least {LEAST_FAILED} in at least {LEAST_INTERVALS}"
        )
    if max(one.low for one in later) <= min(one.high for one in failed if one.high is not None):
        return Refusal(
            "all failures could have come at one age, so that the steepest curve is always the "
            "most probable; looks closer together would tell"
        )
    unit = latest(later)
    found = _climb([_logs(one, unit) for one in later])
    if found is None:
        return Refusal(
            "the failures could all have come at once, before the first look at them, so that the "
            "flattest curve is always the most probable; earlier looks would tell"
        )
    (shape, shift), (level, *_), errors = found
    return Weibull(
        shape=shape,
        scale=unit * exp(-shift / shape),
        shape_error=errors[0],
        scale_error=errors[1],
        log_likelihood=level,
        of=len(every),
        failed=len(failed),
        while_making=len(every) - len(later),
        until=unit,
    )


def _logs(one: Interval, unit: float) -> tuple[float, float]:
    """Logarithms of the two ages; of 0 and of not yet, the infinities."""
    low = log(one.low / unit) if one.low else -inf
    return low, inf if one.high is None else log(one.high / unit)


def _climb(
    logs: Sequence[tuple[float, float]],
) -> tuple[tuple[float, float], tuple[float, ...], tuple[float, float]] | None:
    """Newton's steps up the log-likelihood in (shape, shift), where shift = -shape·log(scale).

    In these two the log-likelihood is concave (the double exponential's density is log-concave and
    the ends are linear in them), so that halved steps reach its top wherever there is one. None
    where it rises towards a shape of 0.
    """
    at = (1.0, 0.0)
    here = _likelihood(logs, at)
    for _ in range(200):
        level, g1, g2, h11, h12, h22 = here
        det = h11 * h22 - h12 * h12
        if not det > 0:
            return None
        step = ((h12 * g2 - h22 * g1) / det, (h12 * g1 - h11 * g2) / det)
        gain = step[0] * g1 + step[1] * g2
        if gain < 1e-18:
            return at, here, _errors(at, (-h11, -h12, -h22), det)
        size = 1.0
        while True:
            there = (at[0] + size * step[0], at[1] + size * step[1])
            then = _likelihood(logs, there) if there[0] > 0 else (-inf,) * 6
            if then[0] >= level + 1e-4 * size * gain:
                at, here = there, then
                break
            if gain < 1e-12 * (1 + abs(level)):  # what is left is rounding
                return at, here, _errors(at, (-h11, -h12, -h22), det)
            size /= 2
            if size < 1e-12:
                return None
    return None


def _likelihood(
    logs: Sequence[tuple[float, float]], at: tuple[float, float]
) -> tuple[float, float, float, float, float, float]:
    """The log-likelihood, its two slopes and its three curvatures."""
    shape, shift = at
    level = g1 = g2 = h11 = h12 = h22 = 0.0
    for low, high in logs:
        a = exp(min(shape * low + shift, 700.0)) if low > -inf else 0.0
        b = exp(min(shape * high + shift, 700.0)) if high < inf else inf
        one, da, db, daa, dab, dbb = _one(a, b)
        level += one
        # The chain rule: both ends move with the shape by their logarithm, with the shift by 1.
        u, v = (low if a else 0.0), (high if b < inf else 0.0)
        g1 += da * u + db * v
        g2 += da + db
        h11 += daa * u * u + 2 * dab * u * v + dbb * v * v
        h12 += daa * u + dab * (u + v) + dbb * v
        h22 += daa + 2 * dab + dbb
    return level, g1, g2, h11, h12, h22


def _one(a: float, b: float) -> tuple[float, float, float, float, float, float]:
    """log(exp(-a) - exp(-b)) with its first and second slopes in log a and log b."""
    if b == inf:
        return -a, -a, 0.0, -a, 0.0, 0.0
    if not b > a:
        return (-inf,) + (0.0,) * 5
    gap = b - a
    if gap > 500:
        return -a, -a, 0.0, -a, 0.0, 0.0
    r = 1 / expm1(gap)
    bend = r * (1 + r)
    return (
        log(-expm1(-gap)) - a,
        -a * (1 + r),
        b * r,
        -a * (1 + r) - a * a * bend,
        a * b * bend,
        b * r - b * b * bend,
    )


def _errors(
    at: tuple[float, float], information: tuple[float, float, float], det: float
) -> tuple[float, float]:
    """Standard errors of log shape and log scale, from the curvature at the top."""
    i11, i12, i22 = information
    shape, shift = at
    v11, v12, v22 = i22 / det, -i12 / det, i11 / det
    to_shape, to_shift = shift / shape**2, -1 / shape  # of log scale = -shift / shape
    scale = to_shape**2 * v11 + 2 * to_shape * to_shift * v12 + to_shift**2 * v22
    return sqrt(v11) / shape, sqrt(max(scale, 0.0))
