"""``endurance brief --card``: one page whose sums come out by hand and agree with the engine."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from console.report.brief.card_columns import LINES

CONFIGS = Path(__file__).parents[2] / "configs"
SCENARIOS = ("tern", "vole", "whelk")
NOW = re.compile(r"^(\S+) \S+ +([\d.]+) / ([\d.]+) += ([\d.]+) ", re.M)


@pytest.fixture(params=SCENARIOS)
def scenario(request: pytest.FixtureRequest) -> Path:
    return CONFIGS / str(request.param)


def test_it_is_one_page_of_plain_characters(endurance: Any, scenario: Path) -> None:
    said = endurance("brief", "--card", scenario)
    lines = said.out.splitlines()
    assert said.status == 0
    assert 30 < len(lines) <= LINES
    assert max(map(len, lines)) <= 80
    assert said.out.isascii()


def test_usable_over_rate_is_the_time_left_as_margins_has_it(endurance: Any, scenario: Path) -> None:
    supplies = endurance("margins", "--json", scenario).document["supplies"]
    sums = NOW.findall(endurance("brief", "--card", scenario).out)
    assert {name for name, *_ in sums} == set(supplies)
    for name, usable, rate, hours in sums:
        # Four figures of each: the quotient is good to a thousandth.
        assert float(usable) / float(rate) == pytest.approx(float(hours), rel=2e-3)
        assert float(usable) == pytest.approx(supplies[name]["usable"], rel=1e-3)
        # What batteries lose by the rate is in no rate, but in the endurance.
        assert float(hours) == pytest.approx(supplies[name]["endurance_now_h"]["p50"], rel=1e-2)


def test_hours_times_rate_come_down_to_what_is_left(endurance: Any, scenario: Path) -> None:
    lines = endurance("brief", "--card", scenario).out.splitlines()
    begin = next(at for at, line in enumerate(lines) if line.startswith("RATES AHEAD"))
    end = next(at for at, line in enumerate(lines) if line.startswith("usable now"))
    names = list(endurance("margins", "--json", scenario).document["supplies"])
    count = len(names)

    def figures(line: str) -> list[float]:
        return [float(word) for word in line.split()[-count:]]

    phases = [line.split() for line in lines[begin + 2 : end]]
    used = [
        sum(float(words[-count - 1]) * float(words[at - count]) for words in phases) for at in range(count)
    ]
    usable, taken, events, left = (figures(line) for line in lines[end : end + 4])
    for at in range(count):
        assert used[at] == pytest.approx(-taken[at], rel=3e-3, abs=1e-3), names[at]
        total = usable[at] + taken[at] + events[at]
        assert total == pytest.approx(left[at], abs=2e-3 * (usable[at] + abs(events[at]))), names[at]


def test_every_limit_of_the_cabin_is_on_it(endurance: Any, scenario: Path) -> None:
    clocks = endurance("margins", "--json", scenario).document["cabin_clocks"]
    card = endurance("brief", "--card", scenario).out
    block = card[card.index("CABIN LIMITS") : card.index("CO2 IF REMOVAL STOPS")]
    assert len(block.splitlines()) == 1 + len({clock["limit"] for clock in clocks})


def test_the_card_has_one_form(endurance: Any, scenario: Path) -> None:
    refused = endurance("brief", "--card", "--long", scenario)
    assert refused.status == 2
    assert "--card is one page" in refused.err


def test_every_supply_lacks_hours_by_its_last_rate_where_it_ends_in_the_last_phase(endurance: Any) -> None:
    """Whelk's power: what is missing at need, over the draw of the phase in which it ends."""
    card = endurance("brief", "--card", CONFIGS / "whelk").out
    power = endurance("margins", "--json", CONFIGS / "whelk").document["supplies"]["power"]
    left, rate, margin = (
        float(next(line for line in card.splitlines() if line.startswith(label)).split()[-4])
        for label in ("= left at need", "/ rate at need", "= margin h")
    )
    assert left < 0.0
    assert left / rate == pytest.approx(margin, abs=0.02)
    assert margin == pytest.approx(power["margin_h"]["p50"], abs=0.01)


def test_what_an_event_brings_says_of_which_supply(endurance: Any, scenario: Path) -> None:
    card = endurance("brief", "--card", scenario).out
    names = list(endurance("margins", "--json", scenario).document["supplies"])
    coming = card[card.index("NEXT (") :]
    amounts = re.findall(r"[+-][\d.]+ (?:kg|lb|L|A\.h|kW\.h|gal|ft\^3) (\S+)", coming)
    assert amounts
    assert {word.rstrip(",") for word in amounts} <= set(names)


def test_the_foot_stays_however_much_there_is_to_say(endurance: Any, tern: Path) -> None:
    plan = tern / "plan.yaml"
    more = "".join(
        f"  - {{name: vent number {at} of the tank, at: T+{30 + at}h, uses: {{oxygen: 0.01 kg}}}}\n"
        for at in range(60)
    )
    text = plan.read_text("utf-8")
    plan.write_text(text.replace("\nevents:\n", f"\nevents:\n{more}", 1), encoding="utf-8")
    said = endurance("brief", "--card", tern)
    lines = said.out.splitlines()
    assert (said.status, len(lines)) == (0, LINES)
    assert "uncalibrated" in lines[-1]
    assert any("more lines: plan.yaml" in line for line in lines)
    assert any(line.startswith("CABIN LIMITS") for line in lines)
