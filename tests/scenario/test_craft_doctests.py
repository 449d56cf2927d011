"""The examples in the docstrings of the readers hold."""

from __future__ import annotations

import doctest
from types import ModuleType

import pytest

from console.scenario import config, faults, quantities, yaml_text


@pytest.mark.parametrize("module", [config, faults, quantities, yaml_text])
def test_the_examples_of_a_module_hold(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0
