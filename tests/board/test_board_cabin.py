"""The cabin in headline, pane and dialog: what comes first, what every clock says, what a step does to it."""

from __future__ import annotations

from dataclasses import replace

import cabin_scene as scene
import pytest

from console.board.faces.cabin import cabin_pane_lines
from console.board.faces.cabin_rows import cabin_lines
from console.board.faces.headline import headline_lines
from console.board.faces.headline_words import headline_words
from console.board.faces.step_cabin import LimitChange
from console.engine.reading import Quality
from console.engine.snapshot import Band, ClockState, Interval, Supposition

HOUR_S = 3600.0


def early(snapshot, **changes):
    """Carbon dioxide comes before every supply."""
    plan = scene.make_clock(
        scene.RAISED_CO2, (10.2, 12.0, 15.0), band=Band.WARNING, **{"now_si": 620.0, **changes}
    )
    others = (clock for clock in scene.cabin_clocks() if clock.limit is not scene.RAISED_CO2)
    return scene.with_cabin(snapshot, *scene.make_clocks(plan, no_removal=(4.12, 4.5, 5.0)), *others)


def sealed(snapshot):
    """A space with no stores at all."""
    return replace(snapshot, supplies={}, shortest=None, unknown=(), loads=())


def headline(view, width=80):
    return [text.plain.rstrip() for text in headline_lines(view, width, 5)]


def test_a_limit_that_comes_before_every_supply_is_the_headline_in_the_same_form(on_board, session):
    session.snapshot = early(session.snapshot)

    async def play(board):
        text = board.text()
        assert "X WARNING  RAISED CO2 REACHED FIRST" in text
        assert "low end in 10.2 h  2041-06-03 15:14 UTC  T+36h04m" in text
        assert "central 12.0 h, high 15.0 h; now 0.620, max 2.00 kPa" in text
        assert "to need: low end SHORT 69.5 h, central SHORT 67.7 h" in text
        assert "4.1 h if CO2 removal stopped now; then water SHORT 50.6 h" in text
        assert "h, BEFORE need" in text
        assert "RUNS OUT FIRST" not in text

    on_board(play)


def test_a_supply_that_comes_before_every_limit_stays_the_headline(kit):
    assert "WATER RUNS OUT FIRST" in headline(kit.view(scene.with_cabin(kit.snapshot())))[0]


def test_a_limit_that_is_reached_says_so_with_what_was_read_and_who_sets_it(kit):
    snapshot = early(kit.snapshot(), state=ClockState.REACHED, now_si=2310.0)
    lines = headline(kit.view(snapshot))
    assert "X WARNING  RAISED CO2 REACHED NOW" in lines[0]
    assert "beyond the limit: now 2.31, max 2.00 kPa" in lines[1]
    assert "source: NASA MSC-02680 section 9.2.2" in lines[2]


def test_old_readings_take_the_ground_from_a_headline_of_the_cabin_too(kit):
    snapshot = early(kit.snapshot(), quality=Quality.STALE)
    view = kit.view(snapshot)
    first = headline_lines(view, 80, 5)
    assert "NOT CURRENT: stale, 4 s old  X WARNING  RAISED CO2" in first[0].plain
    assert all(text.style != view.look.palette.grounds[Band.WARNING] for text in first)
    frozen = kit.view(early(kit.snapshot()), not_updated_s=42.0, waited_s=42.0)
    assert "NOT CURRENT: not updated for 42 s" in headline(frozen)[0]


def test_a_limit_that_is_not_known_is_named_as_what_could_be_shorter(kit):
    snapshot = early(kit.snapshot(), state=ClockState.UNKNOWN, reached_in_s=None, margin_s=None, now_si=None)
    assert "? not known, could be shorter: raised CO2" in "\n".join(headline(kit.view(snapshot)))


def test_a_small_board_speaks_of_the_cabin_first_where_that_comes_first(kit):
    view = kit.view(early(kit.snapshot()), size=(60, 12))
    words = " ".join(" ".join(text.plain for text in headline_words(view, 60, 12)).split())
    assert words.startswith("X RAISED CO2 SHORT 69.5 h low end, WARNING")
    assert "reached first: low end in 10.2 h" in words


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 50), (40, 10)])
def test_a_sealed_space_without_supplies_lives_on_its_limits_alone(on_board, session, size):
    session.snapshot = session.after = sealed(early(session.snapshot))

    async def play(board):
        for keys in (
            (),
            ("down",),
            ("tab",),
            ("tab",),
            ("pagedown",),
            ("escape",),
            ("c",),
            ("escape", "s"),
            ("enter",),
        ):
            await board.press(*keys)
            assert board.app.desk.faults() == ()
        await board.press("escape", "escape")
        text = board.text()
        if size[0] >= 80:
            assert "RAISED CO2 REACHED FIRST" in text
            for name in ("raised CO2", "cold", "damp"):
                assert any(row.startswith(f" {name} ") for row in text.splitlines()), name
            assert "supply" not in text.splitlines()[10]

    on_board(play, size=size)


def test_a_sealed_space_in_which_no_limit_comes_says_so_with_what_would_be_left(kit):
    clocks = scene.make_clocks(
        scene.make_clock(scene.LOW_OXYGEN, None, now_si=19_300.0, band=Band.NOMINAL),
        no_feed=(11.6, 12.5, 14.0),
    )
    lines = headline(kit.view(sealed(scene.with_cabin(kit.snapshot(), *clocks))))
    assert lines[0] == " . NO LIMIT OF THE CABIN IS REACHED UNDER THE PLAN"
    assert lines[1] == " low inspired oxygen: 11.6 h if the oxygen feed stopped now"


def test_a_sealed_space_of_which_nothing_is_known_does_not_look_well(kit):
    clock = scene.make_clock(
        scene.RAISED_CO2,
        None,
        now_si=None,
        band=None,
        state=ClockState.UNKNOWN,
        why="not known: cabin.ppco2 has never been read",
    )
    lines = headline(kit.view(sealed(scene.with_cabin(kit.snapshot(), clock))))
    assert "? NO MARGIN IS KNOWN" in lines[0]
    assert "cabin.ppco2 has never been read" in lines[1]


def test_one_key_shows_all_of_the_cabin_and_the_same_key_the_log_again(on_board, session):
    session.snapshot = scene.with_cabin(session.snapshot)

    async def play(board):
        await board.press("a")
        shown = board.text()
        assert "── cabin: clocks low / central / high" in shown
        assert "CABIN X WARNING raised CO2" in shown, "the most urgent stays in sight"
        for _ in range(20):
            await board.press("pagedown")
            shown += board.text()
        for words in (
            "pressure 37.9 kPa 4 s old",
            "humidity 58.0 % 4 s old",
            "inspired oxygen 19.3 kPa 4 s old",
            "X WARNING raised CO2  max 2.00 kPa, now 0.620 kPa",
            "source: NASA MSC-02680 section 9.2.2",
            "means an average over hours; it is",
            "under the plan                 48.3 / 52.0 / 57.1 h  SHORT 31.4 h, low end",
            "CO2 removal ends with absorbent, in 47.9 h",
            "if CO2 removal stopped now     4.1 / 4.5 / 5.0 h",
            "84.4 / 95.0 / not reached",
            "if the oxygen feed stopped now 11.6 / 12.5 / 14.0 h",
        ):
            assert words in shown, words
        await board.press("a")
        assert "── log ──" in board.text()

    on_board(play)


def test_what_the_clocks_rest_on_is_said_once_for_each_limit(kit):
    lines = [text.plain for text in cabin_pane_lines(kit.view(scene.with_cabin(kit.snapshot())), 80, 60)]
    said = [row.strip() for row in lines]
    start = next(at for at, row in enumerate(said) if "raised CO2" in row)
    end = next(at for at, row in enumerate(said) if row.startswith("! CAUTION cold"))
    assert said[start:end].count("closed form, the absorbent's stream stopped") == 1


def test_of_two_reasons_that_share_a_sentence_only_the_new_one_is_said_again(kit):
    plan = scene.make_clock(scene.DAMP, (9.0, 9.5, 10.0), now_si=0.5, band=Band.CAUTION, why="one; two")
    other = replace(plan, supposition=Supposition.NO_POWER, margin_s=None, band=None, why="two; three")
    view = kit.view(scene.with_cabin(kit.snapshot(), plan, other), size=(120, 36))
    said = [text.plain.strip() for text in cabin_pane_lines(view, 60, 60)]
    assert "one; two" in said
    assert "three" in said


def test_the_last_hour_is_told_in_minutes_rounded_down(kit):
    plan = scene.make_clock(scene.DAMP, (9.0, 9.5, 10.0), now_si=0.5, band=Band.CAUTION)
    clocks = scene.make_clocks(plan, no_power=(0.222, 0.25, 0.9))
    view = kit.view(scene.with_cabin(kit.snapshot(), *clocks), size=(120, 36))
    assert cabin_lines(view, 80, 2)[1].plain.endswith("power 13 min")
    said = [text.plain.strip() for text in cabin_pane_lines(view, 80, 60)]
    assert "if all loads stopped now       13 / 15 / 54 min" in said


def test_names_that_would_look_alike_lose_their_middle(kit):
    def named(name):
        limit = replace(scene.DAMP, name=name)
        return scene.make_clock(limit, None, now_si=0.5, band=Band.NOMINAL)

    clocks = (named("oxygen too lean"), named("oxygen too rich"), named("something quite else"))
    rows = [text.plain for text in cabin_lines(kit.view(scene.with_cabin(kit.snapshot(), *clocks)), 76, 4)]
    names = [row[1:].split(" . ")[0].strip() for row in rows[1:]]
    assert names[0].endswith("lean")
    assert names[1].endswith("rich")
    assert names[2].startswith("something")


def test_a_doubtful_property_has_its_word_and_its_reason_in_the_pane(kit):
    snapshot = scene.with_cabin(kit.snapshot())
    cabin = tuple(
        replace(reading, quality=Quality.SUSPECT, why="cabin.ppco2: jumped by 3 kPa")
        if reading.name == "carbon_dioxide"
        else reading
        for reading in snapshot.cabin
    )
    view = kit.view(replace(snapshot, cabin=cabin))
    text = "\n".join(text.plain for text in cabin_pane_lines(view, 120, 60))
    assert "SUSPECT  cabin.ppco2: jumped by 3 kPa" in text


def test_ends_of_clocks_are_strong_only_while_their_readings_are_fresh(kit):
    def is_strong(view):
        row = next(text for text in cabin_pane_lines(view, 80, 60) if "48.3 / 52.0 / 57.1 h" in text.plain)
        at = row.plain.index("48.3")
        return any(
            span.start <= at < span.end and span.style == view.look.palette.strong for span in row.spans
        )

    snapshot = scene.with_cabin(kit.snapshot())
    assert is_strong(kit.view(snapshot))
    assert not is_strong(kit.view(snapshot, not_updated_s=42.0, waited_s=42.0))
    stale = tuple(replace(clock, quality=Quality.STALE) for clock in snapshot.clocks)
    assert not is_strong(kit.view(replace(snapshot, clocks=stale)))


def worse_after(snapshot):
    """Without the blower carbon dioxide is reached within hours."""
    return replace(
        snapshot,
        clocks=tuple(
            replace(
                clock,
                reached_in_s=Interval(p05=4.0 * HOUR_S, p50=4.5 * HOUR_S, p95=5.0 * HOUR_S),
                margin_s=Interval(p05=-75.6 * HOUR_S, p50=-75.1 * HOUR_S, p95=-74.6 * HOUR_S),
                band=Band.WARNING,
            )
            if clock.limit is scene.RAISED_CO2 and clock.supposition is Supposition.PLAN
            else clock
            for clock in snapshot.clocks
        ),
    )


def test_a_step_that_stops_co2_removal_says_so_before_it_can_be_logged(on_board, session):
    session.snapshot = scene.with_cabin(session.snapshot)
    session.after = worse_after(session.snapshot)

    async def play(board):
        await board.press("s", "enter")
        await board.until(lambda: "CABIN WORSE" in board.text())
        text = board.text()
        assert " X WARNING, CABIN WORSE: raised CO2 4.0 h, was 48.3 h: SHORT 75.6 h" in text
        rows = board.text().splitlines()
        worse = next(at for at, row in enumerate(rows) if "CABIN WORSE" in row)
        assert worse < next(at for at, row in enumerate(rows) if row.startswith("margin")), (
            "before the margins"
        )
        table = next(row for row in rows if row.startswith("raised CO2"))
        assert table.split()[2:] == ["48.3", "h", "4.0", "h", "-44.3", "X", "WARNING"]
        assert "cabin limits; 3 stay as they are" in text
        assert not session.logged

    on_board(play)


def test_a_step_that_gives_the_cabin_time_says_that_too_and_none_is_called_worse(on_board, session):
    session.after = scene.with_cabin(session.snapshot)
    session.snapshot = worse_after(session.after)

    async def play(board):
        await board.press("s", "enter")
        await board.until(lambda: "cabin limits" in board.text())
        assert "CABIN WORSE" not in board.text()
        table = next(row for row in board.text().splitlines() if row.startswith("raised CO2"))
        assert table.split()[2:] == ["4.0", "h", "48.3", "h", "+44.3", "X", "WARNING"]

    on_board(play)


def test_a_step_that_leaves_the_cabin_alone_says_that_no_limit_changes(on_board, session):
    session.snapshot = session.after = scene.with_cabin(session.snapshot)

    async def play(board):
        await board.press("s", "enter")
        await board.until(lambda: "cabin, under the plan: none of 4 limits changes" in board.text())

    on_board(play)


@pytest.mark.parametrize(
    ("before_h", "after_h", "after_band", "is_worse", "is_better"),
    [
        (48.0, 47.95, Band.WARNING, False, False),
        (48.0, 47.0, Band.WARNING, True, False),
        (0.40, 0.33, Band.WARNING, True, False),
        (0.33, 0.40, Band.WARNING, False, True),
        (99.0, 99.0, Band.CAUTION, False, False),
        (99.0, 98.95, Band.CAUTION, True, False),
        (None, 200.0, Band.ADVISORY, True, False),
        (200.0, None, Band.ADVISORY, False, True),
    ],
)
def test_what_counts_as_worse_goes_by_how_much_there_was(before_h, after_h, after_band, is_worse, is_better):
    def clock(end_h, band):
        ends = None if end_h is None else (end_h, end_h + 1.0, end_h + 2.0)
        return scene.make_clock(scene.RAISED_CO2, ends, now_si=620.0, band=band)

    before_band = Band.ADVISORY if after_band is not Band.WARNING else Band.WARNING
    change = LimitChange(before=clock(before_h, before_band), after=clock(after_h, after_band))
    assert (change.is_worse, change.is_better) == (is_worse, is_better)


def test_a_limit_that_is_lost_from_sight_by_a_step_counts_as_worse(on_board, session):
    session.snapshot = scene.with_cabin(session.snapshot)
    session.after = replace(
        session.snapshot,
        clocks=tuple(
            replace(clock, state=ClockState.UNKNOWN, reached_in_s=None, margin_s=None, band=None)
            if clock.limit is scene.RAISED_CO2
            else clock
            for clock in session.snapshot.clocks
        ),
    )

    async def play(board):
        await board.press("s", "enter")
        await board.until(lambda: "? unknown, CABIN WORSE: raised CO2" in board.text())
        assert "raised CO2 not known, was 48.3 h" in " ".join(board.text().split())

    on_board(play)
