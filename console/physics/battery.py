"""What a current costs a battery: Peukert's law in its rated form, for one battery and for a shared bus.

The cost is a draw on the rated capacity, so that capacity divided by it is the time left. Temperature, ageing
and charging losses are not in here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence


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
        capacities: of each battery, all in one unit; only their shares count.
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
