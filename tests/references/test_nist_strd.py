"""The least-squares core of the rates against NIST's Statistical Reference Datasets.

Source: NIST/ITL StRD, Linear Least Squares Regression, Norris.dat (as scipy carries it) and Longley.dat
(read at second hand, in several transcriptions that agree): data, certified estimates and their certified
standard deviations.
"""

from __future__ import annotations

import numpy as np
import pytest

from console.engine.rates.least_squares import least_squares
from console.engine.rates.segments import Segments

NORRIS_Y = np.array([
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
    448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
    228.9, 668.4, 449.2, 0.2,
])  # fmt: skip
NORRIS_X = np.array([
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
    447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
    229.2, 669.1, 448.9, 0.5,
])  # fmt: skip
LONGLEY = np.array([
    [60323, 83.0, 234289, 2356, 1590, 107608, 1947],
    [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
    [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
    [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
    [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
    [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
    [64989, 99.0, 365385, 1870, 3547, 115094, 1953],
    [63761, 100.0, 363112, 3578, 3350, 116219, 1954],
    [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
    [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
    [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
    [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
    [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
    [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
    [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
    [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
])  # fmt: skip


def test_norris_agrees_with_the_certified_values_to_nine_digits() -> None:
    fit = least_squares(np.column_stack((np.ones(36), NORRIS_X)), NORRIS_Y)
    assert fit.coefficients == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-9)
    variance = fit.residual_sum / fit.freedom
    assert np.sqrt(variance) == pytest.approx(0.884796396144373, rel=1e-9)
    deviations = np.sqrt(variance * np.diag(fit.covariance))
    assert deviations == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-9)


def test_longley_agrees_with_the_certified_values_to_nine_digits() -> None:
    fit = least_squares(np.column_stack((np.ones(16), LONGLEY[:, 1:])), LONGLEY[:, 0])
    certified = [
        -3482258.63459582, 15.0618722713733, -0.358191792925910e-1, -2.02022980381683, -1.03322686717359,
        -0.511041056535807e-1, 1829.15146461355,
    ]  # fmt: skip
    assert fit.coefficients == pytest.approx(certified, rel=1e-9)
    variance = fit.residual_sum / fit.freedom
    assert np.sqrt(variance) == pytest.approx(304.854073561965, rel=1e-9)
    certified_sds = [
        890420.383607373, 84.9149257747669, 0.334910077722432e-1, 0.488399681651699, 0.214274163161675,
        0.226073200069370, 455.478499142212,
    ]  # fmt: skip
    assert np.sqrt(variance * np.diag(fit.covariance)) == pytest.approx(certified_sds, rel=1e-9)


def test_the_columns_of_a_gauges_line_give_norris_line_from_any_anchor() -> None:
    segments = Segments(anchor_s=500.0, knots_s=())
    fit = least_squares(segments.columns(NORRIS_X), NORRIS_Y)
    at_anchor = -0.262323073774029 + 500.0 * 1.00211681802045
    assert fit.coefficients == pytest.approx([at_anchor, 1.00211681802045], rel=1e-9)
