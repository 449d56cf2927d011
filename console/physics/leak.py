"""What a cabin loses through its leaks, in proportion to its pressure.

One leak rated at one pressure; holes of known size and leaks into another atmosphere are not in here.
"""

from __future__ import annotations


def leak_kg_per_s(
    leak_at_reference_kg_per_s: float, cabin_pressure_pa: float, reference_pressure_pa: float
) -> float:
    """The leak at the present pressure, from the leak at the pressure at which it was rated.

    m' = m'_ref p / p_ref, with m' the mass rate kg/s and p the cabin's absolute pressure Pa.

    Source: flow through small openings into vacuum is choked, and choked flow is in proportion to the
    pressure upstream at one temperature (common practice, no source). Valid into vacuum, or into an outside
    pressure below about half the cabin's; nearer to the outside pressure the true leak is less. The part of
    temperature, 1/sqrt(T), is left out: some 2 % over 10 K. A pressure of 0 or below leaks nothing: 0.

    Raises:
        ValueError: the reference pressure is not above 0.

    >>> leak_kg_per_s(1e-5, 17250.0, 34500.0)
    5e-06
    """
    if not reference_pressure_pa > 0.0:
        raise ValueError(
            f"a leak rated at {reference_pressure_pa} Pa; give the pressure above 0 at which it was rated"
        )
    return leak_at_reference_kg_per_s * max(cabin_pressure_pa, 0.0) / reference_pressure_pa
