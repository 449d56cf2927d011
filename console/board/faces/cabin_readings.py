"""The air and the warmth of the cabin now: each property with its age and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass

from rich.style import Style
from rich.text import Text

from console.board.cells import fit, line, one_line
from console.board.faces.cabin_words import cabin_age_s, property_words, unit_of
from console.board.faces.moments import not_updated_text
from console.board.view import View
from console.display import age_text, cabin_text, cabin_unit
from console.engine.reading import Quality
from console.engine.snapshot import CabinClock, Snapshot
from console.units import Unit

_NAME = 22
_VALUE = 12


@dataclass(frozen=True, kw_only=True, slots=True)
class _Property:
    """One property now."""

    name: str
    value: str
    quality: Quality
    age_s: float | None
    why: str


def cabin_reading_lines(view: View, width: int) -> list[Text]:
    """One line for each property."""
    return [_line(view, shown, width) for shown in _properties(view)]


def cabin_reading_items(view: View) -> list[Text]:
    """The same as short items, to flow into few lines."""
    return [_item(view, shown) for shown in _properties(view)]


def _properties(view: View) -> list[_Property]:
    """What is read, and what is reckoned for a limit alone."""
    snapshot = view.snapshot
    if snapshot is None:
        return []
    read = [
        _Property(
            name=property_words(reading.name),
            value=_value(
                reading.name,
                reading.value_si,
                cabin_unit(reading.name, snapshot.shown_in, written=reading.unit, is_share=reading.is_share),
            ),
            quality=reading.quality,
            age_s=reading.age_s,
            why=one_line(reading.why),
        )
        for reading in snapshot.cabin
    ]
    reckoned = [
        _Property(
            name=property_words(clock.limit.of.value),
            value=_value(clock.limit.of.value, clock.now_si, unit_of(clock.limit, snapshot.shown_in)),
            quality=clock.quality,
            age_s=cabin_age_s(snapshot, clock.limit),
            why="",
        )
        for clock in _reckoned(snapshot)
    ]
    return [*read, *reckoned]


def _reckoned(snapshot: Snapshot) -> list[CabinClock]:
    """The first clock of each property that stands among no readings."""
    read = {reading.name for reading in snapshot.cabin}
    clocks: dict[str, CabinClock] = {}
    for clock in snapshot.clocks:
        if clock.limit.of.value not in read and not clock.limit.is_share:
            clocks.setdefault(clock.limit.of.value, clock)
    return list(clocks.values())


def _value(name: str, value_si: float | None, unit: Unit) -> str:
    return "?" if value_si is None else cabin_text(name, value_si, unit)


def _line(view: View, shown: _Property, width: int) -> Text:
    text = line(
        fit(shown.name, _NAME, view.look.glyphs.cut),
        " ",
        (f"{shown.value:>{_VALUE}}", _style(view, shown)),
        f"  {_age(view, shown)}",
    )
    if shown.quality is Quality.GOOD:
        return text
    text.append(" ").append(f" {shown.quality.value.upper()} ", view.look.palette.old)
    return text.append(fit(f" {shown.why}", max(0, width - text.cell_len), view.look.glyphs.cut))


def _item(view: View, shown: _Property) -> Text:
    text = line(f"{shown.name} ", (shown.value, _style(view, shown)))
    text.append(f" {age}" if (age := _age(view, shown)) else "")
    if shown.quality is not Quality.GOOD:
        text.append(" ").append(f" {shown.quality.value.upper()} ", view.look.palette.old)
        text.append(f" {shown.why}" if shown.why else "")
    return text


def _style(view: View, shown: _Property) -> Style:
    is_fresh = shown.quality is Quality.GOOD and not not_updated_text(view)
    return view.look.palette.strong if is_fresh else view.look.palette.plain


def _age(view: View, shown: _Property) -> str:
    return "" if shown.age_s is None else f"{age_text(shown.age_s + view.waited_s)} old"
