"""Every figure of a Snapshot follows the system of units, in text and JSON: none is left unconverted."""

from __future__ import annotations

import re
from typing import Any

import pytest
from json_quantities import quantities, units_of

from console.report.export import ledger_document, margins_document
from console.report.ledger import ledger_text
from console.report.tables import margins_text
from console.units import UnitSystem


@pytest.mark.parametrize("system", [UnitSystem.METRIC, UnitSystem.US])
def test_the_json_says_the_same_quantities_in_every_system(kit: Any, system: UnitSystem) -> None:
    written, shown = kit.snapshot(), kit.snapshot(system)
    documents = [(margins_document(written), margins_document(shown))]
    documents += [(ledger_document(written, name), ledger_document(shown, name)) for name in written.supplies]
    for as_written, as_shown in documents:
        expected = quantities(as_written)
        assert len(expected) > 5
        assert quantities(as_shown) == pytest.approx(expected, rel=1e-9, abs=1e-9)
        assert as_shown["units"] == system.value


def test_in_us_units_no_unit_of_the_json_is_metric(kit: Any) -> None:
    shown = kit.snapshot(UnitSystem.US)
    units = set(units_of(margins_document(shown)))
    assert units == {"A*h", "A", "lb", "lb/h", "gal", "gal/h", "psi", "mmHg", "degF", "%", "ft/s"}
    assert {"kg", "L", "Pa", "kPa", "K", "m/s"} <= set(units_of(margins_document(kit.snapshot())))


METRIC_FIGURE = re.compile(r"\d (kg|g|t|L|m\^3|k?Pa|MPa|bar|degC|K|m/s)\b")
US_FIGURE = re.compile(r"\d (lb|oz|gal|ft\^3|psi|mmHg|degF|ft/s)\b")


def texts(snapshot: Any) -> str:
    """All that the commands print of a Snapshot."""
    return "\n".join((margins_text(snapshot), *(ledger_text(snapshot, name) for name in snapshot.supplies)))


def test_the_text_in_us_units_has_no_metric_figure(kit: Any) -> None:
    assert METRIC_FIGURE.search(texts(kit.snapshot())), (
        "as written there are some, so the search can find them"
    )
    assert METRIC_FIGURE.search(texts(kit.snapshot(UnitSystem.US))) is None
    assert "kg" not in texts(kit.snapshot(UnitSystem.US))


def test_the_text_in_metric_units_has_no_us_figure(kit: Any) -> None:
    assert US_FIGURE.search(texts(kit.snapshot(UnitSystem.US)))
    assert US_FIGURE.search(texts(kit.snapshot(UnitSystem.METRIC))) is None


def test_a_limit_stays_in_the_unit_it_was_written_in(kit: Any) -> None:
    assert "above 15.0 mmHg" in margins_text(kit.snapshot())
    assert "above 2.00 kPa" in margins_text(kit.snapshot(UnitSystem.METRIC))
    assert "above 15.0 mmHg" in margins_text(kit.snapshot(UnitSystem.US))
