"""Until when a way home stays open, in words that a tired person reads right."""

from __future__ import annotations

import pytest

from console.engine.open_until import Closing, Open, Stop
from console.engine.options import Delay
from console.report.open_words import delay_sentence, open_sentence

H = 3600.0
NOW = 10 * H


def said(spans: tuple[tuple[float, float], ...], at_s: float, by: Closing, name: str = "") -> str:
    found = Open(spans_s=spans, closed_by=Stop(at_s=at_s, by=by, name=name))
    return open_sentence(found, "a margin of zero", NOW)


@pytest.mark.parametrize(
    ("spans", "at_s", "by", "name", "words"),
    [
        (
            ((NOW, 20 * H),),
            20 * H,
            Closing.DECIDE_BY,
            "",
            "until T+20h00m, in 10h00m: its decide-by; no supply closes it before",
        ),
        (
            ((NOW, 20 * H),),
            20 * H,
            Closing.SUPPLY,
            "water",
            "until T+20h00m, in 10h00m: then water does not reach a margin of zero",
        ),
        ((), NOW, Closing.SUPPLY, "water", "CLOSED already: water does not reach a margin of zero"),
        ((), 8 * H, Closing.DECIDE_BY, "", "CLOSED since T+8h00m, 2h00m ago: its decide-by"),
        ((), 8 * H, Closing.OWN_EVENT, "burn", "CLOSED since T+8h00m, 2h00m ago: its own event burn"),
        ((), NOW, Closing.DELTA_V, "", "CLOSED: it needs more delta-v than is left"),
        (
            ((12 * H, 20 * H),),
            20 * H,
            Closing.SUPPLY,
            "water",
            "CLOSED now; opens T+12h00m, until T+20h00m, in 10h00m: then water does not reach a margin of "
            "zero",
        ),
        (
            ((NOW, 11 * H), (12 * H, 20 * H)),
            20 * H,
            Closing.UNDER_WAY,
            "burn",
            "until T+20h00m, in 10h00m, but closed from T+11h00m to T+12h00m: burn takes us off on the "
            "present course; no supply closes it before",
        ),
    ],
)
def test_a_way_home_is_open_or_closed_and_why(
    spans: tuple[tuple[float, float], ...], at_s: float, by: Closing, name: str, words: str
) -> None:
    assert said(spans, at_s, by, name) == words


@pytest.mark.parametrize(
    ("low", "central", "words"),
    [
        (0.0, 0.0, "each hour of waiting costs nothing of the least margin (tried over 1.0 h)"),
        (
            1.501,
            0.4,
            "each hour of waiting costs 1.51 h of the least margin by the low end, costs 0.40 h central "
            "(tried over 1.0 h)",
        ),
        (
            -0.259,
            None,
            "each hour of waiting gains 0.25 h of the least margin by the low end, has no figure central "
            "(tried over 1.0 h)",
        ),
    ],
)
def test_what_waiting_costs_is_rounded_to_more(low: float, central: float | None, words: str) -> None:
    assert delay_sentence(Delay(low=low, central=central, over_s=H)) == words
