"""A picture of the real board as SVG, for documents: the board itself, without a terminal, at a fixed size.

The same scenario gives the same picture: the clock is the state file's own time. Nothing in the picture
points outside (the exporter's links to a font host are taken out).

    python -m console.board.picture configs/tern board.svg
"""

from __future__ import annotations

import argparse
import asyncio
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from textual.pilot import Pilot

from console.board.app import BoardApp

if TYPE_CHECKING:
    from console.session import Session

PICTURE_SIZE = (120, 36)
"""Columns and rows."""
_NOT_OURS = re.compile(r"@font-face\s*\{.*?\}\s*|<!--.*?-->\s*|<circle [^>]*/>\s*", re.DOTALL)
"""Fonts from a host, the exporter's remark on itself, the buttons of a window that is not there."""
_NEVER_S = 1e9
"""The interval of a board that is ticked once."""


def board_picture(session: Session, *, size: tuple[int, int] = PICTURE_SIZE, keys: Sequence[str] = ()) -> str:
    """The board as SVG text.

    Args:
        session: what is shown.
        size: columns and rows.
        keys: pressed before the picture is taken.
    """
    pictures: list[str] = []

    async def take(pilot: Pilot[object]) -> None:
        app.desk.tick_now()
        app.pull()
        await pilot.pause()
        if keys:
            await pilot.press(*keys)
            await pilot.pause()
        pictures.append(app.export_screenshot(title=f"endurance board, {size[0]}x{size[1]}"))
        app.exit(0)

    app = BoardApp(session, tick_interval_s=_NEVER_S)
    asyncio.run(app.run_async(headless=True, size=size, auto_pilot=take))
    app.desk.stop(_NEVER_S)
    return _NOT_OURS.sub("", pictures[0])


def main(words: Sequence[str] | None = None) -> int:
    """Write a picture of a scenario as its own state file has it."""
    parser = argparse.ArgumentParser(prog="python -m console.board.picture", description=__doc__)
    parser.add_argument("scenario", type=Path)
    parser.add_argument("picture", type=Path, help="the SVG file to write")
    parser.add_argument("--columns", type=int, default=PICTURE_SIZE[0])
    parser.add_argument("--rows", type=int, default=PICTURE_SIZE[1])
    arguments = parser.parse_args(words)
    session = _session_of(arguments.scenario)
    svg = board_picture(session, size=(arguments.columns, arguments.rows))
    arguments.picture.write_text(svg, "utf-8")
    return 0


def _session_of(folder: Path) -> Session:
    from console.feed.state_file import StateFileSource, state_file_time_s
    from console.instants import at_epoch_plus
    from console.scenario.load import load_scenario
    from console.session import Session

    scenario = load_scenario(folder)
    path = folder / "state.json"
    moment = at_epoch_plus(scenario.craft.epoch, state_file_time_s(path, scenario.craft.epoch))
    return Session(
        scenario=scenario,
        source=StateFileSource(path, scenario.craft.channels, scenario.craft.epoch),
        journal=None,
        clock=lambda: moment,
        operator="",
        position="",
    )


if __name__ == "__main__":
    raise SystemExit(main())
