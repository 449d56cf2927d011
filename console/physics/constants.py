"""Numbers of nature and of definition that the physics uses, each with its meaning and source.

In the order exact, derived, measured. What belongs to one relation alone stands beside that relation.
"""

from __future__ import annotations

from typing import Final

# Exact: fixed by definition.

GAS_CONSTANT_J_PER_MOL_K: Final = 8.31446261815324
"""Molar gas constant; exact since the SI of 2019 (BIPM, The International System of Units, 9th ed.)."""

STANDARD_GRAVITY_M_PER_S2: Final = 9.80665
"""Standard acceleration of free fall, which turns specific impulse into exhaust velocity (3rd CGPM, 1901)."""

STANDARD_ATMOSPHERE_PA: Final = 101_325.0
"""Standard atmosphere (10th CGPM, 1954)."""

ZERO_CELSIUS_K: Final = 273.15
"""Zero of the Celsius scale on the kelvin scale (BIPM, The International System of Units, 9th ed.)."""

SECONDS_PER_MINUTE: Final = 60.0
SECONDS_PER_HOUR: Final = 3_600.0

# Derived: arithmetic on the exact ones.

MOLAR_VOLUME_AT_0_C_M3_PER_MOL: Final = GAS_CONSTANT_J_PER_MOL_K * ZERO_CELSIUS_K / STANDARD_ATMOSPHERE_PA
"""One mole of ideal gas at 0 °C and 101.325 kPa, dry: the volume in which physiology states gas (STPD)."""

# Measured: conventional atomic weights, CIAAW 2021 (from memory); good to their last digit.

HYDROGEN_KG_PER_MOL: Final = 1.008e-3
LITHIUM_KG_PER_MOL: Final = 6.94e-3
"""The least sure of them: lithium in trade is 6.938 to 6.997 by origin."""
CARBON_KG_PER_MOL: Final = 12.011e-3
NITROGEN_KG_PER_MOL: Final = 14.007e-3
OXYGEN_KG_PER_MOL: Final = 15.999e-3
CALCIUM_KG_PER_MOL: Final = 40.078e-3

OXYGEN_GAS_KG_PER_MOL: Final = 2.0 * OXYGEN_KG_PER_MOL
"""O2, 31.998 g/mol."""
NITROGEN_GAS_KG_PER_MOL: Final = 2.0 * NITROGEN_KG_PER_MOL
"""N2, 28.014 g/mol."""
CARBON_DIOXIDE_KG_PER_MOL: Final = CARBON_KG_PER_MOL + 2.0 * OXYGEN_KG_PER_MOL
"""CO2, 44.009 g/mol."""
WATER_KG_PER_MOL: Final = 2.0 * HYDROGEN_KG_PER_MOL + OXYGEN_KG_PER_MOL
"""H2O, 18.015 g/mol."""
HYDROXIDE_KG_PER_MOL: Final = OXYGEN_KG_PER_MOL + HYDROGEN_KG_PER_MOL
"""The group OH, 17.007 g/mol."""
DRY_AIR_KG_PER_MOL: Final = 28.965e-3
"""Dry air, 28.965 g/mol (ISO 2533 standard atmosphere: 28.964 420; from memory)."""
