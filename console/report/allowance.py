"""What may be drawn of a supply in the free phases, as lines of plain text. Reckons nothing."""

from __future__ import annotations

import math

from console.display import (
    Rounding,
    amount_text,
    elapsed_text,
    figure_text,
    hours_text,
    rate_text,
    unit_text,
)
from console.engine.allowance_profile import AllowanceProfile
from console.report.columns import wrapped


def allowance_lines(profile: AllowanceProfile) -> list[str]:
    """The short block of one supply: free time, what the power-ups take, the allowance and how it falls."""
    unit, rate_unit = profile.supply.unit, profile.supply.rate_unit
    if profile.allowance_si_per_s is None:
        return wrapped(f"allowance in the free phases: not known: {profile.why}")
    free = f"free phases: {hours_text(profile.free_s)} until need"
    if profile.power_ups:
        taken = amount_text(profile.power_ups_take_si, unit, Rounding.UP)
        lasts = hours_text(profile.power_up_s, Rounding.UP)
        free += f"; the power-ups ({', '.join(profile.power_ups)}: {lasts}) take {taken} first"
    else:
        free += ", all of it: the plan has no power-up"
    allowed, low = (
        rate_text(rate, rate_unit, Rounding.DOWN)
        for rate in (profile.allowance_si_per_s, profile.allowance_low_si_per_s)
    )
    planned = rate_text(profile.planned_si_per_s, rate_unit)
    sentence = f"allowance in them: {allowed}, low end {low}; planned {planned}"
    if profile.allowance_si_per_s <= 0.0:
        sentence += ": the power-ups and events alone take all there is"
    if profile.held_down_at_s is not None:
        sentence += f"; held down by what must last until {elapsed_text(profile.held_down_at_s)}"
    return [*wrapped(free), *wrapped(sentence), *wrapped(_fall_sentence(profile))]


def _fall_sentence(profile: AllowanceProfile) -> str:
    rate_unit = profile.supply.rate_unit
    present = rate_text(profile.present_si_per_s, rate_unit)
    falls = profile.falls_si_per_s or 0.0
    if falls == 0.0:
        return f"each hour of free time at the present {present} leaves it as it is"
    word, rounding = ("takes", Rounding.UP) if falls > 0.0 else ("adds", Rounding.DOWN)
    change = abs(rate_unit.from_si(falls))
    # Two figures that count, however small: an hour is short against the days until need.
    figure = figure_text(change, max(1 - math.floor(math.log10(change)), 0), rounding)
    return f"each hour of free time at the present {present} {word} {figure} {unit_text(rate_unit)}"
