"""The cabin as one lumped node: what it stores, what its hull loses, where its temperature goes.

All of it at one temperature; gradients, walls that cool before the air, and radiation by its fourth power are
not in here.
"""

from __future__ import annotations

import numpy as np

from console.physics.first_order import Floats


def warming_k_per_s(
    heat_w: Floats | float,
    heat_capacity_j_per_k: float,
    conductance_w_per_k: float,
    outside_k: Floats | float,
) -> Floats:
    """The steady gain of the node's temperature: the part of its balance that does not depend on it.

    dT/dt = g - T / tau with g = (Q + G To) / C and tau = C / G: Q the heat W, G the conductance W/K, To the
    temperature outside K, C the heat capacity J/K. ``console.physics.first_order`` solves it.

    Source: energy balance of a lumped node (Incropera and DeWitt, chapter on transient conduction, from
    memory). Valid while what is inside is at nearly one temperature. People's whole metabolic heat belongs
    into Q where their vapour condenses inside.

    >>> round(float(warming_k_per_s(1000.0, 1e6, 0.0, 250.0)) * 3600, 3)
    3.6
    """
    gain: Floats = np.asarray((heat_w + conductance_w_per_k * outside_k) / heat_capacity_j_per_k, dtype=float)
    return gain


def loss_per_s(heat_capacity_j_per_k: float, conductance_w_per_k: float) -> float:
    """The inverse of the node's time constant, G / C, with the symbols of ``warming_k_per_s``.

    Source: as there. Valid for G not below 0; 0 for a hull that loses nothing.

    >>> round(1 / loss_per_s(900e3, 40.0) / 3600, 2)
    6.25
    """
    return conductance_w_per_k / heat_capacity_j_per_k


def equilibrium_k(heat_w: float, conductance_w_per_k: float, outside_k: float) -> float:
    """The temperature at which the hull loses what is put in.

    T = To + Q / G, with the symbols of ``warming_k_per_s``. Source: as there. Infinite where the hull loses
    nothing and there is heat, and the temperature outside where there is none.

    >>> equilibrium_k(800.0, 40.0, 270.0)
    290.0
    """
    if conductance_w_per_k == 0.0:
        return outside_k if heat_w == 0.0 else float(np.copysign(np.inf, heat_w))
    return outside_k + heat_w / conductance_w_per_k
