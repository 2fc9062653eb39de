"""Straight-line fits over any window of samples, from running sums."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats

Indices = npt.NDArray[np.intp]


def _window(t: Floats, width_s: float) -> tuple[Indices, Indices]:
    """First and past-last sample within half a width of each sample."""
    half = 0.5 * width_s + 1e-6
    return np.searchsorted(t, t - half), np.searchsorted(t, t + half, side="right")


def _running(values: Floats) -> Floats:
    """Sum of all values before each place."""
    return np.concatenate([[0.0], np.cumsum(values)])


def sliding_mean(t: Floats, values: Floats, width_s: float) -> Floats:
    """Mean in a window centred on each sample.

    Args:
        t (n,): Increasing, in s.
        values (n,): Without NaN.
        width_s: Width of the window in s.

    Returns:
        Shape (n,).
    """
    first, last = _window(t, width_s)
    sums = _running(values)
    return np.asarray((sums[last] - sums[first]) / (last - first), dtype=np.float64)


def sliding_slope(t: Floats, values: Floats, width_s: float) -> Floats:
    """Slope of a fitted line in a window centred on each sample.

    Args:
        t (n,): Increasing, in s.
        values (n,): Without NaN.
        width_s: Width of the window in s.

    Returns:
        Shape (n,): Per second; infinite where the window holds fewer than three samples.
    """
    first, last = _window(t, width_s)
    slope, _ = ChannelSums(t, values, np.inf, np.inf).line(first, last)
    return np.where(last - first >= 3, slope, np.inf)


class ChannelSums:
    """Running sums of one channel, for line fits over any range of its samples.

    Args:
        t (n,): Increasing, in s.
        values (n,): Without NaN.
        drift, scatter: Tolerances on slope times duration and on the standard deviation about the
            line, in the unit of the values.
        slope: Tolerance on the slope itself, per second: the drift of a short range is small even
            in a steady climb.
    """

    def __init__(
        self, t: Floats, values: Floats, drift: float, scatter: float, slope: float = np.inf
    ) -> None:
        self.drift = drift
        self.scatter = scatter
        self.slope = slope
        self._t = t
        # centred, so that the differences of large sums keep their digits
        x = t - np.mean(t)
        y = values - np.mean(values)
        self._x, self._y = _running(x), _running(y)
        self._xx, self._xy, self._yy = _running(x * x), _running(x * y), _running(y * y)

    def line(self, first: Indices, last: Indices) -> tuple[Floats, Floats]:
        """Fit lines over sample ranges.

        Args:
            first, last (k,): Each range is from `first` up to, not including, `last`.

        Returns:
            Shape (k,): Slope per second and standard deviation about the line.
        """
        n = np.maximum(last - first, 1).astype(np.float64)
        sx = self._x[last] - self._x[first]
        sy = self._y[last] - self._y[first]
        sxx = self._xx[last] - self._xx[first] - sx * sx / n
        sxy = self._xy[last] - self._xy[first] - sx * sy / n
        syy = self._yy[last] - self._yy[first] - sy * sy / n
        slope = np.divide(sxy, sxx, out=np.zeros_like(sxy), where=sxx > 1e-9)
        rest = np.maximum(syy - slope * sxy, 0.0) / np.maximum(n - 2.0, 1.0)
        return slope, np.sqrt(rest)

    def within(self, first: Indices, last: Indices) -> npt.NDArray[np.bool_]:
        """Tell for each range whether drift and scatter are within tolerance.

        Args:
            first, last: Shape (k,).

        Returns:
            Shape (k,).
        """
        slope, scatter = self.line(first, last)
        duration = self._t[last - 1] - self._t[first]
        drift = np.abs(slope) * duration
        return (drift <= self.drift) & (np.abs(slope) <= self.slope) & (scatter <= self.scatter)
