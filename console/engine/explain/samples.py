"""What one sample of a supply is made of, in words: its factors and its errors, the furthest first."""

from __future__ import annotations

from console.engine.draws import standard_draws
from console.engine.explain.amounts import Amounts
from console.engine.explain.grounds import Grounds
from console.engine.explain.learnt import learnt_words
from console.engine.jumps import event_factor
from console.engine.snapshot import RateSource


def sample_words(grounds: Grounds, name: str, figure: str, row: int) -> str:
    """The luck of one sample, as far as a figure of a supply goes by it; empty for the central case.

    Args:
        grounds: the grounds.
        name: the supply's.
        figure: the interval, as ``margin``.
        row: the sample's.
    """
    if row == 0:
        return ""
    words = [*_errors(grounds, name, figure, row), *_factors(grounds, name, figure, row)]
    words += _learnt(grounds, name, figure, row)
    words.sort(key=lambda one: -abs(one[0]))
    return "its luck: " + ", ".join(text for _, text in words) if words else ""


def _z(grounds: Grounds, of: str, row: int) -> float:
    return float(standard_draws(of, grounds.draws.seed, grounds.draws.count)[row])


def _factors(grounds: Grounds, name: str, figure: str, row: int) -> list[tuple[float, str]]:
    """Each factor with how many standard deviations it lies off."""
    use, one = grounds.ahead.use, grounds.ahead.supplies[name]
    if figure == "endurance_now" and one.now.source is RateSource.MEASURED:
        return []
    spreads = {}
    if use.luck is None:
        spreads = {factor: use.spreads[factor] for key in use.supplies[name].keys for factor in key.factors}
    if figure != "endurance_now":
        spreads |= {event_factor(jump.name): jump.spread_fraction for jump in one.outlook.jumps}
    return [
        (
            _z(grounds, factor, row),
            f"{factor} x {float(grounds.draws.factor(factor, spread)[row]):.4g}",
        )
        for factor, spread in spreads.items()
        if spread
    ]


def _learnt(grounds: Grounds, name: str, figure: str, row: int) -> list[tuple[float, str]]:
    """What it takes the readings to say, and how far its use wanders."""
    luck = grounds.ahead.use.luck
    if luck is None or (figure == "endurance_now" and grounds.ahead.supplies[name].now.sd_si_per_s):
        return []
    found = learnt_words(grounds, name, row)
    if figure != "endurance_now":
        z = _z(grounds, f"wandering of {name}", row)
        found.append((z, f"use wanders by {z:+.2g} standard deviations"))
    return found


def _errors(grounds: Grounds, name: str, figure: str, row: int) -> list[tuple[float, str]]:
    """Each error: of gauges, of the meters of the present rate, of the arrival."""
    one, amounts = grounds.ahead.supplies[name], Amounts(supply=grounds.craft.supplies[name])
    found = []
    for store, sd_si in one.held.errors_sd.items():
        if sd_si:
            z = _z(grounds, f"store {store}", row)
            found.append((z, f"store {store} {amounts.amount(z * sd_si):+.4g} {amounts.unit}"))
    if figure == "endurance_now" and one.now.source is RateSource.MEASURED and one.now.sd_si_per_s:
        z = _z(grounds, f"rate of {name}", row)
        found.append((z, f"rate of {name} {amounts.rate(z * one.now.sd_si_per_s):+.4g} {amounts.rate_unit}"))
    option = grounds.ahead.option
    if figure in ("margin", "left_at_need") and option.arrival_spread_s:
        z = _z(grounds, f"arrival of {option.name}", row)
        found.append((z, f"arrival of {option.name} {z * option.arrival_spread_s / 3600.0:+.4g} h"))
    return found
