"""``endurance whatif``: before, after and difference of every figure; and leaving a load on or not."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from console.change_words import FORMS
from console.report.columns import WIDTH


def whatif(endurance: Any, folder: Path, *words: str) -> Any:
    said = endurance("whatif", *words, "--json", folder)
    assert (said.status, said.err) == (0, "")
    return said.document


def test_before_is_what_margins_says_and_after_differs_by_the_change(endurance: Any, tern: Path) -> None:
    document = whatif(endurance, tern, "load com-radio off")
    now = endurance("margins", "--json", tern).document["supplies"]
    for name, supply in document["supplies"].items():
        assert supply["margin_h"]["before"] == now[name]["margin_h"], name
        for figure in ("margin_h", "endurance_plan_h", "left_at_need"):
            for end in ("p05", "p50", "p95"):
                before, after, change = (supply[figure][side][end] for side in ("before", "after", "change"))
                assert change == pytest.approx(after - before)
    found = {name: supply["verdict"] for name, supply in document["supplies"].items()}
    assert (found["power"], found["water"], found["oxygen"]) == ("better", "better", "the same")


def test_an_amount_added_is_missing_at_need(endurance: Any, tern: Path) -> None:
    water = whatif(endurance, tern, "add water 1.5 kg at T+30h")["supplies"]["water"]
    assert water["left_at_need"]["change"]["p50"] == pytest.approx(-1.5)


def test_a_supposed_option_has_the_margins_that_options_gives_it(endurance: Any, tern: Path) -> None:
    ways = endurance("options", "--json", tern).document["options"]
    for name in ("quick-turn", "tender"):
        after = whatif(endurance, tern, f"option {name}")
        assert after["need"]["after"]["at"] == ways[name]["need"]["at"]
        for supply, figures in after["supplies"].items():
            assert figures["margin_h"]["after"] == pytest.approx(ways[name]["supplies"][supply]["margin_h"])


def test_a_commitment_that_was_logged_gives_what_the_supposition_said(endurance: Any, tern: Path) -> None:
    supposed = whatif(endurance, tern, "option quick-turn")["supplies"]
    endurance("log", "add", "--commit", "quick-turn", tern)
    committed = endurance("margins", "--json", tern).document["supplies"]
    for name, supply in committed.items():
        assert supply["margin_h"] == pytest.approx(supposed[name]["margin_h"]["after"]), name


def test_several_changes_hold_together_and_options_may_stand_between_them(endurance: Any, tern: Path) -> None:
    document = endurance(
        "whatif", "add water 1 kg at T+30h", "--json", "add water 2 kg at T+40h", tern
    ).document
    assert document["changes"] == ["add water 1 kg at T+30h", "add water 2 kg at T+40h"]
    assert document["supplies"]["water"]["left_at_need"]["change"]["p50"] == pytest.approx(-3.0)


def test_without_a_folder_the_demo_is_meant(endurance: Any) -> None:
    said = endurance("whatif", "load com-radio off", "--json")
    assert (said.status, said.document["scenario"]) == (0, "tern")


def test_the_text_says_what_is_better_and_worse_in_words_and_signs(endurance: Any, tern: Path) -> None:
    said = endurance("whatif", "load com-radio off", "use drinking 30 kg/day", tern)
    flat = " ".join(said.out.split())
    assert said.status == 0
    assert "Better: power (margin +" in flat
    assert "Worse: water (margin -" in flat
    assert "band caution -> warning)" in flat
    assert "power: BETTER" in said.out
    assert "water: WORSE" in said.out
    assert "The same: oxygen, absorbent, propellant" in flat
    assert "without the delays and deadbands" in flat
    assert max(map(len, said.out.splitlines())) <= WIDTH
    assert "\x1b" not in said.out


def test_nothing_is_logged_by_asking(endurance: Any, tern: Path) -> None:
    endurance("whatif", "load com-radio off", "option tender", tern)
    assert endurance("log", "list", tern).out == "the journal has no entries\n"


def test_the_help_lists_every_form(endurance: Any) -> None:
    said = endurance("whatif", "--help")
    assert said.status == 0
    assert all(form in said.out for form in FORMS.values())
    assert "not certified for flight" in said.out


def test_units_are_those_asked_for(endurance: Any, tern: Path) -> None:
    document = whatif(endurance, tern, "--units", "us", "add water 1 kg at T+30h")
    water = document["supplies"]["water"]
    assert (document["units"], water["unit"]) == ("us", "lb")
    assert water["left_at_need"]["change"]["p50"] == pytest.approx(-1.0 / 0.45359237)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "write at least one"),
        (["load com-radi off"], "did you mean 'com-radio'?"),
        (["level quit"], "'quiet'"),
        (["load", "com-radio", "off"], "write each change in quotes"),
        (["load com-radio off from T+3h"], "which is over"),
        (["load com-radio off", "load com-radio on"], "cannot both be"),
        (["option homwrd"], "'homeward'"),
        (["load com-radio off", "--until", "T+30h"], "go with --keep"),
        (["--keep", "com-radio"], "needs --until TIME and --restart"),
        (["--keep", "com-radi", "--until", "T+30h", "--restart", "1 A*h"], "did you mean 'com-radio'?"),
        (["--keep", "com-radio", "--until", "T+3h", "--restart", "1 A*h"], "is over"),
        (["--keep", "com-radio", "--until", "T+200h", "--restart", "1 A*h"], "after need"),
        (["--keep", "lit-outside", "--until", "T+30h", "--restart", "1 A*h"], "draws nothing now"),
        (["--keep", "com-radio", "--until", "T+30h", "--restart", "1 A"], "amp-hours"),
        (["--keep", "com-radio", "--until", "T+30h", "--restart", "oxigen 1 kg"], "did you mean 'oxygen'?"),
        (["--keep", "com-radio", "--until", "T+30h", "--restart", "much"], "write an amount"),
        (["--keep", "com-radio", "--until", "T+30h", "--restart", "-1 A*h"], "zero or more"),
        (
            ["--keep", "com-radio", "--until", "T+30h", "--restart", "1 A*h", "--restart", "2 A*h"],
            "found power twice",
        ),
        (["load com-radio off", "--keep", "com-radio"], "one or the other"),
    ],
)
def test_bad_words_get_one_clear_message(endurance: Any, tern: Path, words: list[str], message: str) -> None:
    said = endurance("whatif", *words, tern)
    assert (said.status, said.out) == (2, "")
    assert message in said.err
    assert len(said.err.splitlines()) == 1


def test_a_folder_that_is_not_there_is_told_as_such(endurance: Any, tern: Path) -> None:
    said = endurance("whatif", "load com-radio off", tern / "nowhere")
    assert said.status == 2
    assert "no folder of a scenario" in said.err


def test_keep_or_off_gives_both_costs_and_the_break_even(endurance: Any, tern: Path) -> None:
    words = ("--keep", "com-radio", "--until", "T+28h", "--restart", "2.3 A*h", "--restart", "oxygen 0.2 kg")
    document = whatif(endurance, tern, *words)
    power = document["trades"]["power"]
    # 1.9 A from T+25h48m to T+28h, and what the batteries lose by the rate: up to the exponent's 3 % more.
    assert 1.9 * 2.2 <= power["keeping"] <= 1.9 * 2.2 * 1.05
    assert power["restart"] == pytest.approx(2.3)
    assert power["saved"] == pytest.approx(power["keeping"] - 2.3)
    assert power["pays_after_h"] == pytest.approx(2.3 / (power["keeping"] / 2.2))
    oxygen = document["trades"]["oxygen"]
    assert (oxygen["keeping"], oxygen["pays_after_h"]) == (pytest.approx(0.0, abs=1e-9), None)
    assert document["pays_after_h"] is None
    assert document["supplies"]["oxygen"]["left_at_need"]["change"]["p50"] == pytest.approx(-0.2)
    change = document["supplies"]["power"]["left_at_need"]["change"]["p50"]
    assert change == pytest.approx(power["saved"])
    json.dumps(document, allow_nan=False)


def test_keep_or_off_in_words(endurance: Any, tern: Path) -> None:
    said = endurance("whatif", "--keep", "com-radio", "--until", "T+40h", "--restart", "2.3 A*h", tern)
    flat = " ".join(said.out.split())
    assert said.status == 0
    assert "Switching off PAYS: it saves power, water and costs no supply anything" in flat
    assert "Break-even: off for 1h1" in flat
    assert max(map(len, said.out.splitlines())) <= WIDTH
    dear = endurance("whatif", "--keep", "com-radio", "--until", "T+26h", "--restart", "2.3 A*h", tern)
    assert "saves water but COSTS power" in " ".join(dear.out.split())
