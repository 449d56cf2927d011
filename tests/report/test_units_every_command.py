"""``--units`` and the key ``units``: every command that prints figures, on every packaged scenario."""

from __future__ import annotations

import json
import re
import shutil
from argparse import Namespace
from pathlib import Path
from typing import Any

import pytest
from json_quantities import quantities, units_of

from console.cli.main import COMMANDS, main
from console.scenario.load import load_scenario, packaged_scenario, packaged_scenario_names
from console.units import UnitSystem

WITHOUT_FIGURES = {"log", "check", "simulate"}
"""Commands that print no amounts, or write them in SI alone."""
METRIC_FIGURE = re.compile(r"\d (kg|g|t|L|m\^3|k?Pa|MPa|bar|degC|K|m/s)\b")


@pytest.fixture(autouse=True)
def state_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state-home"))


def said(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    status = main([str(word) for word in words])
    captured = capsys.readouterr()
    assert status == 0, captured.err
    return captured.out


def figures(capsys: pytest.CaptureFixture[str], folder: Path, *options: str) -> dict[str, Any]:
    """Every figure that the commands give of a scenario, by command and path, in SI."""
    found = quantities(json.loads(said(capsys, "margins", *options, "--json", folder)), path="margins")
    for name in load_scenario(folder).craft.supplies:
        found |= quantities(json.loads(said(capsys, "ledger", name, *options, "--json", folder)), path=name)
    return found


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("scenario", packaged_scenario_names())
def test_the_json_of_every_command_says_the_same_in_every_system(
    capsys: pytest.CaptureFixture[str], scenario: str, system: str
) -> None:
    folder = packaged_scenario(scenario)
    written = figures(capsys, folder, "--units", "as-written")
    assert len(written) > 50
    assert figures(capsys, folder, "--units", system) == pytest.approx(written, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("scenario", packaged_scenario_names())
def test_no_unit_of_the_json_is_of_the_other_system(
    capsys: pytest.CaptureFixture[str], scenario: str
) -> None:
    folder = packaged_scenario(scenario)
    metric = {"kg", "g", "t", "L", "m^3", "Pa", "kPa", "MPa", "bar", "degC", "K", "m/s"}
    us = {"lb", "oz", "gal", "ft^3", "cfm", "psi", "mmHg", "degF", "ft/s"}
    for system, others in (("us", metric), ("metric", us)):
        texts = [said(capsys, "margins", "--units", system, "--json", folder)]
        for name in load_scenario(folder).craft.supplies:
            texts.append(said(capsys, "ledger", name, "--units", system, "--json", folder))
        found = {unit.partition("/h")[0] for text in texts for unit in units_of(json.loads(text))}
        assert len(found) > 1
        assert not found & others


@pytest.mark.parametrize("scenario", packaged_scenario_names())
def test_the_text_of_every_command_in_us_units_has_no_metric_figure(
    capsys: pytest.CaptureFixture[str], scenario: str
) -> None:
    folder = packaged_scenario(scenario)
    printed = said(capsys, "margins", "--units", "us", folder)
    for name in load_scenario(folder).craft.supplies:
        printed += said(capsys, "ledger", name, "--units", "us", folder)
    assert METRIC_FIGURE.search(printed) is None
    assert METRIC_FIGURE.search(said(capsys, "margins", "--units", "metric", folder))


@pytest.mark.parametrize("command", sorted(COMMANDS.keys() - WITHOUT_FIGURES))
def test_every_command_that_prints_figures_takes_the_option(
    capsys: pytest.CaptureFixture[str], command: str
) -> None:
    with pytest.raises(SystemExit):
        main([command, "--help"])
    assert "--units {as-written,metric,us}" in capsys.readouterr().out


def test_another_word_is_refused_with_the_three_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["margins", "--units", "imperial"])
    assert stop.value.code == 2
    message = capsys.readouterr().err
    assert all(system.value in message for system in UnitSystem)


def test_the_board_opens_in_the_units_that_are_asked_for(tmp_path: Path) -> None:
    from console.cli.opening import open_session

    given = {"scenario": packaged_scenario("tern"), "state": None, "feed": None, "speed": None, "at": None}
    given |= {"seed": None, "as_of": None}
    arguments = Namespace(**given, journal=tmp_path / "journal", units="us")
    session = open_session(arguments, writes=False, live=True)
    snapshot = session.tick()
    assert snapshot.shown_in is UnitSystem.US
    assert snapshot.supplies["water"].unit.text == "lb"


def test_a_bare_number_in_a_state_file_is_in_the_declared_unit_whatever_is_shown(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    folder = Path(shutil.copytree(packaged_scenario("tern"), tmp_path / "tern"))
    state = json.loads((folder / "state.json").read_text())
    state["readings"]["water-1.quantity"] = 50.0
    (folder / "state.json").write_text(json.dumps(state))
    document = json.loads(said(capsys, "margins", "--units", "us", "--json", folder))
    store = document["supplies"]["water"]["stores"]["water-1"]
    assert store["on_board"] == pytest.approx(50.0 / 0.45359237)


@pytest.mark.parametrize(("option", "unit"), [((), "lb"), (("--units", "as-written"), "kg")])
def test_the_scenarios_own_choice_holds_unless_the_option_says_otherwise(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, option: tuple[str, ...], unit: str
) -> None:
    folder = Path(shutil.copytree(packaged_scenario("tern"), tmp_path / "tern"))
    craft = (folder / "craft.yaml").read_text()
    (folder / "craft.yaml").write_text(craft.replace("format: 1\n", "format: 1\nunits: us\n", 1))
    document = json.loads(said(capsys, "margins", *option, "--json", folder))
    assert document["supplies"]["oxygen"]["unit"] == unit
