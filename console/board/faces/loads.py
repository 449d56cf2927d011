"""The sheet of the configuration: currents, every load as commanded, modules, the cabin as it is read."""

from __future__ import annotations

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import fit, flow, line, one_line
from console.board.faces.cabin_readings import cabin_reading_lines
from console.board.faces.currents import current_lines, current_summary
from console.board.faces.modules import module_items
from console.board.faces.pane_title import scrolled
from console.board.faces.plan import draws_of
from console.board.view import View
from console.display import rate_text
from console.engine.snapshot import LoadStatus, Snapshot

_TITLES = ("", "propulsion", "cabin")


def loads_lines(view: View, width: int, height: int) -> list[Text]:
    """The whole sheet."""
    snapshot = view.snapshot
    if snapshot is None:
        return scrolled(view, "configuration", [line("no reading yet")], (width, height))
    draws = "; ".join(draw.words for draw in draws_of(snapshot))
    title = f"configuration: level {one_line(snapshot.level)}, {draws}"
    name = min(20, max([4, *(cell_len(one_line(load.name)) for load in snapshot.loads)]))
    body = current_summary(view, width)
    body += [line(f"{fit('load', name)} {fit('state', 7)} {'draw':>10} prio  set by          what")]
    body += [_load_line(view, snapshot, load, name, width) for load in snapshot.loads]
    sections = (current_lines(view, width), flow(module_items(view), width), cabin_reading_lines(view, width))
    for title_words, section in zip(_TITLES, sections, strict=True):
        if section:
            body += [
                line(),
                *([line((title_words, view.look.palette.title))] if title_words else []),
                *section,
            ]
    return scrolled(view, title, body, (width, height))


def _load_line(view: View, snapshot: Snapshot, load: LoadStatus, name: int, width: int) -> Text:
    palette = view.look.palette
    supply = snapshot.supplies.get(load.supply)
    draw = rate_text(load.draw_si_per_s, supply.rate_unit) if supply is not None else "?"
    by = "> logged step" if load.by_step else "  level"
    text = line(
        (fit(load.name, name, view.look.glyphs.cut), palette.strong),
        " ",
        (fit(load.state.value, 7), palette.strong if load.draw_si_per_s else palette.plain),
        f" {draw:>10} {load.priority:>4}  ",
        (fit(by, 15), palette.strong if load.by_step else palette.plain),
        " ",
    )
    text.append(fit(load.title, max(0, width - text.cell_len), view.look.glyphs.cut))
    return text
