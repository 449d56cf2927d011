"""A log that cannot be written: one standing fault, what is typed is kept, nothing says saved too early."""

from __future__ import annotations

from datetime import timedelta

import pytest
from rich.style import Style

from console.board.faces.entry_words import kept_faults
from console.board.faces.logbook import logbook_lines
from console.craft.plan import Watch
from console.record.entry import Draft, EntryKind
from console.record.journal_corrections import Standing
from console.record.journal_keeping import KeepingJournal
from console.record.journal_kept import Kept
from console.record.known_entries import KnownEntries


@pytest.fixture
def journal(session, kit, tmp_path):
    """A real journal behind the session that the board has."""
    opened = KeepingJournal.open(
        tmp_path / "watch.journal",
        scenario="tern",
        epoch=kit.epoch,
        clock=lambda: kit.epoch + timedelta(seconds=kit.now_s),
        monotonic=lambda: 0.0,
        host="console-1",
    )
    known = KnownEntries(opened)

    def log_note(text, *, happened_s=None):
        at_s = kit.now_s if happened_s is None else happened_s
        happened_at = kit.epoch + timedelta(seconds=at_s)
        body = {"text": text}
        return opened.append(
            Draft(
                id=f"id-of-{text}",
                kind=EntryKind.NOTE,
                happened_at=happened_at,
                operator="A. Lead",
                position="lead",
                body=body,
            )
        )

    session.log_note, session.entries, session.standings = log_note, known.newest, known.standings
    session.unsaved, session.write_unsaved = opened.kept, opened.write_kept
    yield opened
    opened.close()


async def note(board, text):
    await board.press("n", *text, "ctrl+s")


def test_what_is_typed_while_the_journal_is_gone_is_kept_and_written_when_it_is_back(
    on_board, journal, tmp_path
):
    away = tmp_path / "away"

    async def play(board):
        board.app.desk._clerk._every_s = 0.01
        journal.path.rename(away)
        await note(board, "first")
        await board.until(
            lambda: "1 entry NOT SAVED, kept here, do not type again: found no file" in board.text()
        )
        await board.until(lambda: board.app.screen is board.app.board)
        await note(board, "second")
        await board.until(
            lambda: "2 entries NOT SAVED, kept here, do not type again: found no file" in board.text()
        )
        await board.tick()
        said = board.text()
        assert "saved as" not in said
        assert sum("LOG:" in fault for fault in board.app.desk.faults()) == 1, "one fault, told once"
        away.rename(journal.path)
        await board.until(lambda: "saved as #1, #2" in board.text())
        await board.tick()
        assert "NOT SAVED" not in board.text()
        assert [entry.text for entry in journal.entries()] == ["first", "second"]

    on_board(play, size=(120, 36))


def test_what_is_still_kept_is_handed_back_when_the_board_is_left(on_board, journal, tmp_path):
    async def play(board):
        journal.path.rename(tmp_path / "away")
        await note(board, "first")
        await board.until(
            lambda: "1 entry NOT SAVED, kept here, do not type again: found no file" in board.text()
        )
        (handed,) = board.app.desk.stop(5.0)
        assert handed.startswith("note: first (happened ")

    on_board(play)


def test_a_journal_that_cannot_be_written_is_told_before_anything_is_typed(on_board, journal, tmp_path):
    away = tmp_path / "away"

    async def play(board):
        board.app.desk._clerk._every_s = 0.01
        journal.path.rename(away)
        await board.until(
            lambda: "CANNOT BE WRITTEN, new entries will be kept: found no file" in board.text()
        )
        away.rename(journal.path)
        await board.until(lambda: "CANNOT BE WRITTEN" not in board.text())

    on_board(play, size=(120, 36))


def test_what_turned_out_to_be_no_entry_stands_as_a_fault_with_its_text_and_reason(kit):
    draft = Draft(
        id="x",
        kind=EntryKind.CORRECTION,
        happened_at=kit.epoch,
        operator="",
        position="",
        body={"text": "fan 2\n\x1b[2J", "corrects": 9},
    )
    (fault,) = kept_faults(Kept(refused=((draft, "found no entry #9 to correct"),)))
    assert fault.startswith("LOG: REFUSED, not saved: fan 2")
    assert fault.endswith("found no entry #9 to correct")
    assert fault.isprintable()
    assert kept_faults(Kept()) == []


@pytest.mark.parametrize("width", [80, 120, 200])
def test_a_corrected_entry_is_struck_through_behind_its_word_and_the_new_text(kit, width):
    entry = kit.entry(7, EntryKind.NOTE, "fan 1 noisy")
    standing = Standing(is_withdrawn=False, by=(9,), text="fan 2 noisy")
    view = kit.view(kit.snapshot(), entries=(entry,), standings={7: standing})
    row = logbook_lines(view, width, 4)[1]
    assert row.cell_len <= width
    assert "CORRECTED by #9" in row.plain
    struck = [
        row.plain[span.start : span.end]
        for span in row.spans
        if isinstance(span.style, Style) and span.style.strike
    ]
    if width >= 120:
        assert struck == ["fan 1 noisy"]
        assert row.plain.index("fan 2 noisy") < row.plain.index("fan 1 noisy")
    assert "".join(struck).rstrip("…") in "fan 1 noisy"
    assert all("CORRECTED" not in part and "fan 2" not in part for part in struck)


def test_an_entry_that_nobody_corrected_has_nothing_struck(kit):
    view = kit.view(kit.snapshot(), entries=(kit.entry(7, EntryKind.NOTE, "fan 1 noisy"),))
    row = logbook_lines(view, 120, 4)[1]
    assert not [span for span in row.spans if isinstance(span.style, Style) and span.style.strike]


def test_a_wide_board_says_from_where_and_in_whose_watch_an_entry_was_written(kit):
    entry = kit.entry(7, EntryKind.NOTE, "fan 1 noisy")
    watches = (Watch(name="first", start_s=0.0), Watch(name="second", start_s=entry.elapsed_s + 1.0))
    view = kit.view(kit.snapshot(), entries=(entry,), watches=watches)
    assert "A. Lead (lead), first " in logbook_lines(view, 120, 4)[1].plain
    assert "fan 1 noisy" in logbook_lines(view, 80, 4)[1].plain


def test_an_entry_that_the_program_wrote_names_its_host(kit):
    entry = kit.entry(7, EntryKind.CLOCK, "the clock was set back", operator="", position="")
    view = kit.view(kit.snapshot(), entries=(entry,))
    assert "host host" in logbook_lines(view, 80, 4)[1].plain
