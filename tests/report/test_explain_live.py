"""Every number is explained too where readings over time correct the model, doubt a gauge and find a change.

As in ``test_explain_every_number``, the equation that is shown gives the figure with the inputs that are
shown; but here of a contingency under way, with its history.
"""

from __future__ import annotations

import pytest
from explain_checks import HOUR, check_equation, depth_of, every_input, walked
from live_scene import LEFT_ON, NOW_S, OFF, STUCK, leaking_figures, live, live_figures
from test_explain_deciding import check_document, of_options, of_whatif
from test_explain_every_number import check_every_number

from console.engine.evidence.luck import UNLOGGED
from console.engine.explain.explanation import (
    Explanation,
    FigureSource,
    ReadingSource,
    SolvedSource,
)
from console.engine.explain.figures import Figures
from console.engine.explain.paths import text_of
from console.engine.forecast import Draws
from console.feed.simulated_faults import LeakCourse
from console.report.explain import explanation_text
from console.report.explain_export import explanation_document
from console.units import UnitSystem

BEFORE_DECIDING_S = 27.9 * HOUR
"""When another way home is still open: two hours of readings."""


def reading_of(known: dict[str, Explanation], channel: str) -> ReadingSource:
    return next(
        each.source
        for one in known.values()
        for each in every_input(one)
        if isinstance(each.source, ReadingSource) and each.source.channel == channel
    )


def test_every_number_of_a_contingency_under_way_is_explained() -> None:
    known = check_every_number(*live_figures())
    for supply in ("power", "oxygen", "water", "absorbent"):
        assert f"{supply}.learnt.off" in known, f"no level of {supply} was taken from its readings"
    # One of its gauges swings: its average stands, and no course is read from it.
    assert "propellant.learnt.off" not in known
    assert any(".learnt.level.sample-" in path for path in known)
    assert any(".stray.sample-" in path for path in known)
    assert any("luck_of_loads" in path for path in known)


@pytest.mark.parametrize(
    ("name", "hours", "units", "store", "course", "words"),
    [
        (
            "whelk",
            8.0,
            UnitSystem.AS_WRITTEN,
            "o2-bank-1",
            LeakCourse.DECAYING,
            "in proportion to what is held",
        ),
        ("vole", 6.0, UnitSystem.METRIC, "o2-left", LeakCourse.GROWING, "doubling every"),
        ("tern", 12.0, UnitSystem.US, "o2-1", LeakCourse.GROWING, "doubling every"),
    ],
)
def test_a_leak_that_nobody_logged_is_explained_as_it_goes(
    name: str, hours: float, units: UnitSystem, store: str, course: LeakCourse, words: str
) -> None:
    known = check_every_number(*leaking_figures(name, hours, units, store, course))
    changes = [one.title for path, one in known.items() if path.startswith("oxygen.learnt.changes.")]
    assert changes
    assert any(words in title for title in changes)


@pytest.mark.parametrize("at_s", [NOW_S, BEFORE_DECIDING_S])
def test_every_number_of_the_ways_home_is_explained_with_a_history(at_s: float) -> None:
    _, figures = live_figures(at_s)
    check_document("options", *of_options(figures), 70)


def test_every_number_of_a_supposition_is_explained_with_a_history() -> None:
    _, figures = live_figures()
    check_document("whatif", *of_whatif(figures, ["use cabin-leak 0.08 kg/h", "load dis-main off"]), 190)


def test_a_draw_names_the_factor_that_was_measured_over_it() -> None:
    _, figures = live_figures()
    one = figures.explain("power.segments.2.uses.cpu-main")
    assert one.equation == "on * duty * is_on * (x + y - 1)"
    inputs = {each.symbol: each for each in one.inputs}
    source = inputs["x"].source
    assert isinstance(source, FigureSource)
    (found,) = figures.explain(source.path).inputs
    assert isinstance(found.source, SolvedSource)
    evidence = live()[1].known.evidence
    assert evidence is not None
    sd = float(evidence.covariance[0, 0]) ** 0.5
    assert f"{found.value:.3f} ± {sd:.3f}, from readings of power (" in found.source.how
    assert "of the last 11.1 h" in found.source.how
    # The listed draw is what the load's own line says, uncorrected.
    assert figures.explain("loads.cpu-main.draw").value == pytest.approx(2.1)


def test_the_margin_says_what_it_counts_of_the_readings() -> None:
    _, figures = live_figures()
    remarks = "\n".join(figures.explain("power.margin").remarks)
    assert "counted: measured over modelled use of loads 1.02" in remarks
    assert "counted: change that nobody logged, since T+34h3" in remarks
    assert "probable" in remarks
    assert "counted" not in "\n".join(figures.explain("power.reserve").remarks)


def test_a_load_that_was_left_on_is_a_change_with_its_moment_size_and_probability() -> None:
    _, figures = live_figures()
    one = figures.explain("power.learnt.changes.1")
    assert one.value is not None
    assert one.title.startswith("change that nobody logged, since T+34h3")
    # What the load draws by the craft's file, within the spread of loads and the readings' own.
    draw = live()[0].craft.loads[LEFT_ON].on_si_per_s
    assert one.value == pytest.approx(draw, abs=3.0 * (0.03 * draw + 0.2))
    (found,) = one.inputs
    assert isinstance(found.source, SolvedSource)
    assert "±" in found.source.how
    assert "steady" in one.remarks[0]
    line = figures.explain(text_of(("power", "ledger", UNLOGGED)))
    assert line.value is not None
    until_h = (live()[1].ahead.option.need_s - NOW_S) / HOUR
    # It stands so until the plan next moves what it may be: never longer than until need.
    assert 0.5 * one.value * until_h < -line.value <= one.value * until_h
    switched = figures.explain("power.unlogged.1.causes.1.change")
    assert switched.title == f"what {LEFT_ON} on instead of off would change"
    assert switched.value == pytest.approx(draw)


def test_a_channel_that_is_doubted_says_why_and_what_stands_in() -> None:
    _, figures = live_figures()
    known = walked(figures, ["oxygen.margin", "propellant.margin", "propellant.usable"])
    stuck = reading_of(known, STUCK)
    assert "unchanged for 2h00m" in stuck.why
    assert "9.92 MPa, is left out; what it said at T+35h00m stands in" in stuck.stands_in
    assert stuck.age_s == pytest.approx(2 * HOUR, abs=61.0)
    swinging = reading_of(known, "prop-1.quantity")
    assert "swings by 12 kg" in swinging.why
    assert "an average over whole periods stands in for it" in swinging.stands_in
    # What nothing speaks against is used as it is, and nothing is said of it.
    good = reading_of(known, "o2-1.pressure")
    assert (good.why, good.stands_in) == ("", "")
    text = explanation_text(figures, figures.explain("oxygen.stores.o2-2.as_read"))
    assert "is left out" in text
    document = explanation_document(figures, figures.explain("oxygen.stores.o2-2.as_read"))
    assert "stands in" in document["inputs"][0]["source"]["stands_in"]


def test_the_level_is_that_of_all_readings_and_says_by_how_much_it_corrects_the_newest() -> None:
    _, figures = live_figures()
    parts = [figures.explain(f"power.stores.bat-{number}.on_board") for number in (1, 2, 3, 4)]
    off = figures.explain("power.learnt.off")
    reads = [figures.explain(f"power.stores.bat-{number}.as_read") for number in (1, 2, 3, 4)]
    assert off.value is not None
    corrected = sum((one.value or 0.0) - (read.value or 0.0) for one, read in zip(parts, reads, strict=True))
    assert corrected == pytest.approx(off.value, rel=1e-6)
    assert {each.symbol for each in off.inputs} >= {"level", "rate", "since"}


def test_a_low_end_names_the_way_in_which_its_sample_takes_the_readings() -> None:
    _, figures = live_figures()
    luck = figures.explain("power.margin.p05").remarks[1]
    assert luck.startswith("its luck: way ")
    assert "change that nobody logged, since T+34h" in luck
    assert "use wanders by" in luck


def test_each_sample_of_a_factor_is_its_mean_and_its_draws() -> None:
    _, figures = live_figures()
    named = [
        figures.explain(f'water.learnt.factors."use cooling".sample-{number}') for number in range(1, 201)
    ]
    for one in named[:5]:
        check_equation(one)
    values = [one.value or 0.0 for one in named]
    evidence = live()[1].known.evidence
    assert evidence is not None
    place = evidence.names.index("use cooling")
    mean, sd = 1.0 + float(evidence.mean[place]), float(evidence.covariance[place, place]) ** 0.5
    assert sum(values) / len(values) == pytest.approx(mean, abs=0.3 * sd)
    spread = (sum((value - mean) ** 2 for value in values) / len(values)) ** 0.5
    assert spread == pytest.approx(sd, rel=0.35)


def test_what_readings_taught_is_walked_down_to_what_comes_from_outside() -> None:
    _, figures = live_figures()
    known = walked(figures, ["power.margin.p05", "water.left_at_need.p95"])
    assert depth_of(known) > 6
    ends: set[type] = {
        type(each.source)
        for one in known.values()
        for each in every_input(one)
        if not isinstance(each.source, FigureSource)
    }
    assert SolvedSource in ends
    assert ReadingSource in ends


@pytest.mark.parametrize(
    "path",
    [
        "power.learnt.level",
        "power.learnt.changes.2",
        "power.learnt.factors.nothing",
        "power.factors.nothing.factor",
        "power.unlogged.2.change",
        "power.course.999.wander",
        "power.segments.2.luck_of_loads",
        "loads.learnt.off",
    ],
)
def test_what_was_not_learnt_is_no_figure(path: str) -> None:
    _, figures = live_figures()
    with pytest.raises(LookupError):
        figures.explain(path)


def test_without_a_history_nothing_was_learnt() -> None:
    situation, _ = live()
    plain: Figures = live_figures(history=False)[1]
    with pytest.raises(LookupError):
        plain.explain("power.learnt.off")
    assert plain.explain("power.segments.2.uses.cpu-main").value == pytest.approx(2.1)
    assert situation.history
    assert all(not remark.startswith("counted") for remark in plain.explain("power.margin").remarks)


def test_what_was_logged_off_is_in_no_draw_and_what_nobody_logged_is_in_it() -> None:
    _, figures = live_figures(draws=Draws(seed=0, count=0))
    number = live()[1].ahead.use.now_index + 1
    names = [each.name for each in figures.explain(f"power.segments.{number}.draw").inputs]
    assert any(name.startswith(UNLOGGED) for name in names)
    assert any(name.startswith("draw of cpu-main") for name in names)
    assert not any(load in name for load in OFF for name in names)
