"""Values and times of a verdict as text."""

from __future__ import annotations

import math

from console.craft.channels import Channel
from console.display import Rounding, elapsed_text, span_text, unit_text


def value_text(value_si: float, channel: Channel) -> str:
    """What the channel shows, to the nearest step of its display.

    >>> from console.units import parse_unit
    >>> value_text(7.4234e6, Channel(name="o2", unit=parse_unit("MPa"), resolution_si=2e4))
    '7.42 MPa'
    """
    return f"{_figure(channel.unit.from_si(value_si), channel)} {unit_text(channel.unit)}"


def change_text(change_si: float, channel: Channel) -> str:
    """The size of a difference of two of its values, without its sign."""
    return f"{_figure(abs(change_si) / channel.unit.factor, channel)} {unit_text(channel.unit)}"


def rate_text(rate_si_per_s: float, channel: Channel) -> str:
    """The size of a rate of it per hour, to two figures.

    >>> from console.units import parse_unit
    >>> rate_text(-0.008 / 3600, Channel(name="tank", unit=parse_unit("%")))
    '0.8 %/h'
    """
    per_hour = abs(rate_si_per_s) * 3600.0 / channel.unit.factor
    return f"{per_hour:.2g} {unit_text(channel.unit)}/h"


def since_text(at_s: float) -> str:
    """A moment, as it may be typed back."""
    return elapsed_text(at_s)


def for_text(seconds: float) -> str:
    """How long something has lasted."""
    return span_text(max(seconds, 0.0), Rounding.DOWN)


def _figure(value: float, channel: Channel) -> str:
    step = channel.resolution_si / channel.unit.factor
    if not step > 0.0:
        return f"{value:.4g}"
    decimals = max(0, math.ceil(-math.log10(step) - 1e-9))
    return f"{value:.{decimals}f}"
