"""The board on a state file that another process rewrites in place, with kills and garbage in between.

Usage: python tests/campaigns/board_campaign.py --minutes 60
Every document says one number in every channel, the milliseconds of its own time, so a wrong number on the
board gives itself away. The whole board runs (engine thread, session, journal, screen), without a terminal.
Prints what came of it; ends with 1 when a wrong number was shown, an error came out, or the board ended.
"""

from __future__ import annotations

import argparse
import asyncio
import random
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS / "feed")]

from state_file_torture import start_writer, was_held_up  # noqa: E402 - found on the path set above
from state_file_writer import CHANNELS, EPOCH  # noqa: E402  as above

from console.board.app import BoardApp  # noqa: E402  as above
from console.cli.journals import open_journal, wall_clock  # noqa: E402  as above
from console.display import amount_text  # noqa: E402  as above
from console.engine.snapshot import Snapshot  # noqa: E402  as above
from console.feed.state_file import StateFileSource  # noqa: E402  as above
from console.instants import format_utc  # noqa: E402  as above
from console.scenario.load import Scenario, load_scenario  # noqa: E402  as above
from console.session import Session  # noqa: E402  as above

CRAFT = f"""format: 1
craft: {{name: Counter, epoch: "{format_utc(EPOCH)}"}}
crew: {{count: 2}}
supplies:
  counted:
    unit: g
    stores:
STORES
uses: {{seep: {{supply: counted, rate: 1 g/h}}}}
bands: {{default: {{advisory: 24 h, caution: 12 h, warning: 3 h}}}}
channels:
CHANNELS_HERE
"""
PLAN = """format: 1
phases: [{name: watching, start: T+0h}]
options: {pickup: {arrival: T+500h}}
committed: pickup
"""


@dataclass(kw_only=True, slots=True)
class Tally:
    """What came of it."""

    looks: int = 0
    snapshots: int = 0
    with_faults: int = 0
    kills: int = 0
    longest_still_s: float = 0.0
    wrong: list[str] = field(default_factory=list)
    held_up: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


def counter_scenario(folder: Path) -> Scenario:
    """A craft whose every store is read by one channel of the writer."""
    stores = "\n".join(
        f"      {name}-tank: {{kind: liquid, quantity: {{channel: {name}}}}}" for name in CHANNELS
    )
    channels = "\n".join(f"  {name}: {{unit: g, stale_after: 10 h}}" for name in CHANNELS)
    text = CRAFT.replace("STORES", stores).replace("CHANNELS_HERE", channels)
    (folder / "craft.yaml").write_text(text)
    (folder / "plan.yaml").write_text(PLAN)
    return load_scenario(folder)


async def watch(folder: Path, *, seconds: float, period_s: float, seed: int) -> Tally:
    """Run the board while writers come and go."""
    scenario, state, t0 = counter_scenario(folder), folder / "state.json", time.time()
    session = Session(
        scenario=scenario,
        source=StateFileSource(state, scenario.craft.channels, EPOCH),
        journal=open_journal(scenario, folder / "watch.journal", wall_clock, writes=True),
        clock=lambda: EPOCH + timedelta(seconds=time.time() - t0),
        operator="campaign",
        position="",
    )
    tally, chance, habits = Tally(), random.Random(seed), ["cut", "over"]
    app = BoardApp(session, tick_interval_s=period_s)
    try:
        async with app.run_test(size=(120, 36)) as pilot:
            left_s = seconds
            while left_s > 0.0 and app.is_running:
                habits.reverse()
                turn_s = min(seconds / 4, chance.uniform(10, 40) * period_s + 0.5)
                left_s -= turn_s
                writer = start_writer(state, t0, period_s, chance.randrange(10**6), habits[0])
                try:
                    await _turn(app, state, tally, turn_s)
                finally:
                    _end(writer, habits[0], tally)
            if not app.is_running:
                tally.errors.append("the board ended")
            await pilot.pause()
    finally:
        session.close()
    return tally


async def _turn(app: BoardApp, state: Path, tally: Tally, turn_s: float) -> None:
    end = time.monotonic() + turn_s
    seen: Snapshot | None = None
    while time.monotonic() < end:
        await asyncio.sleep(0.1)
        view = app.board.view
        tally.looks += 1
        if view is None or view.snapshot is None:
            continue
        tally.longest_still_s = max(tally.longest_still_s, view.not_updated_s or 0.0)
        tally.errors.extend(
            fault for fault in view.faults if not fault.startswith("NOTE") and fault not in tally.errors
        )
        if view.snapshot is not seen:
            seen = view.snapshot
            _judge(seen, state, tally)


def _judge(snapshot: Snapshot, state: Path, tally: Tally) -> None:
    """Every store must hold what one document said, and that document's time must stand for the number."""
    tally.snapshots += 1
    tally.with_faults += bool(snapshot.feed.faults)
    supply = snapshot.supplies["counted"]
    for store in supply.stores:
        if store.on_board_si is None or store.age_s is None:
            continue
        said_ms, due_ms = round(store.on_board_si * 1e3), round((snapshot.at_s - store.age_s) * 1000)
        if said_ms != due_ms:
            told = f"{store.name}: {amount_text(store.on_board_si, supply.unit)} of {due_ms} ms"
            now = time.time()
            (tally.held_up if was_held_up(state, now - 3.0, now) else tally.wrong).append(told)


def _end(writer: subprocess.Popen[bytes], habit: str, tally: Tally) -> None:
    """Kill a writer inside a document, or end one that writes over the old text after it (see its note)."""
    writer.send_signal(signal.SIGKILL if habit == "cut" else signal.SIGTERM)
    writer.communicate()
    tally.kills += habit == "cut"


def main() -> int:
    """Run it and print the figures."""
    parser = argparse.ArgumentParser(description="The board on a state file in trouble.")
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument(
        "--period", type=float, default=0.2, help="seconds between two documents, on the whole"
    )
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tally = asyncio.run(
            watch(Path(folder), seconds=asked.minutes * 60.0, period_s=asked.period, seed=asked.seed)
        )
    print(f"minutes {asked.minutes:g}, looks at the board {tally.looks}, snapshots shown {tally.snapshots}")
    print(f"of these with a fault of the feed named {tally.with_faults}; writers killed {tally.kills}")
    print(f"longest time without a new snapshot {tally.longest_still_s:.1f} s")
    print(f"wrong numbers {len(tally.wrong)}, errors {len(tally.errors)}")
    print(f"numbers from a document whose writer the machine stopped {len(tally.held_up)}")
    for line in (*tally.wrong[:10], *tally.errors[:10]):
        print("  ", line)
    return 1 if tally.wrong or tally.errors else 0


if __name__ == "__main__":
    raise SystemExit(main())
