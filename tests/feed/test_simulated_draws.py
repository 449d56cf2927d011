"""Draws by name: what is drawn for one thing does not hang on what else there is."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from simulated_builders import CRAFT, write_scenario

from console.craft.model import Craft
from console.feed.simulated_draws import AHEAD, Streams
from console.feed.simulated_instruments import drawn_biases_si
from console.feed.simulated_loads import TrueLoads
from console.feed.simulated_uses import TrueUses
from console.scenario.load import load_scenario

MANY = 800


@pytest.fixture(scope="module")
def spread_craft(tmp_path_factory: pytest.TempPathFactory) -> Craft:
    """The station, off its figures: its loads by 20 %, what people breathe by 10 %."""
    folder = tmp_path_factory.mktemp("spread")
    write_scenario(folder)
    text = (folder / "craft.yaml").read_text()
    text = text.replace("loads:\n", "load_spread: 20 %\nloads:\n", 1)
    text = text.replace("metabolic: oxygen}", "metabolic: oxygen, spread: 10 %}")
    (folder / "craft.yaml").write_text(text)
    return load_scenario(folder).craft


def test_a_stream_is_its_own_whatever_else_is_drawn() -> None:
    alone = Streams(5).named("load/fan/spread").standard_normal(4)
    streams = Streams(5)
    streams.named("load/lamp/spread").standard_normal(100)
    assert streams.named("load/fan/spread").standard_normal(4).tolist() == alone.tolist()
    assert Streams(6).normal("load/fan/spread") != alone[0]


def test_one_thing_more_among_several_leaves_the_draws_of_the_others() -> None:
    few, more = Streams(5).normals(["a", "b"]), Streams(5).normals(["a", "new", "b"])
    for _ in range(AHEAD + 3):
        first, second = few.standard_normal(2), more.standard_normal(3)
        assert [first[0], first[1]] == [second[0], second[2]]


def test_many_rows_at_once_are_the_same_as_one_by_one() -> None:
    names = ["a", "b", "c"]
    at_once = Streams(5).normals(names).rows(AHEAD + 10)
    singly = Streams(5).normals(names)
    assert at_once.tolist() == [singly.standard_normal(3).tolist() for _ in range(AHEAD + 10)]


def test_a_wrong_number_of_draws_is_refused() -> None:
    with pytest.raises(ValueError, match="3 draws asked for, where there are 2"):
        Streams(5).normals(["a", "b"]).standard_normal(3)


def test_half_of_the_loads_variance_is_common_and_half_is_each_loads_own(spread_craft: Craft) -> None:
    factors = np.array(
        [list(TrueLoads(spread_craft, 0.0, Streams(seed)).factors.values()) for seed in range(MANY)]
    )
    logs = np.log(factors) + 0.5 * 0.2**2
    # Standard errors over 800 contingencies: of a mean s/sqrt(n), of a variance v sqrt(2/n).
    assert logs.mean(axis=0) == pytest.approx(0.0, abs=4 * 0.2 / math.sqrt(MANY))
    covariance = np.cov(logs.T)
    assert np.diag(covariance) == pytest.approx(0.2**2, rel=4 * math.sqrt(2 / MANY))
    between = covariance[np.triu_indices(3, 1)]
    assert between == pytest.approx(0.5 * 0.2**2, rel=5 * math.sqrt(2 / MANY))
    assert factors.mean() == pytest.approx(1.0, abs=4 * 0.2 / math.sqrt(MANY))


def test_a_use_is_off_by_a_factor_of_its_own_spread_and_stays_so(spread_craft: Craft) -> None:
    logs = []
    for seed in range(MANY):
        factors = TrueUses(spread_craft, 0.0, Streams(seed)).factors
        assert factors["drinking"] == 1.0, "it has no spread"
        logs.append(math.log(factors["breathing"]) + 0.5 * 0.1**2)
    assert np.std(logs) == pytest.approx(0.1, rel=4 / math.sqrt(2 * MANY))
    assert np.mean(logs) == pytest.approx(0.0, abs=4 * 0.1 / math.sqrt(MANY))


def test_a_drawn_bias_has_three_quarters_of_the_variance_of_half_the_accuracy(spread_craft: Craft) -> None:
    channels = {"bat-1.current": spread_craft.channels["bat-1.current"]}
    biases = [drawn_biases_si(channels, Streams(seed))["bat-1.current"] for seed in range(MANY)]
    # An accuracy of 0.2 A is two standard deviations of noise and bias together: 0.1 A, of whose variance.
    assert np.var(biases) == pytest.approx(0.75 * 0.1**2, rel=4 * math.sqrt(2 / MANY))
    assert np.mean(biases) == pytest.approx(0.0, abs=4 * 0.1 / math.sqrt(MANY))


def test_one_load_more_leaves_the_luck_of_the_others(tmp_path: Path, spread_craft: Craft) -> None:
    write_scenario(tmp_path)
    text = CRAFT.replace("PEUKERT", "1").replace(
        "loads:\n", "load_spread: 20 %\nloads:\n  bell: {on: 1 A}\n", 1
    )
    (tmp_path / "craft.yaml").write_text(text)
    more = TrueLoads(load_scenario(tmp_path).craft, 0.0, Streams(3)).factors
    few = TrueLoads(spread_craft, 0.0, Streams(3)).factors
    assert {name: more[name] for name in few} == few
    assert "bell" in more
