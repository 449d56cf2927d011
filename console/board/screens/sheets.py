"""The sheets there are: the configuration, and help made from the bindings of every place."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from textual.binding import Binding, BindingType

from console.board.faces.guide import guide_lines
from console.board.faces.loads import loads_lines
from console.board.look import Look
from console.board.screens.board import BoardScreen
from console.board.screens.decide import DecideScreen
from console.board.screens.keep import KeepScreen
from console.board.screens.losses import LossesScreen
from console.board.screens.note import NoteScreen
from console.board.screens.reserves import ReservesScreen
from console.board.screens.shed import ShedScreen
from console.board.screens.sheet import SheetScreen
from console.board.screens.step import StepScreen
from console.board.screens.ways import WaysScreen
from console.board.screens.whatif import WhatifScreen
from console.board.screens.why import WhyScreen
from console.board.view import View


def loads_sheet(look: Look, current: Callable[[], View | None]) -> SheetScreen:
    """The configuration."""
    return SheetScreen(look, loads_lines, current, what="configuration")


def guide_sheet(look: Look, current: Callable[[], View | None], *, read_only: bool) -> SheetScreen:
    """Help: every key of every place that this board has."""
    board = _listed(BoardScreen.BINDINGS, hidden=("board.step", "board.note") if read_only else ())
    places = [("board", board)]
    if not read_only:
        places += [("log a step", _listed(StepScreen.BINDINGS)), ("note", _listed(NoteScreen.BINDINGS))]
    ways = _listed(WaysScreen.BINDINGS, hidden=_COMMITTING if read_only else ("ways.look",))
    reserves = _listed(ReservesScreen.BINDINGS, hidden=_RELEASING if read_only else ("reserves.look",))
    places += [
        ("decide", _listed(DecideScreen.BINDINGS)),
        ("options", ways),
        ("what if", _listed(WhatifScreen.BINDINGS)),
        ("keep or off", _listed(KeepScreen.BINDINGS)),
        ("switch off", _listed(ShedScreen.BINDINGS)),
        ("reserves", reserves),
        ("losses", _listed(LossesScreen.BINDINGS)),
        ("explain", _listed(WhyScreen.BINDINGS)),
    ]
    places.append(("sheets", _listed(SheetScreen.BINDINGS)))
    return SheetScreen(look, guide_lines(tuple(places)), current, what="help")


def _listed(bindings: Iterable[BindingType], hidden: tuple[str, ...] = ()) -> tuple[tuple[str, str], ...]:
    return tuple(
        (" ".join(_KEY_WORDS.get(key, key) for key in binding.key.split(",")), binding.description)
        for binding in bindings
        if isinstance(binding, Binding) and binding.id not in hidden
    )


_COMMITTING = ("ways.choose", "ways.confirm", "ways.field", "ways.field-enter")
_RELEASING = ("reserves.choose", "reserves.confirm", "reserves.field", "reserves.field-enter")
_KEY_WORDS = {"escape": "esc", "question_mark": "?", "pageup": "page-up", "pagedown": "page-down"}
