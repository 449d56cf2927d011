"""The sheet of the configuration: every load as it is commanded, and the cabin as it is read."""

from __future__ import annotations

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import fit, line, one_line
from console.board.faces.pane_title import scrolled
from console.board.faces.plan import draws_of
from console.board.view import View
from console.display import Rounding, age_text, figure_text, rate_text
from console.engine.reading import CabinReading, Quality
from console.engine.snapshot import LoadStatus, Snapshot

_CABIN: dict[str, tuple[str, float, float, int, Rounding]] = {
    "pressure": ("kPa", 1e3, 0.0, 1, Rounding.DOWN),
    "oxygen": ("kPa", 1e3, 0.0, 1, Rounding.DOWN),
    "carbon_dioxide": ("kPa", 1e3, 0.0, 2, Rounding.UP),
    "temperature": ("degC", 1.0, 273.15, 1, Rounding.NEAREST),
}
"""Unit, its factor and offset, decimals, and the side to which it is rounded."""


def loads_lines(view: View, width: int, height: int) -> list[Text]:
    """The whole sheet."""
    snapshot = view.snapshot
    if snapshot is None:
        return scrolled(view, "configuration", [line("no reading yet")], (width, height))
    draws = "; ".join(draw.words for draw in draws_of(snapshot))
    title = f"configuration: level {one_line(snapshot.level)}, {draws}"
    name = min(20, max([4, *(cell_len(one_line(load.name)) for load in snapshot.loads)]))
    body = [line(f"{fit('load', name)} {fit('state', 7)} {'draw':>10} prio  set by          what")]
    body += [_load_line(view, snapshot, load, name, width) for load in snapshot.loads]
    body += [line(), *(_cabin_line(view, reading) for reading in snapshot.cabin)]
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


def _cabin_line(view: View, reading: CabinReading) -> Text:
    name = f"cabin {reading.name.replace('_', ' ')}"
    unit, factor, offset, decimals, rounding = _CABIN.get(reading.name, ("SI", 1.0, 0.0, 3, Rounding.NEAREST))
    value = "not known"
    if reading.value_si is not None:
        value = f"{figure_text((reading.value_si - offset) / factor, decimals, rounding)} {unit}"
    age = "" if reading.age_s is None else f"{age_text(reading.age_s + view.waited_s)} old"
    text = line(f"{fit(name, 22)} ", (f"{value:>12}", view.look.palette.strong), f"  {age}")
    if reading.quality is not Quality.GOOD:
        text.append(f" {reading.quality.value.upper()} ", view.look.palette.old)
    return text
