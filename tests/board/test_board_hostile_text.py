"""Text from feeds, configs and operators does nothing but be read."""

from __future__ import annotations

from dataclasses import replace

import cabin_scene as scene
from textual import events

from console.engine.reading import Quality
from console.engine.snapshot import Band
from console.record.entry import EntryKind

HOSTILE = (
    "[red]x[/] [@click=app.quit]y[/] [/] \x1b[2J\x1b]0;t\x07 \x9b31m a\nb\tc \u202etext 漢字漢字 "
    "e\u0301\u0301 " + "long " * 60
)


def hostile_clock(clock):
    limit = replace(clock.limit, name=f"{clock.limit.name} {HOSTILE}", source=HOSTILE)
    return replace(clock, limit=limit, why=HOSTILE, quality=Quality.SUSPECT)


def hostile_snapshot(kit):
    supply = kit.supply(HOSTILE, (29.0, 35.0, 41.0), Band.WARNING, why=HOSTILE, quality=Quality.SUSPECT)
    supply = replace(
        supply,
        stores=tuple(replace(store, name=HOSTILE, why=HOSTILE, basis=HOSTILE) for store in supply.stores),
        ledger=tuple(replace(line, name=HOSTILE) for line in supply.ledger),
    )
    snapshot = kit.snapshot(supply, kit.unknown("other" + HOSTILE, HOSTILE))
    snapshot = scene.with_cabin(snapshot, *(hostile_clock(clock) for clock in scene.cabin_clocks()))
    return replace(
        snapshot,
        cabin=tuple(replace(reading, why=HOSTILE, quality=Quality.SUSPECT) for reading in snapshot.cabin),
        peaks=tuple(
            scene.make_peak(
                HOSTILE, at_s, 50.0, 70.0, supply=HOSTILE, store=HOSTILE, why=HOSTILE, is_over=True
            )
            for at_s in (snapshot.at_s - 60.0, snapshot.at_s + 60.0)
        ),
        drops=tuple(replace(drop, module=HOSTILE) for drop in scene.DROPS),
        craft_name=HOSTILE,
        feed=replace(snapshot.feed, source=HOSTILE, faults=(HOSTILE, HOSTILE), quality=Quality.SUSPECT),
        need=replace(snapshot.need, option=HOSTILE, note=HOSTILE),
        loads=tuple(replace(load, name=HOSTILE, title=HOSTILE, supply=HOSTILE) for load in snapshot.loads),
        phase=HOSTILE,
        level=HOSTILE,
        watch=HOSTILE,
        next_event=replace(snapshot.next_event, name=HOSTILE),
    )


def controls_of(text):
    return [character for character in text if character != "\n" and not character.isprintable()]


def test_hostile_text_reaches_the_terminal_as_text_in_every_place(on_board, session, kit):
    session.snapshot = session.after = hostile_snapshot(kit)
    session.operator = HOSTILE
    session.journal = [
        kit.entry(number, EntryKind.NOTE, HOSTILE, operator=HOSTILE, position=HOSTILE) for number in (1, 2)
    ]

    async def play(board):
        for keys in (
            (),
            ("tab",),
            ("tab",),
            ("tab",),
            ("a",),
            ("pagedown",),
            ("c",),
            ("pagedown",),
            ("escape", "s"),
            ("enter",),
            ("escape", "escape", "n"),
        ):
            await board.press(*keys)
            text = board.text()
            assert controls_of(text) == []
            assert len(text.splitlines()) == board.app.size.height
        assert all(fault.startswith("CURRENT: ") for fault in board.app.desk.faults())
        assert board.app.return_code is None

    on_board(play)
    on_board(play, size=(120, 36))


def test_markup_is_shown_letter_by_letter(on_board, session, kit):
    session.journal = [kit.entry(1, EntryKind.NOTE, "[red]x[/] [@click=app.quit]y")]

    async def play(board):
        assert "[red]x[/] [@click=app.quit]y" in board.text()

    on_board(play)


def test_an_error_with_markup_ends_nothing(on_board, session):
    session.tick_error = ValueError("[/] [@click=app.quit]")

    async def play(board):
        assert "ValueError: [/] [@click=app.quit]" in board.text()

    on_board(play)


def test_what_is_pasted_into_a_note_is_made_harmless_before_it_is_shown(on_board, session):
    async def play(board):
        await board.press("n")
        board.app.post_message(events.Paste("before\x1b[2Jafter"))
        await board.pilot.pause()
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["text"] == "before\u241b[2Jafter"

    on_board(play)


def test_rows_never_grow_wider_than_the_board(on_board, session, kit):
    from rich.cells import cell_len

    session.snapshot = hostile_snapshot(kit)

    async def play(board):
        assert max(cell_len(row) for row in board.text().splitlines()) <= 80

    on_board(play)


def test_the_drawing_widget_itself_lets_nothing_through():
    import asyncio

    from rich.text import Text
    from textual.app import App

    from console.board.widgets.face import Face

    class Bare(App):
        def compose(self):
            yield Face(lambda state, _width, _height: [Text(state, end="")], what="text")

    async def main():
        app = Bare()
        async with app.run_test() as pilot:
            face = app.query_one(Face)
            face.styles.height = 1
            await pilot.pause()
            face.show("a\x1b[2Jb\u202ec\x9bd")
            assert controls_of(face.render_line(0).text) == []
            assert face.render_line(0).text.startswith("a\u241b[2Jb")

    asyncio.run(main())


def test_lines_are_harmless_before_they_are_measured():
    from rich.style import Style

    from console.board.cells import fit, line

    made = line("a\x1b[2J", ("b\x9b\nc", Style(bold=True)))
    assert controls_of(made.plain) == []
    assert made.cell_len == len("a.[2Jb<U+009B> c")
    assert fit("\x07" * 9, 4) == "\u2407" * 4
