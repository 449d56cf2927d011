"""After a new start, what the batteries' gauges and meters told together is made again from the history."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from console.craft.channels import Measured
from console.craft.model import StoreKind
from console.engine.recall import recalled_charges
from console.engine.series import series_of

AH = H = 3600.0
DAY_S = 86400.0
TRUE_A, BIAS_A = 20.0, 1.0


@pytest.fixture
def craft(build: Any) -> Any:
    battery = build.store(
        "bat",
        kind=StoreKind.BATTERY,
        capacity_si=1000.0 * AH,
        current=Measured(channel="bat.current"),
        quantity=Measured(channel="bat.charge"),
    )
    power = build.supply("power", "A*h", battery, bus_voltage_v=28.0)
    channels = (
        build.channel("bat.current", "A", accuracy_si=2.0, stale_after_s=300.0),
        build.channel(
            "bat.charge", "A*h", accuracy_si=10.0 * AH, resolution_si=1.0 * AH, stale_after_s=300.0
        ),
    )
    return build.craft(power, channels=channels)


def history() -> dict[str, Any]:
    times = np.arange(0.0, DAY_S + 1.0, 120.0)
    return {
        "bat.current": series_of(times, np.full(len(times), TRUE_A + BIAS_A)),
        "bat.charge": series_of(times, 900.0 * AH - TRUE_A * times),
        "of-no-battery": series_of(times, times),
    }


def test_a_meters_bias_is_known_again(craft: Any) -> None:
    memory = recalled_charges(craft, history(), DAY_S)["bat"]
    assert memory.state.bias_a == pytest.approx(BIAS_A, abs=0.1)
    assert memory.state.level_a_s == pytest.approx(900.0 * AH - TRUE_A * DAY_S, abs=5.0 * AH)


def test_rows_after_the_moment_are_not_looked_at(craft: Any) -> None:
    memory = recalled_charges(craft, history(), 6.0 * H)["bat"]
    assert memory.at_s == 6.0 * H
    assert memory.gauge_a_s == pytest.approx(900.0 * AH - TRUE_A * 6.0 * H)


def test_without_readings_nothing_is_recalled(craft: Any) -> None:
    assert recalled_charges(craft, {}, DAY_S) == {}
