"""Leave it on, or off and pay to bring it back, on the board: what is typed, asked and answered."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import cabin_scene
import deciding_scene as scene
import pytest

from console.board.completing import Completing
from console.board.faces.keep import verdict_words
from console.board.keep_words import (
    load_completions,
    read_load,
    read_restart_si,
    read_until_s,
    restart_completions,
    restart_words,
    until_words,
)
from console.craft.model import LoadState
from console.engine.difference import difference
from console.engine.snapshot import Supposition
from console.errors import EnduranceError, UsageError

GOLDENS = Path(__file__).parent / "goldens"
HOUR_S = 3600.0


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


async def opened(board):
    await board.press("d", "k")
    await board.until(lambda: "bring back" in board.text())


async def asked(board, load="s-radio", until="T+40h", restart="2.3 A*h"):
    await opened(board)
    await board.press(*load, "enter", *until, "enter", *restart, "enter")
    await board.until(lambda: "off saves" in board.text())


def row_of(board, begin):
    return next(row for row in board.text().splitlines() if row.startswith(begin))


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_both_ways_of_a_load_look_as_was_agreed(on_board, session, size):
    golden = GOLDENS / f"keep_{size[0]}x{size[1]}.txt"
    session.snapshot = cabin_scene.with_cabin(session.snapshot)

    async def play(board):
        await asked(board)
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_it_gives_both_costs_and_the_break_even_and_logs_nothing(on_board, session):
    async def play(board):
        await asked(board)
        text = " ".join(board.text().split())
        assert "OFF PAYS: it saves power 31.7 A·h, water 1.20 kg" in text
        assert "break-even: off for 54m00s or longer it pays on every supply" in text
        assert "it would be off for 14h07m" in text
        assert row_of(board, "power").split() == [
            "power",
            "34.0",
            "A·h",
            "2.30",
            "A·h",
            "+31.7",
            "A·h",
            "54m00s",
        ]
        assert row_of(board, "water").split() == [
            "water",
            "1.20",
            "kg",
            "0",
            "kg",
            "+1.20",
            "kg",
            "at",
            "once",
        ]
        assert not any(row.startswith("oxygen") and "at once" in row for row in board.text().splitlines())
        assert not session.logged

    on_board(play)


def test_the_session_is_asked_what_was_typed_and_not_in_the_screens_thread(on_board, session):
    async def play(board):
        await asked(board, until="19:10", restart="2.3 A*h, oxygen 0.2 kg")
        load, until_s, restart_si, is_screens_thread = session.kept[-1]
        assert load == "s-radio"
        # 19:10 UTC of the day whose 03:10 was a day after the epoch.
        assert until_s == 40 * HOUR_S
        assert restart_si == {"power": pytest.approx(2.3 * 3600.0), "oxygen": pytest.approx(0.2)}
        assert not is_screens_thread

    on_board(play)


@pytest.mark.parametrize(
    ("load", "until", "restart", "message"),
    [
        ("s-raido", "T+40h", "2.3 A*h", "found 's-raido'; did you mean 's-radio'?"),
        ("s-radio", "T+3h", "2.3 A*h", "that is over, now is T+25h52m"),
        ("s-radio", "soon", "2.3 A*h", "write T+31h, 10:30 (UTC, the next) or 2041-06-03T10:10:00Z"),
        ("s-radio", "T+40h", "2.3 A", "amps are a rate, amp-hours a quantity"),
        ("s-radio", "T+40h", "oxigen 0.2 kg", "found supply 'oxigen'; did you mean 'oxygen'?"),
        ("s-radio", "T+40h", "-1 A*h", "write zero or more"),
        ("s-radio", "T+40h", "1 A*h, 2 A*h", "found power twice"),
        ("s-radio", "T+40h", "oxygen", "write oxygen and how much of it"),
        ("s-radio", "T+40h", "much", "write an amount"),
    ],
)
def test_what_cannot_be_read_is_said_with_what_to_write(on_board, session, load, until, restart, message):
    async def play(board):
        await opened(board)
        for text in (load, until, restart):
            await board.press(*text, "enter")
            if message in " ".join(board.text().split()):
                break
        assert message in " ".join(board.text().split())
        assert not session.kept

    on_board(play, size=(120, 36))


def test_a_field_that_is_wrong_is_not_left_with_enter(on_board):
    async def play(board):
        await opened(board)
        await board.press(*"s-raido", "enter")
        assert board.app.focused.id == "keep-load"
        assert "did you mean 's-radio'?" in board.text()
        await board.press(*["backspace"] * 7, *"s-radio", "enter")
        assert board.app.focused.id == "keep-until"

    on_board(play)


def test_what_the_engine_refuses_is_said_and_no_older_answer_passes_for_one(on_board, session):
    async def play(board):
        await asked(board)
        session.keep_error = UsageError("found a moment after need, when nothing is reckoned any more")
        await board.press(*["backspace"] * 7, *"3 A*h", "enter")
        await board.until(lambda: "NOT RECKONED: found a moment after need" in board.text())
        assert "enter asks anew; below: s-radio until T+40h, 2.3 A*h" in " ".join(board.text().split())

    on_board(play, size=(120, 36))


def test_figures_of_another_question_are_marked_as_such(on_board):
    async def play(board):
        await asked(board)
        assert "as asked before" not in board.text()
        await board.press("backspace")
        assert "as asked before" in board.text()

    on_board(play, size=(120, 36))


def test_tab_completes_the_loads_that_draw_now_and_then_goes_on(on_board):
    async def play(board):
        await opened(board)
        assert "tab, loads that draw now: s-radio, cabin-fan, computer" in board.text()
        await board.press(*"co", "tab")
        assert "computer" in row_of(board, "load")
        await board.press("tab")
        assert board.app.focused.id == "keep-until"
        await board.press("tab", *"oxy", "tab")
        assert row_of(board, "bring back").split() == ["bring", "back", "oxygen"]
        await board.press(*"0.2 kg", "tab")
        assert board.app.focused.id == "keep-load"
        await board.press("shift+tab")
        assert board.app.focused.id == "keep-restart"

    on_board(play)


def test_the_moment_is_shown_as_it_is_taken(on_board):
    async def play(board):
        await opened(board)
        await board.press(*"s-radio", "enter", *"T+40h")
        assert "wanted again T+40h00m, 2041-06-03 19:10 UTC, in 14h07m" in board.text()
        await board.press(*["backspace"] * 5, *"T+200h")
        assert "lies after need, T+105h30m" in " ".join(board.text().split())

    on_board(play)


def test_what_is_typed_stays_while_the_dialog_is_closed(on_board, session):
    async def play(board):
        await asked(board)
        await board.press("escape", "d", "k")
        assert "s-radio" in row_of(board, "load")
        assert "2.3 A*h" in row_of(board, "bring back")
        count = len(session.kept)
        await board.until(lambda: len(session.kept) >= count and "off saves" in board.text())

    on_board(play)


def test_a_loads_own_cautions_stand_under_the_verdict(on_board, session):
    loads = session.scenario.craft.loads
    loads = {**loads, "cabin-fan": replace(loads["cabin-fan"], needs=("s-radio",))}
    session.scenario = replace(session.scenario, craft=replace(session.scenario.craft, loads=loads))
    session.keep_answer = replace(session.keep_answer, load=replace(session.keep_answer.load, stays=True))

    async def play(board):
        await asked(board)
        assert "craft.yaml: s-radio stays on" in board.text()
        assert "s-radio is needed by cabin-fan, on now" in board.text()

    on_board(play)


def test_a_load_that_the_plan_has_off_by_then_need_not_be_brought_back(on_board, session):
    session.keep_answer = replace(session.keep_answer, state_then=LoadState.OFF)

    async def play(board):
        await asked(board)
        await board.press("pagedown")
        assert "so nobody need bring it back" in " ".join(board.text().split())

    on_board(play, size=(120, 36))


def test_a_supply_that_loses_is_never_said_to_pay(kit, session):
    before = session.snapshot
    choice = scene.make_kept(
        kit, before, scene.make_trade("power", 1.0, 2.3, None), scene.make_trade("water", 0.4, 0.0, 0.0)
    )
    words, is_good = verdict_words(choice, difference(choice.keep, choice.off))
    assert words.startswith("OFF saves water 0.400 kg BUT COSTS power 1.30 A·h")
    assert not is_good
    choice = scene.make_kept(kit, before, scene.make_trade("power", 1.0, 2.3, None))
    assert verdict_words(choice, difference(choice.keep, choice.off))[0].startswith("OFF DOES NOT PAY")


def test_a_limit_of_the_cabin_that_comes_earlier_is_never_said_to_pay(kit, session):
    before = cabin_scene.with_cabin(session.snapshot)
    clocks = tuple(
        replace(
            clock,
            reached_in_s=replace(
                clock.reached_in_s, p05=1800.0, p50=3600.0, p95=min(clock.reached_in_s.p95 or 7200.0, 7200.0)
            ),
            margin_s=replace(clock.margin_s, p05=-9e4, p50=-8e4),
        )
        if clock.supposition is Supposition.PLAN
        and clock.reached_in_s is not None
        and clock.margin_s is not None
        and (clock.margin_s.p05 or 0.0) > 0.0
        else clock
        for clock in before.clocks
    )
    choice = scene.make_kept(kit, before, off=replace(before, clocks=clocks))
    words, is_good = verdict_words(choice, difference(choice.keep, choice.off))
    assert not is_good
    assert "PAYS" not in words
    assert "brings cabin limits EARLIER: " in words


def test_what_is_not_known_of_a_supply_is_no_saving(kit, session):
    choice = scene.make_kept(
        kit,
        session.snapshot,
        scene.make_trade("power", 34.0, 2.3, 0.9),
        scene.make_trade("oxygen", None, 0.0, None),
    )
    words, is_good = verdict_words(choice, difference(choice.keep, choice.off))
    assert not is_good
    assert "not known of oxygen" in words


def test_markup_and_control_characters_in_a_title_do_nothing(on_board, session):
    nasty = "[/]\x1b[2J[@click=app.quit]x[/]"
    session.keep_answer = replace(session.keep_answer, load=replace(session.keep_answer.load, title=nasty))

    async def play(board):
        await asked(board)
        await board.press("pagedown")
        assert "[@click=app.quit]" in board.text()
        assert "\x1b" not in board.text()

    on_board(play, size=(120, 36))


def test_a_time_of_day_is_the_next_one_and_the_rest_is_strict(kit):
    now_s = kit.now_s  # 05:02:14 UTC
    assert read_until_s("05:03", kit.epoch, now_s) == 25 * HOUR_S + 53 * 60
    assert read_until_s("05:02", kit.epoch, now_s) == 49 * HOUR_S + 52 * 60
    assert read_until_s("T+1d16h", kit.epoch, now_s) == 40 * HOUR_S
    assert read_until_s("2041-06-03T19:10:00Z", kit.epoch, now_s) == 40 * HOUR_S
    for text in ("", "T+25h", "40h", "2041-06-03 19:10", "25:00"):
        with pytest.raises(EnduranceError):
            read_until_s(text, kit.epoch, now_s)
    assert until_words("  ", kit.epoch, now_s, None) == ""


def test_costs_are_read_by_supply_and_the_first_form_is_the_loads_own(session):
    craft = session.scenario.craft
    assert read_restart_si("2.3 A*h", "s-radio", craft) == {"power": pytest.approx(8280.0)}
    assert read_restart_si("0 A*h; water 1 lb", "s-radio", craft) == {
        "power": 0.0,
        "water": pytest.approx(0.45359237),
    }
    with pytest.raises(UsageError, match=r"as 2\.3 A"):
        read_restart_si(" , ", "s-radio", craft)
    with pytest.raises(UsageError):
        read_restart_si("2,3 A*h", "s-radio", craft)
    assert restart_words("2.3 A*h", "s-radio", craft) == "bringing it back takes power 2.30 A·h"
    assert "write" in restart_words("2.3 kg", "s-radio", craft)
    with pytest.raises(UsageError, match="tab goes through"):
        read_load("zzz", craft)


def test_completions_offer_what_draws_before_what_does_not(kit, session):
    craft = session.scenario.craft
    loads = {**craft.loads, "mapper": scene.make_load("mapper", 9, "")}
    craft = replace(craft, loads=loads)
    assert load_completions("", craft, kit.snapshot()) == ("s-radio", "cabin-fan", "computer")
    assert load_completions("map", craft, kit.snapshot()) == ("mapper",)
    assert load_completions("RAD", craft, kit.snapshot()) == ("s-radio",)
    assert restart_completions("2 A*h, ox", ("power", "oxygen")) == ("2 A*h, oxygen ",)
    assert restart_completions("2 A*h, 3", ("power", "oxygen")) == ()


def test_tab_takes_what_all_have_in_common_and_then_goes_round():
    completing, found = Completing(), ("air-fan-1", "air-fan-2")
    assert completing.taken("air", found) == "air-fan-"
    assert completing.taken("air-fan-", found) == "air-fan-1"
    assert completing.goes_round("air-fan-1")
    assert completing.taken("air-fan-1", ("air-fan-1",)) == "air-fan-2"
    assert completing.taken("air-fan-2", ()) == "air-fan-1"
    assert completing.taken("x", ()) is None
