"""The feeding lines of the packaged house on the seabed, lost one after the other, against sums by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from console.engine.loss import Losses, LossKind, losses_of
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus
from console.scenario.load import load_scenario, packaged_scenario
from console.session import Session

FOLDER = packaged_scenario("whelk")
HOUR_S = 3600.0


@pytest.fixture(scope="module")
def losses() -> Losses:
    scenario = load_scenario(FOLDER)
    path = FOLDER / "state.json"
    moment = at_epoch_plus(scenario.craft.epoch, state_file_time_s(path, scenario.craft.epoch))
    session = Session(
        scenario=scenario,
        source=StateFileSource(path, scenario.craft.channels, scenario.craft.epoch),
        journal=None,
        clock=lambda: moment,
        operator="A. Lead",
        position="lead",
    )
    return losses_of(session.situation())


def written_lines() -> dict[str, list[str]]:
    craft = yaml.safe_load((Path(FOLDER) / "craft.yaml").read_text("utf-8"))
    return {name: line["stores"] for name, line in craft["lines"].items()}


def test_every_line_of_the_file_is_lost_in_turn_with_all_that_feeds_through_it(losses: Losses) -> None:
    lost = {one.lost.name: one.lost for one in losses.losses if one.lost.kind is LossKind.LINE}
    assert {name: list(line.stores) for name, line in lost.items()} == written_lines()
    assert all(line.title for line in lost.values())


def test_with_its_only_pipe_a_supply_ends_at_once(losses: Losses) -> None:
    need_h = losses.snapshot.need.in_s / HOUR_S
    by_name = {one.lost.name: one for one in losses.losses}
    for line, supply in (("o2-pipe", "oxygen"), ("suction", "water")):
        margin = by_name[line].margins.margins_s[supply]
        assert margin is not None
        assert margin.p50 is not None
        # Nothing is left that feeds: it is short by all of the time to need.
        assert margin.p50 / HOUR_S == pytest.approx(-need_h, abs=1e-6)


def test_half_the_bank_carries_the_house_as_long_as_what_it_holds_says(losses: Losses) -> None:
    """Without the cable under the floor: house-3 now and the pod from T+40h on, at what the plan draws."""
    snapshot = losses.snapshot
    power = snapshot.supplies["power"]
    stores = {store.name: store for store in power.stores}
    bank = next(one for one in losses.losses if one.lost.name == "cable-floor")
    margin = bank.margins.margins_s["power"]
    assert margin is not None
    assert margin.p50 is not None
    held = stores["house-3"]
    assert held.on_board_si is not None
    # It ends before the pod is tied in: what house-3 can give over the draw of the second night.
    given_kwh = (held.on_board_si - held.residual_si) / 3.6e6
    draw_kw = (power.rate_plan_si_per_s or 0.0) / 1000.0
    # Peukert's law, exponent 1.15 at a rating of 25 A, both in craft.yaml; all of the current through one.
    amps = draw_kw * 1000.0 / 48.0
    lasts_h = given_kwh / (draw_kw * (amps / 25.0) ** 0.15)
    assert snapshot.at_s / HOUR_S + lasts_h < 40.0
    assert margin.p50 / HOUR_S + snapshot.need.in_s / HOUR_S == pytest.approx(lasts_h, rel=2e-3)
