"""What takes from a supply, use by use: an hour and a day, for all and for each, so that none is mistaken."""

from __future__ import annotations

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import fit, line, one_line
from console.board.view import View
from console.display import Rounding, amount_text, rate_text, unit_text
from console.engine.snapshot import SupplyStatus
from console.learnt_words import factor_text

_DAY_S = 86_400.0
_MOST_NAME = 20
_LEAST_NAME = 6
_GAP = 2


def rate_lines(view: View, supply: SupplyStatus, width: int) -> list[Text]:
    """A table of the uses; none where the engine names none. Where it is too wide, each day stands below."""
    if not supply.rates:
        return []
    rows = [_figures(supply, use.rate_si_per_s, use.people) for use in supply.rates]
    names = [one_line(use.name) for use in supply.rates]
    names.append("together")
    rows.append(_figures(supply, sum(use.rate_si_per_s for use in supply.rates), None))
    has_people = any(use.people for use in supply.rates)
    titles = ["all, an hour", "all, a day", *(["each, an hour", "each, a day"] if has_people else [])]
    widths = [max(len(title), *(len(row[at]) for row in rows)) for at, title in enumerate(titles)]
    name = min(_MOST_NAME, max(map(cell_len, names)))
    while len(titles) > 1 and name + sum(widths) + _GAP * len(widths) > width:
        if name > _LEAST_NAME:
            name -= 1
        else:
            return _in_two(view, names, rows, width) + _factor_lines(view, supply, width)
    lines = [_row("use", titles, name, widths, view)]
    lines += [_row(words, row, name, widths, view) for words, row in zip(names, rows, strict=True)]
    return lines + _factor_lines(view, supply, width)


def _row(words: str, cells: list[str], name: int, widths: list[int], view: View) -> Text:
    text = line(fit(words, name, view.look.glyphs.cut))
    for cell, width in zip(cells, widths, strict=False):
        text.append(" " * _GAP + cell.rjust(width))
    return text


def _in_two(view: View, names: list[str], rows: list[list[str]], width: int) -> list[Text]:
    """A narrow pane: the name, then hour and day, for all and for each."""
    lines = [line("uses: all an hour, a day")]
    for words, row in zip(names, rows, strict=True):
        lines.append(line(fit(f"{words}: {row[0]}, {row[1]}", width, view.look.glyphs.cut)))
        if row[2]:
            lines.append(line(fit(f"  each {row[2]}, {row[3]}", width, view.look.glyphs.cut)))
    return lines


def _factor_lines(view: View, supply: SupplyStatus, width: int) -> list[Text]:
    """How far measured use is off the config's figures; the uses above count it already."""
    if not supply.factors:
        return []
    words = f"measured over listed: {', '.join(factor_text(one) for one in supply.factors)}"
    return [line(fit(one_line(words), width, view.look.glyphs.cut))]


def _figures(supply: SupplyStatus, rate_si_per_s: float, people: int | None) -> list[str]:
    """All of them an hour and a day, and each of them; blank for what does not go by people."""
    each = rate_si_per_s / people if people else None
    return [
        rate_text(rate_si_per_s, supply.rate_unit),
        _day_text(supply, rate_si_per_s),
        "" if each is None else rate_text(each, supply.rate_unit),
        "" if each is None else _day_text(supply, each),
    ]


def _day_text(supply: SupplyStatus, rate_si_per_s: float) -> str:
    figure = amount_text(rate_si_per_s * _DAY_S, supply.unit, Rounding.UP)
    return f"{figure}/day" if unit_text(supply.unit) in figure else figure
