"""Readings come in once, are kept, and a new start goes on where the last one left."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from console.cli.growing import growing_source
from console.cli.histories import open_history
from console.engine.reading import FeedState, Quality
from console.engine.series import Arrived
from console.history_source import HistorySource
from console.instants import format_utc
from console.record.history import History
from console.scenario.load import Scenario, load_scenario, packaged_scenario
from console.session import Session

START_S = 26 * 3600.0


@pytest.fixture(scope="module")
def tern() -> Scenario:
    return load_scenario(packaged_scenario("tern"))


def feed_text(tern: Scenario, from_s: float, until_s: float) -> str:
    """Every channel of the craft every minute: steady, and one battery's meter with it."""
    lines = []
    for at_s in np.arange(from_s, until_s, 60.0).tolist():
        stamp = format_utc(tern.craft.epoch + timedelta(seconds=at_s))
        lines.extend(
            f"{stamp},{name},{value}\n" for name, value in (("bat-1.current", 4.2), ("cabin.ppco2", 0.5))
        )
    return "".join(lines)


def session_of(tern: Scenario, feed: Path, readings: Path, at_s: float, *, writes: bool = True) -> Session:
    history = open_history(tern, readings, writes=writes)
    return Session(
        scenario=tern,
        source=growing_source(feed, tern.craft, history),
        journal=None,
        clock=lambda: tern.craft.epoch + timedelta(seconds=at_s),
        operator="",
        position="",
        history=history,
        reads_on=True,
    )


def test_a_new_start_reads_only_what_the_history_does_not_hold(tern: Scenario, tmp_path: Path) -> None:
    feed, readings = tmp_path / "feed.csv", tmp_path / "watch.readings"
    feed.write_text("at,channel,value\n" + feed_text(tern, START_S, START_S + 3600))
    first = session_of(tern, feed, readings, START_S + 3600)
    first.tick()
    first.close()
    added = feed_text(tern, START_S + 3600, START_S + 3900)
    with feed.open("a") as file:
        file.write(added)
    history = open_history(tern, readings, writes=True)
    source = growing_source(feed, tern.craft, history)
    second = Session(
        scenario=tern,
        source=source,
        journal=None,
        clock=lambda: tern.craft.epoch + timedelta(seconds=START_S + 3900),
        operator="",
        position="",
        history=history,
        reads_on=True,
    )
    snapshot = second.tick()
    assert source.bytes_read == len(added)
    assert snapshot.feed.readings["bat-1.current"].at_s == START_S + 3840
    situation = second.situation()
    assert len(situation.history["bat-1.current"]) == 65, (
        "an hour from before the restart, five minutes after"
    )
    second.close()


def test_a_command_that_looks_once_reads_the_boards_history_and_writes_nothing(
    tern: Scenario, tmp_path: Path
) -> None:
    feed, readings = tmp_path / "feed.csv", tmp_path / "watch.readings"
    feed.write_text("at,channel,value\n" + feed_text(tern, START_S, START_S + 3600))
    board = session_of(tern, feed, readings, START_S + 3600)
    board.tick()
    board.close()
    before = readings.read_bytes()
    look = session_of(tern, feed, readings, START_S + 3600, writes=False)
    assert len(look.situation().history["cabin.ppco2"]) == 60
    look.close()
    assert readings.read_bytes() == before


def test_a_history_that_cannot_be_kept_is_told_on_every_snapshot(tern: Scenario, tmp_path: Path) -> None:
    feed = tmp_path / "feed.csv"
    feed.write_text("at,channel,value\n" + feed_text(tern, START_S, START_S + 600))
    (tmp_path / "no-folder").write_text("a file where a folder should be")
    session = session_of(tern, feed, tmp_path / "no-folder" / "watch.readings", START_S + 600)
    snapshot = session.tick()
    session.close()
    told = session.tick().notices
    assert any("history" in notice for notice in told), told
    assert snapshot.feed.readings["bat-1.current"].value_si == 4.2


def test_what_was_held_at_a_moment_is_what_a_look_back_says(tern: Scenario) -> None:
    history = History(tern.craft.channels)
    times = np.arange(START_S, START_S + 3600, 10.0)
    arrived = {"bat-1.current": Arrived(times_s=times, values_si=np.linspace(4.0, 5.0, len(times)))}
    history.take(
        FeedState(source="", at_s=times[-1], quality=Quality.GOOD, faults=(), readings={}, arrived=arrived)
    )
    source = HistorySource(history, tern.craft.channels, "history watch.readings")
    feed = source.poll(START_S + 1805)
    reading = feed.readings["bat-1.current"]
    assert reading.at_s == START_S + 1800
    assert reading.value_si == pytest.approx(
        np.interp(START_S + 1800, times, np.linspace(4.0, 5.0, len(times)))
    )
    assert feed.readings["cabin.ppco2"].quality is Quality.MISSING
    late = source.poll(START_S + 9000)
    assert late.readings["bat-1.current"].quality is Quality.STALE
    assert "older than the moment asked for" in late.faults[0]
