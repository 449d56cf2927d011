"""Every number of the JSON of options, what-if, switch-off advice, single losses and brief is explained.

The equation that is shown, with the inputs that are shown, must give the figure to 1e-9, and every input that
is another figure must be that figure. Each number's own equation is checked, and with it all that its value
rests on is made; of a spread of them every way is walked down to what comes from outside.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import delay_scene
import explain_scene
import pytest
from explain_checks import DRAWS, HOUR, assessed, assessed_in, check_equation, depth_of, every_input, walked

from console.change_words import Ground, read_changes
from console.craft.model import LoadState
from console.engine.ahead import look_ahead
from console.engine.assess import assess
from console.engine.briefing import briefing_of
from console.engine.configuration import ConfigurationChange
from console.engine.delayed import Delayed
from console.engine.difference import difference
from console.engine.explain.asked import Asked, KeepAsked, ShedAsked
from console.engine.explain.book import NoFigureError, NotAskedError
from console.engine.explain.explanation import AssumptionSource, ConfigSource, Explanation
from console.engine.explain.figures import Figures
from console.engine.keep_or_off import keep_or_off
from console.engine.loss import losses_of
from console.engine.open_until import TOLERANCE_S
from console.engine.options import options_of
from console.engine.shed_advice import shed_advice
from console.engine.switch import switched_at
from console.engine.whatif import suppose
from console.report.brief.answers import brief_of
from console.report.brief.document import brief_document
from console.report.explain_deciding_paths import (
    brief_path,
    loss_path,
    options_path,
    shed_path,
    whatif_path,
)
from console.report.explain_paths import Place, numbers
from console.report.loss_export import losses_document
from console.report.options_export import options_document
from console.report.shed_export import shed_document
from console.report.whatif_export import keep_document, whatif_document
from console.units import UnitSystem

Numbers = list[tuple[str, float]]
HEAD = {"format", "elapsed", "feed.age"}
"""Numbers that stand before each document and are those of ``margins``."""

CHANGES = {
    "tern": (
        ["load com-radio off"],
        ["use cabin-leak 0.05 kg/h", "people asleep 2, nominal 2 from T+33h", "add water 1.5 kg at T+30h"],
        ["option tender", "arrive 2 h later", "store bat-2 isolated at T+40h", "load com-radio standby"],
    ),
    "whelk": (["arrive 3 h later"], ["store {store} lost", "level {level}"]),
    "vole": (["arrive 3 h later"], ["store {store} lost", "level {level}"]),
}


def paths_and_values(document: Any, path_of: Callable[[Place], str]) -> Numbers:
    return [(path_of(place), value) for place, value in numbers(document)]


def of_options(figures: Figures) -> tuple[Figures, Numbers]:
    options = options_of(figures.grounds.situation, None, DRAWS)
    return figures, paths_and_values(options_document(options), options_path)


def of_loss(figures: Figures) -> tuple[Figures, Numbers]:
    losses = losses_of(figures.grounds.situation, None, DRAWS)
    return figures, paths_and_values(losses_document(losses), lambda place: loss_path(losses, place))


def of_brief(figures: Figures) -> tuple[Figures, Numbers]:
    briefing = briefing_of(figures.grounds.situation, None, DRAWS)
    document = brief_document(briefing.snapshot, brief_of(briefing))
    return figures, paths_and_values(document, lambda place: brief_path(briefing.snapshot, place))


def of_shed(figures: Figures, goal_h: float) -> tuple[Figures, Numbers]:
    asked = ShedAsked(goal_s=goal_h * HOUR, by_low_end=True, run_for_s=2 * HOUR)
    advice = shed_advice(figures.grounds.situation, asked.goal_s, DRAWS, run_for_s=asked.run_for_s)
    pairs = paths_and_values(shed_document(advice), lambda place: shed_path(advice, place))
    return figures.asking(Asked(shed=asked)), pairs


def asking_for(figures: Figures, texts: list[str]) -> Figures:
    situation = figures.grounds.situation
    ground = Ground(craft=situation.craft, plan=situation.plan, now_s=situation.at_s)
    return figures.asking(Asked(changes=read_changes(texts, ground), words=tuple(texts)))


def of_whatif(figures: Figures, texts: list[str]) -> tuple[Figures, Numbers]:
    asking, situation = asking_for(figures, texts), figures.grounds.situation
    after = assess(suppose(situation, asking.asked.changes), None, DRAWS).snapshot
    compared = difference(figures.grounds.snapshot, after)
    document = whatif_document(texts, compared)
    return asking, paths_and_values(document, lambda place: whatif_path(compared, place))


def of_keep(figures: Figures, asked: KeepAsked) -> tuple[Figures, Numbers]:
    situation = figures.grounds.situation
    choice = keep_or_off(situation, asked.load, asked.until_s, asked.restart_si, DRAWS)
    compared = difference(choice.keep, choice.off)
    pairs = paths_and_values(keep_document(choice, compared), lambda place: whatif_path(compared, place))
    return figures.asking(Asked(keep=asked)), pairs


def check_document(name: str, figures: Figures, asked: Numbers, least: int) -> dict[str, Explanation]:
    """Every number has a figure that is listed, is that number, and whose equation holds."""
    assert len(asked) > least
    listed = figures.paths_of(name)
    assert len(listed) == len(set(listed))
    assert {path for path, _ in asked} <= set(listed) | HEAD
    for path, value in asked:
        one = figures.explain(path)
        assert one.path == path
        assert one.value == pytest.approx(value, rel=1e-9, abs=1e-15), path
        check_equation(one)
    for path in listed:
        one = figures.explain(path)
        assert one.path == path
        assert one.value is not None or any(one.remarks), f"{path} is missing without a reason"
    known = walked(figures, [path for path, _ in asked[:: max(len(asked) // 20, 1)]])
    assert 3 <= depth_of(known) <= 40
    return known


DOCUMENTS: dict[str, Callable[[Figures], tuple[Figures, Numbers]]] = {
    "options": of_options,
    "loss": of_loss,
    "brief": of_brief,
    "shed": lambda figures: of_shed(figures, 12.0),
}
LEAST = {"options": 70, "loss": 160, "brief": 290, "shed": 280}
"""Fewer numbers than this no packaged scenario has: guards against a document that is empty."""


@pytest.mark.parametrize("document", DOCUMENTS)
@pytest.mark.parametrize("name", CHANGES)
def test_every_number_of_the_document_is_explained(name: str, document: str) -> None:
    _, figures = assessed(name)
    check_document(document, *DOCUMENTS[document](figures), LEAST[document])


def filled(figures: Figures, texts: list[str]) -> list[str]:
    """Changes with a store and a level of the craft at hand put in."""
    craft = figures.grounds.craft
    store = next(iter(craft.supplies.values())).stores[0].name
    return [text.format(store=store, level=list(craft.levels)[-1]) for text in texts]


@pytest.mark.parametrize(
    ("name", "texts"), [(name, texts) for name, every in CHANGES.items() for texts in every]
)
def test_every_number_of_a_supposition_is_explained(name: str, texts: list[str]) -> None:
    _, figures = assessed(name)
    check_document("whatif", *of_whatif(figures, filled(figures, texts)), 190)


def test_every_number_of_keeping_a_load_or_not_is_explained() -> None:
    _, figures = assessed("tern")
    until_s = figures.grounds.at_s + 10 * HOUR
    restart = {"power": 2 * 3600.0, "water": 0.05}
    asked = KeepAsked(load="com-radio", until_s=until_s, restart_si=restart)
    asking, pairs = of_keep(figures, asked)
    check_document("whatif", asking, pairs, 290)
    pays = asking.explain("whatif.trades.power.pays_after")
    assert pays.value is not None
    # Off for just that long, and both ways leave the same: the break-even by another question.
    at_break_even = KeepAsked(
        load="com-radio", until_s=figures.grounds.at_s + pays.value * HOUR, restart_si=restart
    )
    saved = figures.asking(Asked(keep=at_break_even)).explain("whatif.trades.power.saved")
    assert saved.value == pytest.approx(0.0, abs=1e-9)


STEPS = (
    ConfigurationChange(
        at_s=-600.0,
        label="quiet-down/1",
        loads={"com-radio": LoadState.STANDBY},
        stores={},
        used_si={"water-suit": 1.0},
        released_si={"water": 3.0},
        sequence=7,
    ),
)


def test_logged_steps_other_units_and_old_readings_are_explained_too() -> None:
    _, figures = assessed("tern", 2 * HOUR, STEPS, UnitSystem.US)
    check_document("options", *of_options(figures), 130)


@pytest.mark.parametrize("document", DOCUMENTS)
def test_kinds_that_no_packaged_scenario_has_are_explained_too(tmp_path: Path, document: str) -> None:
    _, figures = assessed_in(explain_scene.write(tmp_path), 25 * HOUR)
    check_document(document, *DOCUMENTS[document](figures), 30)


def opening(figures: Figures, demand: str, end: str) -> dict[str, float]:
    """The figures of until when the other way home of the small craft stays open."""
    home = f"options.quick.open_until.{demand}.{end}"
    found = {}
    for figure in ("in", "until", "margin", "asked", "residual", "past"):
        one = figures.explain(f"{home}.{figure}")
        check_equation(one)
        assert one.value is not None
        found[figure] = one.value
    return found


@pytest.mark.parametrize("end", ["low", "central"])
def test_at_the_last_open_moment_the_delayed_margin_is_what_is_asked(tmp_path: Path, end: str) -> None:
    _, figures = assessed_in(delay_scene.write(tmp_path))
    found, grounds = opening(figures, "zero", end), figures.grounds
    # The same margin by the engine's own question: what is left if the switch is made then.
    option, plan = grounds.plan.options["quick"], grounds.plan
    at_once = look_ahead(grounds.known, plan, switched_at(plan, option, grounds.at_s), DRAWS)
    delayed = Delayed(grounds.known, plan, option, grounds.ahead, at_once, DRAWS)
    margin_s = delayed.low_s if end == "low" else delayed.central_s
    assert found["margin"] * HOUR == pytest.approx(margin_s("power", found["until"] * HOUR), abs=1e-6)
    # An hour of delay takes about an hour of margin here: 8 A instead of 4 A, of which 4 A are what it needs.
    assert 0.0 <= found["residual"] * HOUR <= 1.5 * TOLERANCE_S
    assert found["past"] < found["asked"] == 0.0
    assert found["in"] == pytest.approx(found["until"] - 10.0)
    known = walked(figures, [f"options.quick.open_until.zero.{end}.in"])
    assert depth_of(known) > 4


@pytest.mark.parametrize("end", ["low", "central"])
def test_what_closes_at_once_shows_both_sides_of_it(tmp_path: Path, end: str) -> None:
    _, figures = assessed_in(delay_scene.write(tmp_path))
    found = opening(figures, "advisory", end)
    assert found["until"] == pytest.approx(20.0)
    assert found["past"] < found["asked"] == 6.0 < found["margin"]
    said = figures.explain(f"options.quick.open_until.advisory.{end}.until").remarks
    assert "closes at once" in said[0]


def test_what_only_the_plan_closes_is_explained_by_its_line() -> None:
    _, figures = assessed("tern")
    one = figures.explain("options.tender.open_until.zero.central.until")
    (limit,) = one.inputs
    assert isinstance(limit.source, ConfigSource)
    assert limit.source.key == "options.homeward.events[platform let go].at"
    closed = figures.explain("options.tender.open_until.zero.low.in")
    assert closed.value is None
    assert "water does not reach what is asked" in closed.remarks[0]


def cited(known: dict[str, Explanation]) -> dict[tuple[str, str, str], set[float]]:
    """By file, key and unit, every value that is said to stand there."""
    found: dict[tuple[str, str, str], set[float]] = {}
    for one in known.values():
        for each in every_input(one):
            if isinstance(each.source, ConfigSource):
                key = (each.source.file, each.source.key, each.unit)
                found.setdefault(key, set()).add(each.value)
    return found


def test_what_is_supposed_is_never_said_to_stand_in_a_file() -> None:
    _, figures = assessed("tern")
    in_files = cited(walked(figures, (*figures.paths(), *figures.paths_of("options"))))
    in_files.pop(("craft.yaml", "levels.quiet.like", "1"))  # says on of some loads and off of others
    assert all(len(values) == 1 for values in in_files.values())
    texts = [
        "use cabin-leak 0.05 kg/h",
        "people asleep 2, nominal 2 from T+33h",
        "arrive 2 h later",
        "add water 1.5 kg at T+30h",
        "move homeward trim to T+70h",
        "store bat-2 isolated at T+40h",
    ]
    asking = asking_for(figures, texts)
    known = walked(asking, asking.paths_of("whatif"))
    for key, values in cited(known).items():
        assert values == in_files.get(key, values), key
    supposed = {
        each.value: each.source.text
        for one in known.values()
        for each in every_input(one)
        if isinstance(each.source, AssumptionSource) and "supposed" in each.source.text
    }
    assert {0.05, 103.0, 1.5, 30.0, 70.0, 40.0} <= set(supposed)
    assert supposed[103.0] == "supposed: plan.yaml has another arrival"


def test_a_change_is_after_less_before_and_says_what_is_supposed() -> None:
    _, figures = assessed("tern")
    asking = asking_for(figures, ["load com-radio off"])
    one = asking.explain("whatif.water.margin.change.p05")
    assert one.equation == "after - before"
    before, after = asking.explain("water.margin.p05"), asking.explain("whatif.water.margin.p05")
    assert one.value == after.value - before.value > 0.0  # type: ignore[operator]  # known here
    assert "supposed: load com-radio off" in one.remarks
    assert asking.explain("whatif.water.margin.before.p05").value == before.value
    assert asking.explain("whatif.after.water.margin.p05").value == after.value


def test_each_lost_store_has_the_figures_that_all_stores_have() -> None:
    _, figures = assessed("tern")
    with_it = figures.explain("power.on_board").value
    without = figures.explain("loss.bat-1.power.on_board").value
    held = figures.explain("power.stores.bat-1.on_board").value
    assert without == pytest.approx(with_it - held)  # type: ignore[operator]  # known here
    with pytest.raises(NoFigureError):
        figures.explain("loss.bat-1.power.stores.bat-1.on_board")


def test_the_share_of_the_samples_in_which_all_last_is_their_count() -> None:
    _, figures = assessed("vole")
    one = figures.explain("brief.3.all_last_probability")
    least = [figures.explain(f"brief.3.least_margin.sample-{number}") for number in range(1, 201)]
    for each in least:
        if each.value is not None:
            check_equation(each)
    assert one.value == sum(each.value is None or each.value >= 0.0 for each in least) / 200


@pytest.mark.parametrize("path", ["whatif.power.margin", "shed.goal"])
def test_a_figure_that_goes_by_a_question_says_so_where_nothing_was_asked(path: str) -> None:
    _, figures = assessed("vole")
    with pytest.raises(NotAskedError, match=r"--change|--margin"):
        figures.explain(path)
    assert not figures.paths_of(path.partition(".")[0])


@pytest.mark.parametrize(
    "path",
    [
        "options.drift",
        "options.drift.open_until.zero",
        "options.drift.open_until.zero.low.nothing",
        "options.drift.open_until.zero.high.in",
        "options.drift.delay_cost.high",
        "options.drift.options.drift.water.margin",
        "loss.nothing.water.margin",
        "loss.water.remedies.99.margin",
        "loss.without_loss",
        "brief.9.margin",
        "brief.4.gains.nothing.water",
        "shed.switch_off.nothing.draw",
        "shed.may_run.nothing.margin.water",
        "shed.new_peaks_over.99.peak",
        "whatif.change.p05",
        "whatif.trades.water.keeping",
        "loss.loss.water.margin",
        "water.left_at.now",
        "water.left_at.-1",
        "water.left_at.inf",
        "water.free_phases.spans.0",
        "water.free_phases.nothing",
    ],
)
def test_what_is_no_figure_of_a_document_is_refused(path: str) -> None:
    _, figures = assessed("vole")
    asked = ShedAsked(goal_s=HOUR, by_low_end=True, run_for_s=HOUR)
    asking = asking_for(figures, ["arrive 1 h later"])
    with pytest.raises(NoFigureError):
        asking.asking(Asked(changes=asking.asked.changes, shed=asked)).explain(path)
