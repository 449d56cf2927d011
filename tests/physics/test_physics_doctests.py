"""The examples in the docstrings of the physics are true, and every public function has one."""

from __future__ import annotations

import doctest
import importlib
import inspect
from types import ModuleType

import pytest

MODULES = [
    importlib.import_module(f"console.physics.{name}")
    for name in (
        "absorbent",
        "battery",
        "cooling",
        "gas",
        "leak",
        "lee_kesler",
        "metabolism",
        "propulsion",
    )
]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_examples_in_docstrings_are_true(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_public_function_has_an_example_and_names_its_source(module: ModuleType) -> None:
    for name, function in inspect.getmembers(module, inspect.isfunction):
        if function.__module__ == module.__name__ and not name.startswith("_"):
            text = function.__doc__ or ""
            assert ">>>" in text, name
            assert "Source" in text, name
