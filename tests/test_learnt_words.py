"""What readings taught, in words: never surer than the figures."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

from console.craft.model import LoadState
from console.engine.learnt import Cause, ChangeCourse, UnloggedChange, UseFactor
from console.engine.validity.verdict import Doubt, Use, Verdict
from console.learnt_words import doubt_text, factor_text, unlogged_text
from console.units import parse_unit

POWER: Any = SimpleNamespace(name="power", rate_unit=parse_unit("A"))
OXYGEN: Any = SimpleNamespace(name="oxygen", rate_unit=parse_unit("kg/h"))


def change(**given: Any) -> UnloggedChange:
    fields: dict[str, Any] = {
        "supply": "power",
        "store": "",
        "since_s": 34 * 3600.0,
        "change_si_per_s": 1.12,
        "sd_si_per_s": 0.2,
        "probability": 0.9999,
        "course": ChangeCourse.STEADY,
        "doubles_in_s": None,
        "parts": (0,),
        "causes": (),
        **given,
    }
    return UnloggedChange(**fields)


def test_a_change_says_since_when_by_how_much_and_what_would_explain_it() -> None:
    causes = (
        Cause(loads=(("dis-side", LoadState.OFF, LoadState.ON),), change_si_per_s=1.1, share=0.804),
        Cause(loads=(("gal-heater", LoadState.OFF, LoadState.ON),), change_si_per_s=1.2, share=0.1),
    )
    assert unlogged_text(change(causes=causes), POWER) == (
        "UNLOGGED CHANGE: 1.12 A more than all that is known, +- 0.200 A, since about T+34h00m (99 % sure); "
        "would be explained by dis-side on instead of off (80 %) or gal-heater on instead of off (10 %)"
    )


def test_less_use_and_growth_and_leaks_have_words_of_their_own() -> None:
    assert "1.12 A less than all that is known" in unlogged_text(change(change_si_per_s=-1.12), POWER)
    grows = change(course=ChangeCourse.GROWING, doubles_in_s=9 * 3600.0, change_si_per_s=0.05 / 3600)
    assert "it grows, doubling in 9.0 h" in unlogged_text(grows, OXYGEN)
    leak = change(course=ChangeCourse.IN_PROPORTION, change_si_per_s=0.05 / 3600)
    assert unlogged_text(replace(leak, store="o2-2"), OXYGEN).startswith("UNLOGGED CHANGE from o2-2: ")
    assert unlogged_text(leak, OXYGEN).endswith("it goes in proportion to what is left, as a leak does")


def test_a_spread_is_rounded_up_so_that_no_factor_seems_exact() -> None:
    assert factor_text(UseFactor(name="loads", factor=1.0249, sd=0.002)) == "loads 1.02 +- 0.01"


def test_a_doubt_says_what_is_done_about_it() -> None:
    doubt = Verdict(
        channel="o2-1.pressure",
        kind=Doubt.STUCK,
        since_s=0.0,
        why="8.64 MPa unchanged for 6h",
        use=Use.LEFT_OUT,
    )
    assert doubt_text(doubt) == (
        "o2-1.pressure: stuck: 8.64 MPa unchanged for 6h; left out; what was known before it stands in"
    )
