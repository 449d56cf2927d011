"""Every dialog by its name, made when it is first asked for: the first picture of the board needs none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.screen import Screen

from console.board.desk import Desk
from console.board.look import Look
from console.board.view import View


def dialog(
    name: str, look: Look, desk: Desk, current: Callable[[], View | None], *, read_only: bool
) -> Screen[Any]:
    """A dialog; what is no other is the help."""
    match name:
        case "step":
            from console.board.screens.step import StepScreen

            return StepScreen(look, desk)
        case "note":
            from console.board.screens.note import NoteScreen

            return NoteScreen(look, desk)
        case "decide":
            from console.board.screens.decide import DecideScreen

            return DecideScreen(look)
        case "ways":
            from console.board.screens.ways import WaysScreen

            return WaysScreen(look, desk, read_only=read_only)
        case "whatif":
            from console.board.screens.whatif import WhatifScreen

            return WhatifScreen(look, desk)
        case "keep":
            from console.board.screens.keep import KeepScreen

            return KeepScreen(look, desk)
        case "reserves":
            from console.board.screens.reserves import ReservesScreen

            return ReservesScreen(look, desk, read_only=read_only)
        case "shed":
            from console.board.screens.shed import ShedScreen

            return ShedScreen(look, desk, current)
        case "losses":
            from console.board.screens.losses import LossesScreen

            return LossesScreen(look, desk)
        case "why":
            from console.board.screens.why import WhyScreen

            return WhyScreen(look, desk, current)
    from console.board.screens.sheets import guide_sheet, loads_sheet

    if name == "loads":
        return loads_sheet(look, current)
    return guide_sheet(look, current, read_only=read_only)
