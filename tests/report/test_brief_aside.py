"""What the brief says of shut stores goes by the ledger's own field, not by the words of a line."""

from __future__ import annotations

from types import SimpleNamespace

from explain_checks import assessed

from console.craft.model import StoreState
from console.engine.snapshot import LedgerLine, LineKind
from console.report.brief.aside import set_aside


def said_of(kit: SimpleNamespace, line: LedgerLine) -> str:
    """What is said of the one shut store of a supply whose ledger has one more line."""
    shut = kit.store("o2-spare", state=StoreState.ISOLATED)
    supply = kit.supply("oxygen", "kg", 99.0, stores=(kit.store("o2-1"), shut))
    ledger = (*supply.ledger, line)
    supply = kit.supply("oxygen", "kg", 99.0, stores=(kit.store("o2-1"), shut), ledger=ledger)
    briefing = SimpleNamespace(snapshot=kit.snapshot(supplies={"oxygen": supply}))
    (said,) = [each for each in set_aside(briefing).sentences if "o2-spare" in each]
    return said


def test_a_store_that_a_line_opens_is_opened_by_the_plan(kit: SimpleNamespace) -> None:
    line = LedgerLine(kind=LineKind.OPENED, name="whatever its words", amount_si=1.0, store="o2-spare")
    assert "the plan opens it before need" in said_of(kit, line)


def test_a_line_that_only_names_it_opens_nothing(kit: SimpleNamespace) -> None:
    line = LedgerLine(
        kind=LineKind.OPENED, name="valves turned (o2-spare-2)", amount_si=1.0, store="o2-spare-2"
    )
    assert "nothing opens it" in said_of(kit, line)


def test_every_opened_line_of_the_engine_names_its_store() -> None:
    snapshot, _ = assessed("tern")
    lines = [line for supply in snapshot.supplies.values() for line in supply.ledger]
    opened = {line.store for line in lines if line.kind is LineKind.OPENED}
    assert {"o2-walk", "bat-aux-1", "bat-aux-2"} <= opened
    assert "" not in opened
    assert all(line.store == "" for line in lines if line.kind in (LineKind.USE, LineKind.LOAD))
