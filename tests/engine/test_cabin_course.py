"""The cabin's course and the search for crossings: balances, bounds, and two ways to one answer."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from cabin_builders import CENTRAL, SAMPLED, H, above, below, cabin, channels, feed, surroundings
from hypothesis import given as given_by
from hypothesis import strategies as st

from console.craft.cabin import CabinProperty, Drying, OxygenFeed, Regulated, Removal, Thermal
from console.craft.channels import Measured
from console.craft.model import Craft, Metabolic, Use
from console.engine.cabin.air import ordered
from console.engine.cabin.course import CARBON_DIOXIDE, OXYGEN, REST, TEMPERATURE, WATER, Course
from console.engine.cabin.crossing import _by_search, _in_closed_form, reached_at_s
from console.engine.cabin.forcing import cabin_course
from console.engine.cabin.gauges import cabin_gauges
from console.engine.cabin.properties import excess, worst_excess
from console.engine.cabin.services import services_of
from console.engine.forecast import Draws
from console.engine.snapshot import Supposition

SUPPOSITIONS = (Supposition.PLAN, Supposition.NO_REMOVAL, Supposition.NO_FEED)
PROPERTIES = list(CabinProperty)


def busy(build: Any, **fields: Any) -> Craft:
    """A cabin with everything in it."""
    given: dict[str, Any] = {
        "humidity": Measured(channel="humidity"),
        "removal": Removal(flow_m3_per_s=0.3 / 60, efficiency_fraction=0.9),
        "oxygen_feed": OxygenFeed(),
        "drying": Drying(humidity_fraction=0.55),
        "thermal": Thermal(
            heat_capacity_j_per_k=900e3, conductance_w_per_k=20.0, outside=Measured(constant_si=270.0)
        ),
    }
    uses = (
        Use(name="o2", supply="oxygen", metabolic=Metabolic.OXYGEN, spread_fraction=0.05),
        Use(name="co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE, spread_fraction=0.05),
        Use(name="leak", supply="oxygen", leak_si_per_s=1e-5, at_pressure_pa=1e5, spread_fraction=0.1),
    )
    return build.craft(
        *(
            build.supply(name, "kg", build.store(f"{name}-1", capacity_si=1e9))
            for name in ("oxygen", "absorbent")
        ),
        uses=uses,
        channels=channels(oxygen=200.0, dioxide=30.0, warmth=0.5, pressure=300.0, humidity=0.02),
        cabin=cabin(**{**given, **fields}),
    )


def course(build: Any, craft: Craft, draws: Draws = CENTRAL, rows: int = 1) -> Course:
    phases = (build.phase("a", -H), build.phase("b", 10 * H, asleep=2, nominal=2), build.phase("c", 30 * H))
    around = surroundings(craft, phases, ends_s={"oxygen": 40 * H, "absorbent": 20 * H}, draws=draws)
    assert craft.cabin is not None
    return cabin_course(
        around,
        craft.cabin,
        cabin_gauges(craft, craft.cabin, around.feed, 0.0),
        services_of(craft, craft.cabin, around.segments),
        SUPPOSITIONS,
        draws,
        rows,
    )


def test_no_mass_comes_from_nowhere(build: Any) -> None:
    """What is in the air at the end of a piece is what was there, plus gains, less what decay took.

    What decay took is integrated from the course itself, on a fine grid.
    """
    found = course(build, busy(build))
    forcing = found.forcing
    shape = found.cools_to_k.shape
    for piece, supposition in np.ndindex(shape[:2]):
        span = float(forcing.pieces.spans_s[piece, 0])
        if span == 0.0:
            continue
        chosen = tuple(np.array([index]) for index in (piece, supposition, 0))
        times = np.linspace(0.0, min(span, 5 * H), 20001)[:, None]
        air = found.within(*chosen, times)
        for quantity, values in (
            (CARBON_DIOXIDE, air.carbon_dioxide_pa),
            (REST, air.rest_pa),
            (WATER, air.water_pa),
        ):
            gain = float(np.broadcast_to(forcing.gains[quantity], shape)[chosen][0])
            decay = float(np.broadcast_to(forcing.decays[quantity], shape)[chosen][0])
            lost = decay * float(np.trapezoid(values[:, 0], times[:, 0]))
            change = float(values[-1, 0] - values[0, 0])
            scale = abs(values[0, 0]) + gain * times[-1, 0]
            assert change == pytest.approx(gain * times[-1, 0] - lost, abs=1e-7 * scale)


def test_each_piece_begins_where_the_one_before_it_ended(build: Any) -> None:
    found = course(build, busy(build))
    for quantity in (CARBON_DIOXIDE, REST, TEMPERATURE):
        values = (found.ends.carbon_dioxide_pa, found.ends.rest_pa, found.ends.temperature_k)
        ends = dict(zip((CARBON_DIOXIDE, REST, TEMPERATURE), values, strict=True))[quantity]
        assert found.starts[quantity][1:] == pytest.approx(ends[:-1], rel=1e-12)


def test_the_regulator_holds_the_whole_pressure_until_it_stops(build: Any) -> None:
    found = course(build, busy(build))
    of = below(CabinProperty.PRESSURE, 50_000.0)
    whole = 50_000.0 - excess(of, found.begins)
    feeding = found.forcing.pieces.starts_s[:, 0] < 40 * H
    assert whole[feeding, 0, 0] == pytest.approx(np.full(feeding.sum(), 101_325.0), rel=1e-12)
    assert (whole[~feeding, 0, 0][1:] < 101_000.0).all()


def test_a_regulator_of_oxygen_keeps_the_oxygen_and_lets_the_rest_leak(build: Any) -> None:
    found = course(build, busy(build, oxygen_feed=OxygenFeed(holds=Regulated.OXYGEN)))
    feeding = found.forcing.pieces.starts_s[:, 0] < 40 * H
    assert found.starts[OXYGEN][feeding, 0, 0] == pytest.approx(np.full(feeding.sum(), 21_200.0))
    assert (np.diff(found.starts[REST][:, 0, 0]) <= 0.0).all()


@pytest.mark.parametrize("side", [above, below])
@pytest.mark.parametrize("of", PROPERTIES)
@given_by(parts=st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3))
def test_no_moment_between_two_is_worse_than_their_bound(
    build_once: Any, of: Any, side: Any, parts: list[float]
) -> None:
    found = build_once
    level = {CabinProperty.HUMIDITY: 0.5}.get(of, 300.0 if "temperature" in of.value else 20_000.0)
    limit = side(of, level)
    begin, middle, end = sorted(parts)
    shape = found.cools_to_k.shape
    piece, supposition, row = (index.ravel() for index in np.indices(shape))
    span = found.forcing.pieces.spans_s[piece, row]
    air = [found.within(piece, supposition, row, (part * span)[None, :]) for part in (begin, middle, end)]
    bound = worst_excess(limit, *ordered(air[0], air[2]))
    slack = 1e-9 * (abs(level) + 1.0)
    assert (excess(limit, air[1]) <= bound + slack).all()


@pytest.fixture(scope="module")
def build_once(build: Any) -> Course:
    return course(build, busy(build), SAMPLED, 20)


@pytest.mark.parametrize("of", [CabinProperty.CARBON_DIOXIDE, CabinProperty.TEMPERATURE])
def test_the_search_agrees_with_the_closed_form(build_once: Course, of: CabinProperty) -> None:
    quantity = {CabinProperty.CARBON_DIOXIDE: CARBON_DIOXIDE, CabinProperty.TEMPERATURE: TEMPERATURE}[of]
    levels = {
        CabinProperty.CARBON_DIOXIDE: (900.0, 2000.0, 8000.0),
        CabinProperty.TEMPERATURE: (293.5, 294.0, 296.0),
    }
    finite = 0
    for level in levels[of]:
        limit = above(of, level)
        closed = _in_closed_form(build_once, limit, quantity, (0, 1, 2), 0.0)
        searched = _by_search(build_once, limit, (0, 1, 2), 0.0)
        assert (np.isfinite(closed) == np.isfinite(searched)).all()
        both = np.isfinite(closed)
        finite += int(both.sum())
        assert searched[both] == pytest.approx(closed[both], abs=0.5)
    assert finite > 60


def test_a_short_excursion_is_not_missed(build: Any) -> None:
    """Heavy work for a quarter of an hour lifts CO2 just over a limit in the middle of a long wait."""
    crew = {"nominal": 4}
    craft = build.craft(
        channels=channels(),
        cabin=cabin(
            removal=Removal(flow_m3_per_s=1.0 / 60, efficiency_fraction=0.9), oxygen_feed=OxygenFeed()
        ),
    )
    phases = (
        build.phase("wait", -H, **crew),
        build.phase("work", 50 * H, heavy=4),
        build.phase("wait on", 50.25 * H, **crew),
    )
    around = surroundings(craft, phases)
    assert craft.cabin is not None
    found = cabin_course(
        around,
        craft.cabin,
        cabin_gauges(craft, craft.cabin, feed(), 0.0),
        services_of(craft, craft.cabin, around.segments),
        (Supposition.PLAN,),
        CENTRAL,
        1,
    )
    peak = float(found.begins.carbon_dioxide_pa.max())
    share = peak / 101_325.0
    limit = above(CabinProperty.CARBON_DIOXIDE, 0.98 * share, is_share=True)
    reached = float(reached_at_s(found, limit, (0,), 0.0)[0, 0])
    assert 50 * H < reached < 50.25 * H
    over = above(CabinProperty.CARBON_DIOXIDE, 1.02 * share, is_share=True)
    assert reached_at_s(found, over, (0,), 0.0)[0, 0] == math.inf


def test_a_plateau_just_below_its_limit_is_not_taken_for_a_crossing(build: Any) -> None:
    craft = busy(build, oxygen_feed=OxygenFeed(holds=Regulated.OXYGEN))
    craft = replace(craft, uses=craft.uses[:2])
    phases = (build.phase("a", -H),)
    around = surroundings(craft, phases, ends_s={"oxygen": math.inf, "absorbent": math.inf})
    assert craft.cabin is not None
    found = cabin_course(
        around,
        craft.cabin,
        cabin_gauges(craft, craft.cabin, feed(), 0.0),
        services_of(craft, craft.cabin, around.segments),
        (Supposition.PLAN,),
        CENTRAL,
        1,
    )
    dry = craft.cabin.drying
    assert dry is not None
    at_cap = above(CabinProperty.HUMIDITY, dry.humidity_fraction)
    assert reached_at_s(found, at_cap, (0,), 0.0)[0, 0] == math.inf
    just_below = above(CabinProperty.HUMIDITY, dry.humidity_fraction - 1e-6)
    assert math.isfinite(float(reached_at_s(found, just_below, (0,), 0.0)[0, 0]))
