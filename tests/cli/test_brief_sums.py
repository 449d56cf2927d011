"""The card's sums done again from its own printed figures, each within what its last digits can move."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

CONFIGS = Path(__file__).parents[2] / "configs"
SCENARIOS = ("tern", "vole", "whelk")
NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.fixture(params=SCENARIOS)
def scenario(request: pytest.FixtureRequest) -> Path:
    return CONFIGS / str(request.param)


def card_of(endurance: Any, *words: object) -> str:
    said = endurance("brief", "--card", *words)
    assert said.status == 0, said.err
    return re.sub(r"\n {4}(?=\S)", " ", said.out)


def last_digit(text: str) -> float:
    """What one more or less in the last printed place is."""
    return 10.0 ** -len(text.partition(".")[2])


def bounds(text: str) -> tuple[float, float]:
    """Between which values a figure was rounded to this one, to either side."""
    value = float(text)
    return value - last_digit(text), value + last_digit(text)


def test_the_allowance_is_what_its_own_line_says_and_what_margins_has(endurance: Any, scenario: Path) -> None:
    card = card_of(endurance, scenario)
    supplies = endurance("margins", "--json", scenario).document["supplies"]
    found = re.findall(
        rf"^(\S+) \S+ .*\(({NUMBER}) ([+-]) ({NUMBER})\) / ({NUMBER}) += ({NUMBER}) (\S+)", card, re.M
    )
    assert {name for name, *_ in found} == set(supplies)
    for name, usable, sign, events, hours, allowed, _ in found:
        (low, high), (event_low, event_high), (least, most) = map(bounds, (usable, events, hours))
        moved = (event_low, event_high) if sign == "+" else (-event_high, -event_low)
        slack = last_digit(allowed)
        assert (low + moved[0]) / most - slack <= float(allowed) <= (high + moved[1]) / least + slack
        # The card's is what the stores lose; the allowance of margins is what may be drawn for that.
        assert float(allowed) == pytest.approx(supplies[name]["allowance"], rel=0.01)
        assert float(allowed) <= supplies[name]["allowance"] * 1.01


@pytest.mark.parametrize("name", ["vole", "whelk"])
def test_the_plan_written_out_comes_to_the_engines_margin(endurance: Any, name: str) -> None:
    """On Tern's card there is no room for it; its figures stand in the table there."""
    scenario = CONFIGS / name
    card = card_of(endurance, scenario)
    margins = endurance("margins", "--json", scenario).document
    name = margins["shortest"]
    (written,) = re.findall(rf"^ {name}, plan: (.*)$", card, re.M)
    terms, _, result = written.partition(" = ")
    usable = re.match(NUMBER, terms)
    assert usable is not None
    low, high = bounds(usable.group())
    for hours, rate in re.findall(rf"- ({NUMBER}) x ({NUMBER})", terms):
        (h_low, h_high), (r_low, r_high) = bounds(hours), bounds(rate)
        low, high = low - h_high * r_high, high - h_low * r_low
    events = re.search(rf"([+-]) ({NUMBER})$", terms)
    if events is not None:
        moved = sorted(
            bounds(events.group(2)) if events.group(1) == "+" else [-each for each in bounds(events.group(2))]
        )
        low, high = low + moved[0], high + moved[1]
    left = result.split()[0]
    assert low - last_digit(left) <= float(left) <= high + last_digit(left)
    supply = margins["supplies"][name]
    assert float(left) == pytest.approx(supply["left_at_need"]["p50"], abs=last_digit(left))
    if "margin" in result:
        rate, margin = re.findall(rf"/ ({NUMBER}) = margin \+?({NUMBER}) h", result)[0]
        assert float(left) / float(rate) == pytest.approx(float(margin), rel=2e-3)
        assert float(margin) == pytest.approx(supply["margin_h"]["p50"], abs=last_digit(margin))
    else:
        assert float(left) < 0.0


def test_the_margins_of_the_table_are_the_engines_rounded_down(endurance: Any, scenario: Path) -> None:
    lines = endurance("brief", "--card", scenario).out.splitlines()
    supplies = endurance("margins", "--json", scenario).document["supplies"]
    for label, end in (("= margin h", "p50"), ("margin h, low end", "p05")):
        (line,) = [line for line in lines if line.startswith(label)]
        shown = line.split()[-len(supplies) :]
        for text, supply in zip(shown, supplies.values(), strict=True):
            true = supply["margin_h"][end]
            assert true - last_digit(text) - 1e-9 <= float(text) <= true + 1e-9


def dioxide_sums(card: str) -> list[tuple[str, ...]]:
    return re.findall(
        rf"^ ([^:\n]+): \(({NUMBER}) - ({NUMBER})\) / ({NUMBER}) = ({NUMBER}) h, "
        r"until (\d+)h(\d\d)(, OVER)?$",
        card,
        re.M,
    )


def without_removal(endurance: Any, *words: object) -> dict[str, dict[str, float]]:
    clocks = endurance("margins", "--json", *words).document["cabin_clocks"]
    return {
        clock["limit"]: clock["reached_in_h"]
        for clock in clocks
        if clock["supposition"] == "if CO2 removal stopped now" and clock["of"] == "carbon_dioxide"
    }


def test_co2_without_removal_is_reckoned_from_its_own_figures(endurance: Any, scenario: Path) -> None:
    found = dioxide_sums(card_of(endurance, scenario))
    at_h = endurance("margins", "--json", scenario).document["elapsed_h"]
    assert {name for name, *_ in found} == set(without_removal(endurance, scenario))
    for _, at, now, rise, hours, hour, minute, over in found:
        assert float(hours) == pytest.approx((float(at) - float(now)) / float(rise), abs=last_digit(hours))
        until_h = int(hour) + int(minute) / 60
        # Every reading is of this minute: the moment is now and so many hours.
        assert at_h + float(hours) - 2 / 60 <= until_h <= at_h + float(hours) + 0.01
        assert not over


@pytest.mark.parametrize("later_h", [0.0, 0.5, 9.0, 36.0])
def test_by_hand_co2_is_never_later_than_the_engines_central_case(
    endurance: Any, scenario: Path, later_h: float
) -> None:
    """With readings of now and with old ones: who works later breathes out more than who sleeps now."""
    at_h = endurance("margins", "--json", scenario).document["elapsed_h"] + later_h
    words = ("--at", f"T+{at_h:.4f}h", scenario)
    central = without_removal(endurance, *words)
    found = dioxide_sums(card_of(endurance, *words))
    assert found
    for limit, *_, hour, minute, _ in found:
        assert int(hour) + int(minute) / 60 <= at_h + central[limit]["p50"] + 1e-6, limit


def test_an_old_reading_of_co2_is_counted_from_its_own_moment(endurance: Any) -> None:
    now = card_of(endurance, CONFIGS / "tern")
    later = card_of(endurance, "--at", "T+62h", CONFIGS / "tern")
    assert "AGO: READ IT NOW" not in now
    assert "from its reading at 25h48 (36h13m AGO: READ IT NOW)" in later
    for _, at, before, rise, _, hour, minute, over in dioxide_sums(later):
        span_h = (float(at) - float(before)) / float(rise)
        assert int(hour) + int(minute) / 60 <= 25.8 + span_h
        assert over, "its time ran out while nobody looked"


def test_a_new_pressure_turns_into_an_amount_by_the_worth_beside_it(endurance: Any, tern: Path) -> None:
    """With four fifths of what the gauge shows: by hand within 1 % of the engine, and not above it."""
    card = card_of(endurance, tern)
    state = tern / "state.json"
    document = json.loads(state.read_text("utf-8"))
    found = re.findall(rf"(o2-\d)\.pressure ({NUMBER})(?: MPa)? = ({NUMBER}) kg \(({NUMBER})\)", card)
    assert {store for store, *_ in found} == {"o2-1", "o2-2"}
    for store, reading, _, _ in found:
        document["readings"][f"{store}.pressure"] = f"{0.8 * float(reading)} MPa"
    state.write_text(json.dumps(document), encoding="utf-8")
    stores = endurance("margins", "--json", tern).document["supplies"]["oxygen"]["stores"]
    for store, reading, held, worth in found:
        by_hand = float(held) - 0.2 * float(reading) * float(worth)
        true = stores[store]["on_board"]
        assert by_hand == pytest.approx(true, rel=0.01), store
        assert by_hand <= true * 1.002


def test_each_gauges_amount_is_what_margins_has_in_the_store(endurance: Any, scenario: Path) -> None:
    card = card_of(endurance, scenario)
    supplies = endurance("margins", "--json", scenario).document["supplies"]
    held = {name: store["on_board"] for each in supplies.values() for name, store in each["stores"].items()}
    block = card[card.index("GAUGES") : card.index("CABIN LIMITS")]
    found = re.findall(rf"([\w-]+)\.\w+ {NUMBER}(?: [^\s,]+)? = ({NUMBER})", block)
    assert found
    for store, amount in found:
        assert held[store] - last_digit(amount) <= float(amount) <= held[store] + 1e-9, store


def test_each_deadline_and_the_need_are_among_what_comes_next(endurance: Any, scenario: Path) -> None:
    card = endurance("brief", "--card", scenario).out
    options = endurance("options", "--json", scenario).document["options"]
    for name, way in options.items():
        if way["decide_by"] is not None and way["decide_in_h"] >= 0.0:
            assert f"DECIDE BY {name}" in card
    assert "ARRIVAL" in card
    assert "NEED ends" in card


def test_each_limit_has_its_source(endurance: Any, scenario: Path) -> None:
    card = endurance("brief", "--card", scenario).out
    said = " ".join(card[card.index("LIMITS BY") : card.index("CURRENTS")].split())
    for clock in endurance("margins", "--json", scenario).document["cabin_clocks"]:
        assert clock["source"] in said


def test_a_supply_that_cannot_be_read_is_no_figure_on_the_card(endurance: Any, tern: Path) -> None:
    state = tern / "state.json"
    document = json.loads(state.read_text("utf-8"))
    for number in (1, 2):
        document["readings"][f"o2-{number}.pressure"] = None
    state.write_text(json.dumps(document), encoding="utf-8")
    card = card_of(endurance, tern)
    assert "NOT KNOWN: oxygen" in card
    assert "NOT GOOD, READ NOW" in card
    (row,) = [line for line in card.splitlines() if line.startswith("oxygen kg")]
    assert row.split()[2] == "?"
    assert not re.search(r"^ oxygen: now", card, re.M)
    brief = endurance("brief", tern).out
    assert "on these figures, yes" not in brief.lower()
    assert "not known" in brief.lower()


def test_old_readings_are_the_first_line_of_the_card(endurance: Any) -> None:
    card = endurance("brief", "--card", "--at", "T+62h", CONFIGS / "tern").out
    assert card.startswith("READINGS ARE 37 h OLD")


def test_the_card_is_read_in_the_units_asked_for(endurance: Any, tern: Path) -> None:
    card = card_of(endurance, "--units", "us", tern)
    assert re.search(r"^oxygen lb ", card, re.M)
    assert not re.search(r"\d kg\b", card[: card.index("GAUGES")])


def test_once_the_need_has_passed_nobody_is_told_yes(endurance: Any, tern: Path) -> None:
    said = endurance("brief", "--at", "T+110h", tern)
    assert said.status == 0
    assert "yes" not in said.out.lower()
    assert "passed" in said.out
    assert endurance("brief", "--card", "--at", "T+110h", tern).status == 0


def test_a_source_without_readings_is_refused_in_one_line(endurance: Any, tern: Path) -> None:
    (tern / "state.json").write_text("{}", encoding="utf-8")
    for words in ((), ("--card",)):
        said = endurance("brief", *words, "--at", "T+26h", tern)
        assert (said.status, said.out) == (2, "")
        assert said.err.startswith("endurance: ")


def test_the_answers_in_json_say_the_figures_of_their_sentences(endurance: Any, scenario: Path) -> None:
    document = endurance("brief", "--json", scenario).document
    margins = endurance("margins", "--json", scenario).document
    lasting, first, making = (answer["figures"] for answer in document["answers"][:3])
    for name, supply in margins["supplies"].items():
        assert lasting["supplies"][name]["endurance_plan_h"] == supply["endurance_plan_h"]
        assert lasting["supplies"][name]["unit"] == supply["unit"]
        assert making["margins_h"][name] == supply["margin_h"]
    assert first["name"] in {*margins["supplies"], *(clock["limit"] for clock in margins["cabin_clocks"])}
    assert making["need_in_h"] == margins["need"]["in_h"]
