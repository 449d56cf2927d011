"""All findings in one list: what the feed found, order, purity, and how the readings come out of it."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from validity_world import H, channel, rows_of, world

from console.engine.reading import Quality, Reading
from console.engine.series import Series
from console.engine.validity.belief import believed
from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.judge import verdicts_of
from console.engine.validity.verdict import Doubt, Use, Verdict

GAUGE = channel("tank.quantity", "kg", 1.2, 0.1)
NAME = GAUGE.name
CONTEXT = ChannelContext(channel=GAUGE, kind=ChannelKind.HELD)
TIMES = np.arange(0.0, 5 * H, 60.0)
GOOD = Reading(channel=NAME, quality=Quality.GOOD, value_si=60.0, at_s=float(TIMES[-1]))


def verdict(kind: Doubt, use: Use, **fields: object) -> Verdict:
    # The type is not asked of it: literals of a test.
    return Verdict(channel=NAME, kind=kind, since_s=100.0, why=kind.value, use=use, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("quality", "kind"),
    [
        (Quality.STALE, Doubt.STALE),
        (Quality.SUSPECT, Doubt.REFUSED),
        (Quality.MISSING, Doubt.MISSING),
    ],
)
def test_what_the_feed_found_is_passed_on_with_its_words(quality: Quality, kind: Doubt) -> None:
    reading = replace(GOOD, quality=quality, why="found 412 kg; the channel's range is 0 to 100 kg")
    (found,) = verdicts_of({}, {NAME: CONTEXT}, {NAME: reading}, 1e5)[NAME]
    assert (found.kind, found.why, found.since_s) == (kind, reading.why, reading.at_s)
    assert believed({NAME: reading}, {NAME: (found,)}, {}) == {NAME: reading}


def test_a_channel_that_is_in_no_feed_is_missing() -> None:
    (found,) = verdicts_of({}, {NAME: CONTEXT}, {}, 1e5)[NAME]
    assert (found.kind, found.value_si) == (Doubt.MISSING, None)


@pytest.mark.parametrize("rows", [0, 1, 2, 10])
def test_with_few_readings_nothing_is_said(rows: int) -> None:
    values = np.where(np.arange(rows) % 3 == 0, 60.0, 20.0)
    series = rows_of(TIMES[:rows], values, 1.0) if rows else None
    past = {} if series is None else {NAME: series}
    assert verdicts_of(past, {NAME: CONTEXT}, {NAME: GOOD}, 1e5) == {NAME: ()}


def test_what_comes_after_the_moment_is_not_looked_at() -> None:
    values = np.full(len(TIMES), 60.0)
    values[250:] = 80.0
    past = {NAME: rows_of(TIMES, values, 1.0)}
    before = replace(GOOD, at_s=float(TIMES[240]))
    assert verdicts_of(past, {NAME: CONTEXT}, {NAME: before}, float(TIMES[240])) == {NAME: ()}
    after = replace(GOOD, value_si=80.0)
    (found,) = verdicts_of(past, {NAME: CONTEXT}, {NAME: after}, float(TIMES[-1]))[NAME]
    assert found.kind is Doubt.STEP


def test_the_same_questions_have_the_same_answers_and_nothing_is_written_to() -> None:
    made = world(5, 60.0, 8.0)
    made.instruments["water-1.quantity"].shown[-30:] += 5.0
    at_s = float(made.times[-1])
    series = made.series(at_s)
    for one in series.values():
        for column in (one.times_s, one.means_si, one.lows_si, one.highs_si, one.counts):
            column.flags.writeable = False
    contexts, readings = made.contexts(at_s, series), made.readings(at_s)
    first = verdicts_of(series, contexts, readings, at_s)
    assert first["water-1.quantity"]
    assert verdicts_of(series, contexts, readings, at_s) == first
    alone = {"water-1.quantity": contexts["water-1.quantity"]}
    assert verdicts_of(series, alone, readings, at_s)["water-1.quantity"] == first["water-1.quantity"]


def test_a_later_epoch_changes_nothing_but_the_times() -> None:
    values = np.round(60.0 + 0.3 * np.random.default_rng(1).standard_normal(len(TIMES)), 1)
    values[-5:] += 4.0
    found = []
    for epoch_s in (0.0, 2.0**30):
        newest = replace(GOOD, value_si=float(values[-1]), at_s=float(TIMES[-1]) + epoch_s)
        past = {NAME: rows_of(TIMES + epoch_s, values, 1.0)}
        (one,) = verdicts_of(past, {NAME: CONTEXT}, {NAME: newest}, newest.at_s or 0.0)[NAME]
        found.append((one.kind, one.use, one.value_si, (one.since_s or 0.0) - epoch_s))
    assert found[0] == found[1]


def test_a_gauge_that_leaps_and_then_sticks_gives_way_to_what_it_said_before_the_leap() -> None:
    values = np.round(60.0 + 0.3 * np.random.default_rng(1).standard_normal(len(TIMES)), 1)
    values[150:] = 90.0
    past = {NAME: rows_of(TIMES, values, 1.0)}
    newest = {NAME: replace(GOOD, value_si=90.0)}
    found = verdicts_of(past, {NAME: CONTEXT}, newest, float(TIMES[-1]))
    assert [one.kind for one in found[NAME]] == [Doubt.STUCK, Doubt.STEP]
    used = believed(newest, found, past)[NAME]
    assert used.value_si == values[149]
    assert used.at_s == TIMES[149]
    assert used.quality is Quality.SUSPECT


def test_a_doubted_reading_is_suspect_and_says_all_its_reasons() -> None:
    found = (
        verdict(Doubt.STEP, Use.AS_IT_IS),
        verdict(Doubt.DRIFT, Use.LOWER, value_si=58.0, value_at_s=9.0),
    )
    used = believed({NAME: GOOD}, {NAME: found}, {})[NAME]
    assert (used.quality, used.why, used.value_si, used.at_s) == (Quality.SUSPECT, "step; drift", 58.0, 9.0)


def test_what_is_only_told_leaves_a_reading_good_though_averaged() -> None:
    told = verdict(Doubt.OSCILLATING, Use.AVERAGED, value_si=61.0, value_at_s=9.0, is_doubt=False)
    used = believed({NAME: GOOD}, {NAME: (told,)}, {})[NAME]
    assert (used.quality, used.why, used.value_si) == (Quality.GOOD, "", 61.0)


def test_a_stale_reading_stays_stale_beside_a_doubt() -> None:
    stale = replace(GOOD, quality=Quality.STALE, why="5 min old")
    used = believed({NAME: stale}, {NAME: (verdict(Doubt.STEP, Use.AS_IT_IS),)}, {})[NAME]
    assert (used.quality, used.why) == (Quality.STALE, "5 min old; step")


def test_a_word_left_out_with_nothing_in_its_place_gives_way_to_the_last_row_before_the_doubt() -> None:
    left_out = verdict(Doubt.STEP, Use.LEFT_OUT)
    past = rows_of(np.array([60.0, 90.0, 120.0]), np.array([1.0, 2.0, 3.0]), 1.0)
    used = believed({NAME: GOOD}, {NAME: (left_out,)}, {NAME: past})[NAME]
    assert (used.value_si, used.at_s) == (2.0, 90.0)
    used = believed({NAME: GOOD}, {NAME: (left_out,)}, {})[NAME]
    assert (used.value_si, used.at_s, used.quality) == (None, None, Quality.SUSPECT)


def test_readings_without_verdicts_pass_untouched_and_in_their_order() -> None:
    readings = {name: replace(GOOD, channel=name) for name in ("b", "a", "c")}
    assert list(believed(readings, {"a": ()}, {}).items()) == list(readings.items())


@given(
    jump=st.floats(-30.0, 30.0),
    begins=st.integers(1, 60),
    length=st.integers(1, 60),
    kind=st.sampled_from([ChannelKind.HELD, ChannelKind.TAKEN, ChannelKind.FLOW]),
    width_s=st.sampled_from([1.0, 120.0]),
    sticks=st.booleans(),
)
def test_no_shift_or_stuck_word_is_replaced_by_a_better_one_of_its_time(
    jump: float, begins: int, length: int, kind: ChannelKind, width_s: float, sticks: bool
) -> None:
    values = 60.0 + 0.3 * np.random.default_rng(begins).standard_normal(len(TIMES))
    values[-begins : len(values) - begins + length] += jump
    if sticks:
        values[-begins:] = values[-begins]
    values = np.round(values, 1)
    context = ChannelContext(channel=GAUGE, kind=kind)
    newest = {NAME: replace(GOOD, value_si=float(values[-1]))}
    past: dict[str, Series] = {NAME: rows_of(TIMES, values, width_s)}
    found = verdicts_of(past, {NAME: context}, newest, float(TIMES[-1]))
    used = believed(newest, found, past)[NAME]
    assert used.value_si is not None
    gain = (used.value_si - values[-1]) * kind.better_side
    assert gain <= 4 * 0.3  # a reading of before carries its own noise
    if used.value_si != values[-1]:
        assert used.quality is Quality.SUSPECT


def test_a_day_of_sound_instruments_raises_no_doubt_and_faults_are_found() -> None:
    top = Path(__file__).parents[2]
    command = [sys.executable, "tests/campaigns/validity_campaign.py", "--days", "1", "--faults", "1"]
    done = subprocess.run(
        [*command, "--every", "60", "--first", "300", "--look", "240"],
        cwd=top,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ": 0 false alarms in 21 channel-days" in done.stdout, done.stdout
    shares = {
        line[:22].strip(): int(line[38:46].strip().rstrip("%"))
        for line in done.stdout.splitlines()
        if "%" in line
    }
    assert len(shares) == 10, done.stdout
    assert min(shares.values()) >= 60, done.stdout
    assert np.mean(list(shares.values())) >= 85, done.stdout
