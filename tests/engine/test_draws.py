"""Draws: normal, stratified, the same for ever, and independent of each other."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest

from console.engine.draws import normal_quantiles, shuffled_indices, standard_draws


def test_draws_depend_on_the_name_and_the_seed_alone() -> None:
    first = standard_draws("use leak", 3, 500)
    standard_draws("use something else", 3, 500)
    assert np.array_equal(first, standard_draws("use leak", 3, 500))
    assert not np.array_equal(first, standard_draws("use leak", 4, 500))
    assert not np.array_equal(first, standard_draws("use crew", 3, 500))


def test_the_central_row_is_without_error_and_the_others_are_a_standard_normal() -> None:
    draws = standard_draws("x", 1, 2000)
    assert draws[0] == 0.0
    assert draws[1:].mean() == pytest.approx(0.0, abs=1e-12)
    assert draws[1:].std() == pytest.approx(1.0, abs=2e-3)  # the outermost slices lose a little of the tails


def test_the_quantiles_are_the_standard_librarys() -> None:
    inverse = NormalDist().inv_cdf
    expected = [inverse((index + 0.5) / 2000) for index in range(2000)]
    assert normal_quantiles(2000) == pytest.approx(expected, abs=2e-5)


def test_the_shuffle_is_the_published_hash() -> None:
    """The first outputs of SplitMix64 from state 0 (Vigna's reference code; from memory) sort as these do."""
    outputs = [
        0xE220A8397B1DCDAF,
        0x6E789E6AA1B965F4,
        0x06C45D188009454F,
        0xF88BB8A8724C81EC,
        0x1B39896A51A8749B,
    ]
    assert shuffled_indices(5, 0).tolist() == sorted(range(5), key=lambda index: outputs[index])


@pytest.mark.parametrize("count", [0, 1, 2, 2000])
def test_the_shuffle_keeps_every_number(count: int) -> None:
    assert sorted(shuffled_indices(count, 12345).tolist()) == list(range(count))


def test_two_things_do_not_share_their_luck() -> None:
    names = [f"use {number}" for number in range(40)]
    draws = np.array([standard_draws(name, 20410602, 2000)[1:] for name in names])
    correlations = np.corrcoef(draws)[np.triu_indices(len(names), 1)]
    # Independent samples of 2,000 correlate by less than 4.5 / sqrt(2000) = 0.10 in all 780 pairs.
    assert np.abs(correlations).max() < 0.10
    assert correlations.std() == pytest.approx(2000**-0.5, rel=0.15)
