"""The rocket equation both ways: what velocity the propellant still gives, and what a velocity costs.

Impulsive and in free space: gravity and steering losses belong to whoever states the velocity that is due.
"""

from __future__ import annotations

import math


def delta_v_m_per_s(propellant_kg: float, dry_mass_kg: float, exhaust_velocity_m_per_s: float) -> float:
    """Change of velocity that the propellant aboard still gives.

    dv = v_e ln((m_d + m_p) / m_d), with v_e the effective exhaust velocity m/s, m_d the mass kg of the craft
    without that propellant and m_p the usable propellant kg.

    Source: Tsiolkovsky's equation; OpenStax College Physics ch. 8 (read at second hand). Valid for any mass
    ratio while speeds stay far below light. No propellant, or less than none, gives exactly 0.

    >>> round(delta_v_m_per_s(3500.0, 500.0, 2000.0), 2)
    4158.88
    """
    if propellant_kg <= 0.0:
        return 0.0
    return exhaust_velocity_m_per_s * math.log1p(propellant_kg / dry_mass_kg)


def propellant_for_delta_v_kg(
    delta_v_due_m_per_s: float, mass_before_kg: float, exhaust_velocity_m_per_s: float
) -> float:
    """Propellant that a change of velocity costs, from the mass at which the burn begins.

    m = m_0 (1 - exp(-dv / v_e)), with m_0 the mass kg of the craft with all its propellant, dv the change of
    velocity m/s and v_e the effective exhaust velocity m/s.

    Source: Tsiolkovsky's equation solved for mass. Valid as ``delta_v_m_per_s``. It does not ask whether so
    much is aboard: a result above the usable propellant means that the burn cannot be made. No change of
    velocity costs nothing: 0.

    >>> round(propellant_for_delta_v_kg(4158.883, 4000.0, 2000.0), 2)
    3500.0
    """
    if delta_v_due_m_per_s <= 0.0:
        return 0.0
    return -mass_before_kg * math.expm1(-delta_v_due_m_per_s / exhaust_velocity_m_per_s)
