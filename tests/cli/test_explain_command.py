"""``endurance explain``: text, JSON, what is not known, and text from outside."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from console.scenario.load import packaged_scenario


def test_the_equation_comes_first_and_then_each_input_with_its_source(endurance: Any, tern: Path) -> None:
    said = endurance("explain", "power.stores.bat-1.on_board", tern)
    lines = said.out.splitlines()
    assert said.status == 0
    assert lines[0] == "power.stores.bat-1.on_board = 398.5 A*h"
    assert lines[2:4] == ["  = C - used", "  = 580 - 181.5"]
    assert "  C = 580 A*h  capacity of bat-1" in lines
    assert any("reading of bat-1.used" in line for line in lines)
    text = (tern / "craft.yaml").read_text("utf-8").splitlines()
    where = next(line for line in lines if "supplies.power.stores.bat-1.capacity" in line)
    assert "bat-1: {kind: battery, capacity: 580 A*h" in text[int(where.split()[2].rstrip(":")) - 1]


@pytest.mark.parametrize(
    "figure", ["power.margin.p05", "water.rate_plan", "oxygen.ledger.cabin-leak", "need.delta_v_left"]
)
@pytest.mark.parametrize("depth", ["0", "4"])
def test_no_line_is_wider_than_eighty_columns(endurance: Any, tern: Path, figure: str, depth: str) -> None:
    said = endurance("explain", figure, "--depth", depth, tern)
    assert said.status == 0
    assert max(map(len, said.out.splitlines())) <= 80


def test_a_depth_unfolds_what_stands_behind(endurance: Any, tern: Path) -> None:
    flat = endurance("explain", "oxygen.margin", tern).out
    deep = endurance("explain", "oxygen.margin", "--depth", "9", tern).out
    assert flat.splitlines()[0] == deep.splitlines()[0]
    assert "reading of o2-1.pressure" in deep
    assert "reading of o2-1.pressure" not in flat
    assert "Lee and Kesler" in deep
    document = endurance("explain", "oxygen.margin", "--depth", "1", "--json", tern).document
    assert list(document["behind"]) == ["oxygen.runs_out_at", "need.at"]


def test_the_json_says_what_margins_says_and_that_its_equation_holds(endurance: Any, tern: Path) -> None:
    told = endurance("margins", "--json", tern).document["supplies"]["water"]["margin_h"]
    for end in ("p05", "p50", "p95"):
        document = endurance("explain", f"water.margin.{end}", "--json", tern).document
        assert document["format"] == 1
        assert document["value"] == pytest.approx(told[end], rel=1e-12)
        assert document["equation_gives"] == pytest.approx(document["value"], rel=1e-9)
        assert {one["source"]["kind"] for one in document["inputs"]} == {"figure"}


def test_a_figure_that_is_not_known_is_refused_with_the_nearest(endurance: Any, tern: Path) -> None:
    said = endurance("explain", "oxigen.margin", tern)
    assert said.status == 2
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "'oxigen.margin'; did you mean oxygen.margin" in said.err


@pytest.mark.parametrize(
    "figure",
    [
        "",
        ".",
        "zzzzzz",
        "power.margin.sample-2001",
        "power.margin.sample-0",
        "\x1b[2J",
        "options.nowhere.power.margin",
        "power.segments.99.rate",
        "power.segments.²",
    ],
)
def test_nonsense_is_refused_in_one_line_and_does_nothing(endurance: Any, tern: Path, figure: str) -> None:
    said = endurance("explain", figure, tern)
    assert (said.status, said.out) == (2, "")
    assert said.err.startswith("endurance: FIGURE: found ")
    assert "\x1b" not in said.err


def test_all_figures_can_be_listed(endurance: Any) -> None:
    vole = packaged_scenario("vole")
    listed = endurance("explain", "figures", vole).out.splitlines()
    assert listed == endurance("explain", "figures", "--json", vole).document["figures"]
    assert {
        "water.margin.p05",
        "need.in",
        "water.free_phases.allowance",
        "options.drift.open_until.zero.low.in",
        "loss.without_loss.water.margin.p05",
        "brief.4.caution_margin",
    } <= set(listed)
    assert not any(path.startswith(("whatif.", "shed.")) for path in listed)
    asked = ("--change", "arrive 1 h later", "--margin", "6h")
    more = endurance("explain", "figures", *asked, vole).out.splitlines()
    assert listed == more[: len(listed)]
    assert {"whatif.water.margin.change.p05", "shed.goal"} <= set(more[len(listed) :])


WHATIF = ("--change", "load com-radio off", "--change", "use cabin-leak 0.05 kg/h")
SHED = ("--margin", "12h", "--run-for", "2h")


@pytest.mark.parametrize(
    ("figure", "asked"),
    [
        ("whatif.power.margin.change", WHATIF),
        ("whatif.after.oxygen.rate_plan", WHATIF),
        ("shed.power.margin.change.p05", SHED),
        ("shed.goal", SHED),
        ("whatif.trades.power.pays_after", ("--keep", "com-radio", "--until", "T+40h", "--restart", "2 A*h")),
        ("loss.bat-1.oxygen.margin", ()),
        ("brief.3.all_last_probability", ()),
        ("options.tender.delay_cost.low", ()),
        ("power.free_phases.allowance_low", ()),
    ],
)
def test_figures_of_every_document_are_explained_with_what_was_asked(
    endurance: Any, tern: Path, figure: str, asked: tuple[str, ...]
) -> None:
    said = endurance("explain", figure, *asked, "--depth", "2", tern)
    assert (said.status, said.err) == (0, "")
    assert said.out.startswith(f"{figure} = ")
    assert max(map(len, said.out.splitlines())) <= 80
    document = endurance("explain", figure, *asked, "--json", tern).document
    assert document["equation_gives"] == pytest.approx(document["value"], rel=1e-9, abs=1e-12)


def test_the_figure_is_what_the_command_itself_says(endurance: Any, tern: Path) -> None:
    supplies = endurance("whatif", "load com-radio off", "--json", tern).document["supplies"]
    for side in ("before", "after", "change"):
        figure = f"whatif.power.margin.{side}.p05"
        told = endurance("explain", figure, "--change", "load com-radio off", "--json", tern).document
        assert told["value"] == pytest.approx(supplies["power"]["margin_h"][side]["p05"], rel=1e-9)


@pytest.mark.parametrize(
    ("words", "refused"),
    [
        (("whatif.power.margin",), "--change 'load NAME off'"),
        (("shed.goal",), "--margin 12h"),
        (("power.margin", "--margin", "12h"), "write shed.power.margin"),
        (("power.margin", *WHATIF), "write whatif.power.margin"),
        (("shed.goal", "--run-for", "2h"), "go with --margin TIME"),
        (("shed.goal", "--margin", "12 kg"), "--margin: "),
        (("shed.goal", "--margin", "12h", "--run-for=-2h"), "write a time above zero"),
        (("whatif.power.margin", "--change", "load nothing off"), "load 'nothing'"),
        (("whatif.off", "--until", "T+40h"), "go with --keep LOAD"),
        (("whatif.off", "--keep", "com-radio"), "--keep LOAD needs --until"),
        (("whatif.off", "--keep", "nothing", "--until", "T+40h", "--restart", "1 A*h"), "load 'nothing'"),
        (
            ("whatif.off", "--keep", "com-radio", "--until", "T+4h", "--restart", "1 A*h"),
            "a moment that is over",
        ),
        (("whatif.off", "--keep", "com-radio", *WHATIF), "ask for one or the other"),
    ],
)
def test_a_question_that_is_missing_or_does_not_fit_is_refused(
    endurance: Any, tern: Path, words: tuple[str, ...], refused: str
) -> None:
    said = endurance("explain", *words, tern)
    assert (said.status, said.out) == (2, "")
    assert refused in said.err
    assert said.err.count("\n") == 1


def test_other_commands_do_not_import_what_explains(tern: Path) -> None:
    code = (
        "import sys; from console.cli.main import main; main(sys.argv[1:]); "
        "print([name for name in sys.modules if name.startswith('console.engine.explain')])"
    )
    for command in (("margins",), ("options",), ("whatif", "arrive 1 h later"), ("loss",)):
        run = [sys.executable, "-c", code, *command, str(tern)]
        done = subprocess.run(run, capture_output=True, text=True, check=True)
        assert done.stdout.splitlines()[-1] == "[]", command


def test_a_figure_without_a_value_says_why(endurance: Any, tern: Path) -> None:
    said = endurance("explain", "power.fitted_lasts", tern)
    assert said.out.splitlines()[0] == "power.fitted_lasts: no value"
    assert "none is spare" in said.out


@pytest.mark.parametrize("depth", ["-1", "10", "x", "²"])
def test_a_depth_that_is_none_is_refused(endurance: Any, tern: Path, depth: str) -> None:
    said = endurance("explain", "power.margin", f"--depth={depth}", tern)
    assert said.status == 2
    assert "write a whole number from 0 to 9" in said.err


def test_text_of_a_scenario_does_nothing_in_the_output(endurance: Any, tern: Path) -> None:
    plan = tern / "plan.yaml"
    plan.write_text(plan.read_text("utf-8").replace("name: afloat", 'name: "[bold]afloat"'), "utf-8")
    said = endurance("explain", "oxygen.runs_out_at", "--depth", "2", tern)
    assert said.status == 0
    assert "[bold]afloat" in said.out
