"""A session whose journal cannot be written, and sessions that share one journal."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from console.cli.journals import open_journal
from console.craft.model import LoadState
from console.engine.snapshot import Snapshot
from console.errors import UsageError
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus
from console.record.entry import EntryKind
from console.record.journal_kept import NotYetSavedError
from console.scenario.load import load_scenario, packaged_scenario
from console.session import Session

Make = Callable[[], Session]


@pytest.fixture
def console(tmp_path: Path) -> Iterator[Make]:
    """Makes one more console on the same journal."""
    tern = load_scenario(packaged_scenario())
    path = tern.folder / "state.json"
    moment = at_epoch_plus(tern.craft.epoch, state_file_time_s(path, tern.craft.epoch))
    made: list[Session] = []

    def make() -> Session:
        journal = open_journal(tern, tmp_path / "watch.journal", lambda: moment, writes=True, keeps=True)
        source = StateFileSource(path, tern.craft.channels, tern.craft.epoch)
        made.append(
            Session(
                scenario=tern,
                source=source,
                journal=journal,
                clock=lambda: moment,
                operator=f"operator {len(made)}",
                position="",
            )
        )
        return made[-1]

    yield make
    for session in made:
        session.close()


def test_figures_go_on_while_the_journal_is_gone_and_a_step_that_waits_is_required_no_more(
    console: Make, tmp_path: Path
) -> None:
    session = console()
    before = session.tick()
    away = (tmp_path / "watch.journal").rename(tmp_path / "away")
    with pytest.raises(UsageError, match="requires 3"):
        session.log_step("deep-quiet", "4")
    with pytest.raises(NotYetSavedError):
        session.log_step("deep-quiet", "3")
    with pytest.raises(NotYetSavedError):
        session.log_step("deep-quiet", "4")
    kept = session.unsaved().drafts
    assert [(draft.kind, draft.body["step"]) for draft in kept] == [
        (EntryKind.STEP, "3"),
        (EntryKind.STEP, "4"),
    ]
    meanwhile = session.tick()
    # Not in the log, so in no figure yet: what is not saved is shown nowhere as done.
    assert meanwhile.supplies["power"].margin_s == before.supplies["power"].margin_s
    away.rename(tmp_path / "watch.journal")
    assert [entry.body["step"] for entry in session.write_unsaved()] == ["3", "4"]
    assert session.tick().loads != before.loads
    assert session.unsaved().drafts == ()


def test_each_of_three_consoles_has_the_others_entries_and_steps_at_its_next_tick(console: Make) -> None:
    consoles = [console() for _ in range(3)]
    for each in consoles:
        each.tick()
    before = _state(consoles[2].tick())
    consoles[0].log_note("from the first")
    consoles[1].log_step("deep-quiet", "3")
    for each in consoles:
        # One tick, and a board ticks once a second: so within two seconds.
        snapshot = each.tick()
        assert [entry.operator for entry in each.entries(200)] == ["operator 0", "operator 1"]
        assert _state(snapshot) != before
        assert ("deep-quiet", "3") in each.done_steps()


def _state(snapshot: Snapshot) -> LoadState:
    return next(load.state for load in snapshot.loads if load.name == "com-amplifier")
