"""What a battery holds, from counted charge and a gauge together: a two-state Kalman filter.

The states are the level and the bias of the current sensor, so that an offset which counting alone would add
up for days is found and taken out. Nothing in here knows a channel or a clock.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from console.physics.battery import effective_draw_a


@dataclass(frozen=True, kw_only=True, slots=True)
class ChargeState:
    """Level and sensor bias with their covariance, at one moment."""

    level_a_s: float
    bias_a: float
    """What the current sensor shows above the true current."""
    level_variance_a2_s2: float
    covariance_a2_s: float
    """Of level and bias."""
    bias_variance_a2: float

    @property
    def level_sd_a_s(self) -> float:
        """One standard deviation of the level."""
        return math.sqrt(self.level_variance_a2_s2)

    @property
    def bias_sd_a(self) -> float:
        """One standard deviation of the bias."""
        return math.sqrt(self.bias_variance_a2)


@dataclass(frozen=True, kw_only=True, slots=True)
class Innovation:
    """What a gauge says above what the filter expected, and the variance that this should have."""

    difference_a_s: float
    variance_a2_s2: float

    @property
    def in_sd(self) -> float:
        """The difference in standard deviations: a standard normal number where the model holds."""
        return self.difference_a_s / math.sqrt(self.variance_a2_s2)


def started(level_a_s: float, level_sd_a_s: float, bias_sd_a: float) -> ChargeState:
    """The state at the first look: the gauge's level, and a bias of which only the size is known.

    >>> started(3600.0, 60.0, 0.5).bias_a
    0.0
    """
    return ChargeState(
        level_a_s=level_a_s,
        bias_a=0.0,
        level_variance_a2_s2=level_sd_a_s**2,
        covariance_a2_s=0.0,
        bias_variance_a2=bias_sd_a**2,
    )


def predicted(
    state: ChargeState,
    current_a: float,
    dt_s: float,
    current_sd_a: float,
    bias_drift_a2_per_s: float = 0.0,
    rated_current_a: float = math.inf,
    peukert: float = 1.0,
) -> ChargeState:
    """The state after some seconds of a measured current.

    x1 = x - I_eff(i - b) t,  b1 = b,  P1 = F P F' + Q,  F = [[1, s t], [0, 1]], with x the level A·s, b the
    bias A, i the measured mean current A, I_eff the draw on the rated capacity (``effective_draw_a``), s its
    slope, t the time s, and Q = [[(s t)² σ² + q s² t³ / 3, q s t² / 2], [q s t² / 2, q t]].

    Args:
        state: before.
        current_a: what the sensor showed, on average over the time.
        dt_s: how long; not negative.
        current_sd_a: σ, the error of that average that is new each time (display step, sampling).
        bias_drift_a2_per_s: q, by how much the bias wanders.
        rated_current_a: at which the capacity was rated; infinity where the rate does not matter.
        peukert: the exponent.

    Source: R. E. Kalman, J. Basic Eng. 82, 1960 (from memory); Q as for a level whose rate wanders, Y.
    Bar-Shalom and others, Estimation with Applications to Tracking and Navigation, 2001 (from memory). Valid
    for errors that are small beside the current: the slope is taken at the estimate.

    Raises:
        ValueError: the time is negative.

    >>> predicted(started(3600.0, 60.0, 0.5), 2.0, 600.0, 0.0).level_a_s
    2400.0
    """
    if not dt_s >= 0.0:
        raise ValueError(f"a step of {dt_s} s; time must not go back")
    true_a = current_a - state.bias_a
    slope = _slope(true_a, rated_current_a, peukert)
    gain = slope * dt_s
    drift = bias_drift_a2_per_s
    return ChargeState(
        level_a_s=state.level_a_s - effective_draw_a(true_a, rated_current_a, peukert) * dt_s,
        bias_a=state.bias_a,
        level_variance_a2_s2=(
            state.level_variance_a2_s2
            + 2.0 * gain * state.covariance_a2_s
            + gain**2 * state.bias_variance_a2
            + (gain * current_sd_a) ** 2
            + drift * slope**2 * dt_s**3 / 3.0
        ),
        covariance_a2_s=(
            state.covariance_a2_s + gain * state.bias_variance_a2 + drift * slope * dt_s**2 / 2.0
        ),
        bias_variance_a2=state.bias_variance_a2 + drift * dt_s,
    )


def _slope(current_a: float, rated_current_a: float, peukert: float) -> float:
    """How much the effective draw rises with the current: k (I / I_r)^(k - 1) above the rated one, else 1."""
    if current_a <= rated_current_a or current_a <= 0.0 or peukert <= 1.0:
        return 1.0
    return peukert * math.pow(current_a / rated_current_a, peukert - 1.0)


def innovation(state: ChargeState, gauge_a_s: float, gauge_sd_a_s: float) -> Innovation:
    """What a gauge says beside what is expected, before it is let in.

    >>> innovation(started(3600.0, 30.0, 0.5), 3650.0, 40.0).in_sd
    1.0
    """
    return Innovation(
        difference_a_s=gauge_a_s - state.level_a_s,
        variance_a2_s2=state.level_variance_a2_s2 + gauge_sd_a_s**2,
    )


def updated(state: ChargeState, gauge_a_s: float, gauge_sd_a_s: float) -> ChargeState:
    """The state after a gauge was read.

    K = P H' / (H P H' + R), x1 = x + K (z - H x), P1 = (1 - K H) P (1 - K H)' + K R K' (Joseph's form, which
    stays positive whatever rounding does), with H = [1, 0] and R = sd² + step²/12 the gauge's own variance, z
    what it says. Because level and bias move together, a gauge that keeps saying more than was counted tells
    that the sensor shows too much.

    Args:
        state: before.
        gauge_a_s: z.
        gauge_sd_a_s: √R, display step included; above 0, or the level must not be exactly known.

    Source: as ``predicted``. Valid for errors that are independent from one reading to the next; readings
    that share an error must be given a larger R by the caller.

    Raises:
        ValueError: neither the level nor the gauge has an error.

    >>> after = updated(started(3600.0, 30.0, 0.5), 3650.0, 40.0)
    >>> after.level_a_s, after.level_sd_a_s
    (3618.0, 24.0)
    """
    noise = gauge_sd_a_s**2
    whole = state.level_variance_a2_s2 + noise
    if not whole > 0.0:
        raise ValueError("neither the level nor the gauge has an error; one of them must")
    k_level = state.level_variance_a2_s2 / whole
    k_bias = state.covariance_a2_s / whole
    difference = gauge_a_s - state.level_a_s
    kept = 1.0 - k_level
    p, c, v = state.level_variance_a2_s2, state.covariance_a2_s, state.bias_variance_a2
    level_variance = kept**2 * p + k_level**2 * noise
    covariance = kept * (c - k_bias * p) + k_level * k_bias * noise
    # Where level and bias are one but for rounding, the difference of large numbers must not fall below this.
    least = covariance**2 / level_variance if level_variance > 0.0 else 0.0
    return ChargeState(
        level_a_s=state.level_a_s + k_level * difference,
        bias_a=state.bias_a + k_bias * difference,
        level_variance_a2_s2=level_variance,
        covariance_a2_s=covariance,
        bias_variance_a2=max(v - 2.0 * k_bias * c + k_bias**2 * (p + noise), least),
    )


def inflated(state: ChargeState, level_sd_a_s: float) -> ChargeState:
    """The state after something happened to the level that nobody counted, of about this size.

    >>> inflated(started(3600.0, 30.0, 0.5), 40.0).level_sd_a_s
    50.0
    """
    return ChargeState(
        level_a_s=state.level_a_s,
        bias_a=state.bias_a,
        level_variance_a2_s2=state.level_variance_a2_s2 + level_sd_a_s**2,
        covariance_a2_s=state.covariance_a2_s,
        bias_variance_a2=state.bias_variance_a2,
    )
