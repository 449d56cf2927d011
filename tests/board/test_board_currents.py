"""Currents against their limits, batteries that share, modules, rates by the hour and by the day."""

from __future__ import annotations

from dataclasses import replace

import cabin_scene as scene

from console.board.faces.currents import current_lines, over_sentences
from console.board.faces.figures import figures_lines
from console.board.faces.loads import loads_lines
from console.board.faces.stores import stores_lines
from console.craft.model import Propulsion, StoreState, Supply
from console.engine.snapshot import Band
from console.units import UnitSystem


def plain(lines):
    return [text.plain.rstrip() for text in lines]


def test_a_phase_ahead_that_goes_above_a_limit_stands_where_notices_stand(on_board, session):
    session.snapshot = scene.with_buses(session.snapshot)

    async def play(board):
        assert " ! CURRENT: descent in 12h03m: power-1 32.5 A over 30.0 A" in board.text()
        session.snapshot = replace(session.snapshot, peaks=())
        await board.tick()
        assert "CURRENT" not in board.text()

    on_board(play)


def test_the_first_excess_of_each_supply_is_said_with_how_many_more(kit):
    now_s = kit.now_s
    peaks = (
        scene.make_peak("coast", now_s - 60.0, 50.0, 70.0, is_over=True, store=None),
        scene.make_peak("burn", now_s + 3600.0, 50.0, 70.0, is_over=True),
        scene.make_peak("drift", now_s + 7200.0, 5.0, 7.0),
        scene.make_peak("dive", now_s + 7200.0, 5.0, 17.0, supply="spare", bus_limit_a=15.0, is_over=True),
    )
    assert over_sentences(replace(kit.snapshot(), peaks=peaks)) == (
        "coast now: power 70.0 A over 60.0 A; 1 more",
        "dive in 2h00m: spare 17.0 A over 15.0 A",
    )


def test_the_sheet_shows_the_currents_of_now_and_marks_those_ahead_that_are_above_a_limit(kit):
    view = kit.view(scene.with_buses(kit.snapshot()))
    lines = loads_lines(view, 120, 60)
    text = "\n".join(plain(lines))
    assert "power now: mean 12.0 A, peak 17.4 A of 60.0 A; power-1 10.8 A of 30.0 A" in text
    assert " ! OVER in 12h03m descent: power-1 32.5 A over 30.0 A" in text
    descent = next(line for line in lines if line.plain.startswith("descent"))
    assert descent.plain.split()[:6] == ["descent", "T+37h55m", "36.2", "A", "52.3", "A"]
    caution = view.look.palette.grounds[Band.CAUTION]
    assert [descent.plain[span.start : span.end] for span in descent.spans if span.style == caution] == [
        "! OVER "
    ]
    event = next(line for line in plain(lines) if line.startswith("top up entry battery"))
    assert "OVER" not in event
    assert "bus 60.0 A, power-1 18.3 A of 30.0 A" in event


def test_no_limit_of_a_battery_is_cut_off_on_a_narrow_sheet(kit):
    rows = plain(current_lines(kit.view(scene.with_buses(kit.snapshot())), 80))
    at = next(index for index, row in enumerate(rows) if row.startswith("descent"))
    assert rows[at].endswith("! OVER")
    assert rows[at + 1].strip() == "limits: bus 60.0 A, power-1 32.5 A of 30.0 A"
    assert all(len(row) <= 80 for row in rows)


def test_batteries_show_their_shares_and_when_each_comes_to_its_residual(kit):
    rows = plain(current_lines(kit.view(scene.with_buses(kit.snapshot())), 120))
    battery = next(row for row in rows if row.startswith("power-1"))
    assert battery.split()[:12] == [
        *("power-1", "62", "%", "own", "meter", "7.5", "A", "30.0", "A", "in", "37.5", "h"),
    ]
    assert battery.endswith("2041-06-04 18:32 UTC  T+63h22m")


def test_the_sheet_shows_what_each_module_would_give_and_which_is_gone(kit):
    view = kit.view(replace(kit.snapshot(), drops=scene.DROPS))
    text = " ".join(plain(loads_lines(view, 120, 60)))
    assert "delta-v left 480.0 m/s" in text
    assert "without work-section (2100 kg) delta-v left 612.4 m/s" in text
    assert "dish is left behind" in text
    us = kit.view(replace(kit.snapshot(), drops=scene.DROPS, shown_in=UnitSystem.US))
    text = " ".join(plain(loads_lines(us, 120, 60)))
    assert "without work-section (4630 lb) delta-v left 2009 ft/s" in text


def craft_of(session, supply, **changes):
    known = Supply(
        name=supply.name,
        unit=supply.unit,
        rate_unit=supply.rate_unit,
        stores=(),
        bands=None,
        reserve_note="one day of drinking",
    )
    return replace(session.scenario.craft, supplies={supply.name: known}, **changes)


def test_the_figures_show_rates_by_hour_and_day_for_all_and_for_each(kit):
    snapshot = scene.with_rates(kit.snapshot())
    rows = plain(figures_lines(kit.view(snapshot, selected="water"), 80, 60))
    assert next(row for row in rows if row.startswith("use ")).split() == [
        *("use", "all,", "an", "hour", "all,", "a", "day", "each,", "an", "hour", "each,", "a", "day"),
    ]
    assert next(row for row in rows if row.startswith("drinking")).split() == [
        *("drinking", "0.110", "kg/h", "2.64", "kg/day", "0.028", "kg/h", "0.660", "kg/day"),
    ]
    assert next(row for row in rows if row.startswith("cooling")).split() == [
        *("cooling", "0.200", "kg/h", "4.80", "kg/day"),
    ]
    assert next(row for row in rows if row.startswith("together")).split()[1:3] == ["0.310", "kg/h"]


def test_on_a_narrow_pane_the_rates_of_each_stand_below_and_none_is_lost(kit):
    snapshot = scene.with_rates(kit.snapshot())
    rows = plain(figures_lines(kit.view(snapshot, selected="water"), 42, 60))
    at = rows.index("drinking: 0.110 kg/h, 2.64 kg/day")
    assert rows[at + 1] == "  each 0.028 kg/h, 0.660 kg/day"


def test_the_figures_say_what_the_reserve_is_for_and_how_long_fitted_cartridges_last(kit, session):
    water = replace(kit.snapshot().supplies["water"], fitted_lasts_s=kit.hours(4.2, 5.1, 6.0))
    snapshot = kit.snapshot(water)
    view = kit.view(snapshot, craft=craft_of(session, water))
    text = "\n".join(plain(figures_lines(view, 80, 60)))
    assert "reserve is for one day of drinking" in text
    assert "fitted cartridges last 5.1 h (4.2 to 6.0 h)" in text


def test_the_figures_of_the_propellant_alone_hold_the_modules(kit, session):
    snapshot = replace(kit.snapshot(), drops=scene.DROPS)
    propulsion = Propulsion(supply="propellant", dry_mass_kg=8900.0, exhaust_velocity_m_per_s=3040.0)
    craft = craft_of(session, snapshot.supplies["propellant"], propulsion=propulsion)
    text = "\n".join(plain(figures_lines(kit.view(snapshot, selected="propellant", craft=craft), 80, 60)))
    assert "without work-section (2100 kg) delta-v left 612.4 m/s" in text
    other = "\n".join(plain(figures_lines(kit.view(snapshot, selected="water", craft=craft), 80, 60)))
    assert "work-section" not in other


def test_every_state_of_a_store_is_shown_by_its_word(kit):
    water = kit.snapshot().supplies["water"]
    stores = tuple(replace(water.stores[0], name=state.value, state=state) for state in StoreState)
    rows = plain(stores_lines(kit.view(kit.snapshot(replace(water, stores=stores))), 80, 20))
    for state in StoreState:
        assert any(row.split()[:2] == [state.value, state.value] for row in rows)
