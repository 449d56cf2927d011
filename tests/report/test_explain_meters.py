"""What meters say of batteries is explained too: measured shares, and a meter that is known to be wrong."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import explain_scene
import pytest
from explain_checks import DRAWS, HOUR, assessed_in, check_equation
from test_explain_every_number import check_every_number

from console.engine.assess import assess
from console.engine.explain.explanation import FigureSource, SolvedSource
from console.engine.explain.figures import Figures, figures_of
from console.engine.snapshot import Snapshot

BIAS_A = 0.5


@pytest.mark.parametrize("later_h", [0, 25])
def test_every_number_is_explained_where_batteries_share_as_measured(tmp_path: Path, later_h: int) -> None:
    known = check_every_number(
        *assessed_in(explain_scene.write(tmp_path, explain_scene.MEASURED), later_h * HOUR)
    )
    cost = known["power.segments.1.uses.rate effect of the batteries"]
    shares = [each for each in cost.inputs if each.symbol.startswith("c_")]
    if later_h:
        # The meters are old by then: by capacity, of which these are no parts.
        assert sum(each.value for each in shares) > 1.0
        return
    assert all(isinstance(each.source, FigureSource) for each in shares)
    # By capacity it would be 40 to 30.
    assert [each.value for each in shares] == pytest.approx([4.1 / 7.0, 2.9 / 7.0])


def with_a_biased_meter(folder: Path) -> tuple[Snapshot, Figures]:
    """As after many looks, from which the meter of one battery is known to show too much."""
    _, figures = assessed_in(explain_scene.write(folder, explain_scene.MEASURED))
    situation = figures.grounds.situation
    memory = assess(situation, None, DRAWS).memory.charges["bat-a"]
    state = replace(memory.state, bias_a=BIAS_A, bias_variance_a2=1e-4)
    situation = replace(situation, charges={"bat-a": replace(memory, state=state)})
    found = assess(situation, None, DRAWS)
    return found.snapshot, figures_of(situation, found, DRAWS, figures.grounds.lines)


def test_what_a_meter_shows_too_much_stands_in_the_present_rate(tmp_path: Path) -> None:
    snapshot, figures = with_a_biased_meter(tmp_path)
    check_every_number(snapshot, figures)
    one = figures.explain("power.rate_now")
    check_equation(one)
    wrong = next(each for each in one.inputs if each.symbol == "e_1")
    assert wrong.value == BIAS_A
    assert isinstance(wrong.source, SolvedSource)
    # 28 V on the bus, in watts.
    assert one.value == pytest.approx(28.0 * (4.1 + 2.9 - BIAS_A))
