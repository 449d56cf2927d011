"""How amounts, rates and times of one supply stand in equations: in the units in which people read them.

Times stand in hours. Where an amount over a rate is not in hours (joules over watts), a factor says how many.
"""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.model import Supply
from console.engine.explain.book import published
from console.engine.explain.explanation import Input
from console.engine.explain.grounds import H
from console.units import Dimension

UNITS = "units.txt (NIST SP 811; SI Brochure)"


@dataclass(frozen=True, kw_only=True, slots=True)
class Amounts:
    """The units of one supply."""

    supply: Supply

    @property
    def unit(self) -> str:
        """Of amounts."""
        return self.supply.unit.text

    @property
    def rate_unit(self) -> str:
        """Of rates."""
        return self.supply.rate_unit.text

    def amount(self, value_si: float) -> float:
        """An amount as it is read."""
        return self.supply.unit.from_si(value_si)

    def rate(self, value_si_per_s: float) -> float:
        """A rate as it is read."""
        return self.supply.rate_unit.from_si(value_si_per_s)

    @property
    def hours_of(self) -> float:
        """How many hours one amount over one rate is."""
        return self.supply.unit.factor / (self.supply.rate_unit.factor * H)

    @property
    def over(self) -> str:
        """What stands behind an amount over a rate, to make it hours."""
        return "" if self._is_hours else " * c"

    @property
    def times(self) -> str:
        """What stands behind a rate times hours, to make it an amount."""
        return "" if self._is_hours else " / c"

    @property
    def factor(self) -> tuple[Input, ...]:
        """The factor itself, where there is one."""
        if self._is_hours:
            return ()
        return (
            published(
                "c",
                f"hours in one {self.unit} over one {self.rate_unit}",
                self.hours_of,
                "h",
                UNITS,
                "console/units.txt",
            ),
        )

    def of_mass(self, *, rate: bool = False) -> tuple[str, tuple[Input, ...]]:
        """What turns kilograms (or kg/s) into the supply's unit: the text behind them, and its input."""
        unit = self.supply.rate_unit if rate else self.supply.unit
        factor, name = unit.factor, f"{'kg/s' if rate else 'kg'} in one {unit.text}"
        reference, where = UNITS, "console/units.txt"
        if self.supply.dimension is Dimension.VOLUME and self.supply.gas_density_kg_per_m3 is not None:
            factor *= self.supply.gas_density_kg_per_m3
            reference = f"{reference}; density of the gas as craft.yaml states its volume"
            where = "console/physics/gas.py"
        if factor == 1.0:
            return "", ()
        return " / k", (published("k", name, factor, "kg/s" if rate else "kg", reference, where),)

    @property
    def _is_hours(self) -> bool:
        return abs(self.hours_of - 1.0) < 1e-9
