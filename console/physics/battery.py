"""What a current and the cold cost a battery: Peukert's law in its rated form, a shared bus, temperature.

The cost of a current is a draw on the rated capacity, so that capacity divided by it is the time left. Ageing
and charging losses are not in here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from console.physics.constants import ZERO_CELSIUS_K

Curve = tuple[tuple[float, float], ...]
"""Pairs of temperature K and fraction of the rated capacity, rising in temperature."""


def discharge_time_s(current_a: float, capacity_a_s: float, rated_time_s: float, peukert: float) -> float:
    """How long a full battery gives a steady current, by Peukert's law as published.

    t = H (C / (I H))^k, with t the time s, H the rated time s, C the capacity A·s when emptied in H, I the
    current A and k the exponent. The rated current is C / H, and there t = H for every k.

    Source: W. Peukert, Elektrotechnische Zeitschrift 20, 1897 (from memory); rated form, common practice.
    Valid from the rated current up to a few times it. Below, the law is an extrapolation that promises more
    than the capacity: plan with ``effective_draw_a``, which gives no such credit. Without a current, or with
    the battery being charged, it never empties: infinity.

    >>> round(discharge_time_s(10.0, 100.0 * 3600, 20.0 * 3600, 1.2) / 3600, 4)
    8.7055
    """
    if current_a <= 0.0:
        return math.inf
    return rated_time_s * math.pow(capacity_a_s / (current_a * rated_time_s), peukert)


def effective_draw_a(current_a: float, rated_current_a: float, peukert: float) -> float:
    """The draw on the rated capacity that a current amounts to; never less than the current itself.

    I_eff = I max(1, (I / I_r)^(k - 1)), with I the current A, I_r the current A at which the capacity was
    rated and k the Peukert exponent. It is C / t of ``discharge_time_s`` wherever I is at least I_r.

    Source: Peukert's law solved for C / t; the bound at 1 is our own and conservative: below the rated
    current the law is an extrapolation, and what it would add to the capacity nobody has measured. Valid for
    k of 1 or more; below 1 nothing is corrected, nor where the rated current is infinity, which stands for
    one that is not known. A current of zero or below (charging) costs what it is: losses of charging are
    the plan's to say.

    >>> round(effective_draw_a(10.0, 5.0, 1.2), 4), effective_draw_a(2.0, 5.0, 1.2)
    (11.487, 2.0)
    """
    if current_a <= rated_current_a or current_a <= 0.0:
        return current_a
    return current_a * max(1.0, math.pow(current_a / rated_current_a, peukert - 1.0))


def bank_draw_a(
    total_a: float, capacities: Sequence[float], rated_a: Sequence[float], exponents: Sequence[float]
) -> float:
    """The effective draw of batteries that share one bus current in proportion to their capacity.

    sum over batteries i of I_eff(I C_i / sum C), with I the bus current A and C_i the capacities.

    Args:
        total_a: current of the bus, A.
        capacities: of each battery, all in one unit, or measured shares; only their ratios count.
        rated_a: the current at which each was rated, A; infinity where it is not known.
        exponents: Peukert exponent of each.

    Source: ``effective_draw_a``; sharing by capacity is common practice, no source. Batteries of one make at
    one state of charge share so; a weak one gives less, and then the others give more than is reckoned here.
    Where exponents differ, the battery with the highest one empties before the sum says.

    Raises:
        ValueError: there is no battery with a capacity, or the sequences differ in length.

    >>> round(bank_draw_a(40.0, [100.0, 300.0], [5.0, 15.0], [1.2, 1.2]), 3)
    45.948
    """
    whole = math.fsum(capacities)
    if not whole > 0.0:
        raise ValueError(
            f"a bank of capacity {whole} cannot share a current; give each battery a capacity above 0"
        )
    return math.fsum(
        effective_draw_a(total_a * capacity / whole, rated_current_a, peukert)
        for capacity, rated_current_a, peukert in zip(capacities, rated_a, exponents, strict=True)
    )


def bank_empties_s(
    total_a: float,
    gives_a_s: Sequence[float],
    shares: Sequence[float],
    rated_a: Sequence[float],
    exponents: Sequence[float],
) -> tuple[float, ...]:
    """When each battery of a bank has given all it can, while the bus goes on drawing a steady current.

    Stage by stage: each battery gives its share of the current and loses I_eff of that; the first that is
    empty drops out, and its part is spread over the others in proportion to their shares. The last of these
    moments is the end of the bank.

    Args:
        total_a: current of the bus, A.
        gives_a_s: what each battery holds above its residual, A·s.
        shares: of each, in any unit; only their ratios count. Where those that are left have none, they share
            by what they still hold.
        rated_a: the current at which each was rated, A; infinity where it is not known.
        exponents: Peukert exponent of each.

    Source: ``effective_draw_a`` on each stage; that the rest carry the part of an empty battery is the
    parallel circuit. Valid for a steady current and fixed shares; true shares drift as batteries empty. A bus
    that draws nothing empties none: infinity.

    Raises:
        ValueError: the sequences differ in length.

    >>> [round(end_s, 1) for end_s in bank_empties_s(10.0, [100.0, 300.0], [1, 1], [99.0, 99.0], [1.0, 1.0])]
    [20.0, 40.0]
    """
    cells = list(zip(gives_a_s, shares, rated_a, exponents, strict=True))
    left = [max(gives, 0.0) for gives, _, _, _ in cells]
    ends = [0.0 if held <= 0.0 else math.inf for held in left]
    now_s = 0.0
    while total_a > 0.0 and any(held > 0.0 for held in left):
        weights = [share if held > 0.0 else 0.0 for (_, share, _, _), held in zip(cells, left, strict=True)]
        if not math.fsum(weights) > 0.0:
            weights = left
        whole = math.fsum(weights)
        draws = [
            effective_draw_a(total_a * weight / whole, rated, exponent)
            for weight, (_, _, rated, exponent) in zip(weights, cells, strict=True)
        ]
        spans = [held / draw if draw > 0.0 else math.inf for held, draw in zip(left, draws, strict=True)]
        span_s = min(span for span, held in zip(spans, left, strict=True) if held > 0.0)
        now_s += span_s
        for index, span in enumerate(spans):
            if left[index] > 0.0 and span <= span_s:
                left[index], ends[index] = 0.0, now_s
            elif left[index] > 0.0:
                left[index] -= draws[index] * span_s
                if left[index] <= 0.0:  # what rounding leaves of two that end together
                    ends[index] = now_s
    return tuple(ends)


def bank_lasts_s(
    total_a: float,
    gives_a_s: Sequence[float],
    shares: Sequence[float],
    rated_a: Sequence[float],
    exponents: Sequence[float],
) -> float:
    """How long a bank gives a steady current, the emptied batteries' parts carried by the others.

    The last of ``bank_empties_s``, which has the arguments, the source and the range. Never later than what
    all hold over ``bank_draw_a`` where all batteries have one exponent and currents rated by their share:
    fewer batteries carry the same current at a higher rate.

    >>> bank_lasts_s(10.0, [100.0, 300.0], [1.0, 1.0], [99.0, 99.0], [1.0, 1.0])
    40.0
    """
    return max(bank_empties_s(total_a, gives_a_s, shares, rated_a, exponents), default=0.0)


def capacity_fraction(curve: Curve, temperature_k: float) -> float:
    """The fraction of its rated capacity that a battery can give at a temperature.

    Straight lines between the points of the curve, held at its two ends: above the warmest point there is no
    more to gain, and below the coldest the curve says nothing, so that what is returned there is too much
    (``is_below_curve`` tells). Never above the curve's own highest fraction. No curve corrects nothing: 1.

    Source: interpolation, no source; the curve is the maker's or one of ``CAPACITY_CURVES``.

    Raises:
        ValueError: the temperature is not above absolute zero.

    >>> round(capacity_fraction(((273.15, 0.8), (298.15, 1.0)), 283.15), 3)
    0.88
    """
    if not temperature_k > 0.0:
        raise ValueError(f"temperature of {temperature_k} K; it must be above 0 K")
    if not curve:
        return 1.0
    if temperature_k <= curve[0][0]:
        return curve[0][1]
    for (cold_k, cold), (warm_k, warm) in pairwise(curve):
        if temperature_k <= warm_k:
            return cold + (warm - cold) * (temperature_k - cold_k) / (warm_k - cold_k)
    return curve[-1][1]


def is_below_curve(curve: Curve, temperature_k: float) -> bool:
    """Whether it is colder than the curve goes, so that its cold end promises more than anybody measured.

    >>> is_below_curve(((273.15, 0.8), (298.15, 1.0)), 268.15)
    True
    """
    return bool(curve) and temperature_k < curve[0][0]


def lead_acid_cell_factor(temperature_k: float) -> float:
    """By how much larger a lead-acid cell must be chosen for a temperature than for 25 °C.

    F = -2.8117 x³ + 4.1916 x² - 2.4941 x + 1.4054, with x the electrolyte's temperature in °C over 100.

    Source: published fit to the temperature correction factors of IEEE Std 485 (second hand; that x is
    °C / 100 is inferred from its values, which it then gives: 10 °C 1.195, 25 °C 1.000, 32.2 °C 0.943). Valid
    from -4 to 50 °C, about what the standard's table spans (from memory).

    >>> round(lead_acid_cell_factor(283.15), 3), round(lead_acid_cell_factor(298.15), 3)
    (1.195, 1.0)
    """
    x = (temperature_k - ZERO_CELSIUS_K) / 100.0
    return ((-2.8117 * x + 4.1916) * x - 2.4941) * x + 1.4054


def _lead_acid_curve() -> Curve:
    """1 / F every 2 K, within 2e-4 of the fit between the points; no credit for what is warmer than 25 °C."""
    celsius = (-4.0, *(2.0 * step for step in range(-1, 13)), 25.0)
    temperatures_k = [ZERO_CELSIUS_K + degrees for degrees in celsius]
    return tuple((kelvin, min(1.0, 1.0 / lead_acid_cell_factor(kelvin))) for kelvin in temperatures_k)


CAPACITY_CURVES: Final[Mapping[str, Curve]] = MappingProxyType({"lead_acid": _lead_acid_curve()})
"""Named curves of capacity by temperature. ``lead_acid``: 1 / ``lead_acid_cell_factor`` from -4 to 25 °C."""
