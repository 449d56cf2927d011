"""Currents: now and ahead against what each bus and its batteries may give, and how the batteries share."""

from __future__ import annotations

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import fit, line, one_line, wrap
from console.board.faces.moments import both_at
from console.board.view import View
from console.display import Rounding, countdown_text, elapsed_text, figure_text, hours_text
from console.engine.snapshot import Band, BusShare, Peak, Snapshot, StoreStatus, SupplyStatus

_NAME = 24
_MOST_OVER = 2
"""Of a supply above the loads; the rest stand under them."""


def over_sentences(snapshot: Snapshot) -> tuple[str, ...]:
    """For each supply whose current goes above a limit: the first phase or event, and how many more."""
    sentences = []
    for name in dict.fromkeys(peak.supply for peak in snapshot.peaks):
        over = [peak for peak in snapshot.peaks if peak.supply == name and peak.is_over]
        if over:
            first, more = over[0], len(over) - 1
            left_s = first.at_s - snapshot.at_s
            when = "now" if left_s <= 0.0 else countdown_text(left_s)
            also = f"; {more} more" if more else ""
            sentences.append(f"{first.name} {when}: {_excess(first)}{also}")
    return tuple(sentences)


def _excess(peak: Peak) -> str:
    """What is above which limit."""
    parts = []
    if peak.bus_limit_a is not None and peak.peak_a > peak.bus_limit_a:
        parts.append(f"{peak.supply} {_amps(peak.peak_a)} over {_limit(peak.bus_limit_a)}")
    if (
        peak.store is not None
        and peak.store_peak_a is not None
        and peak.store_limit_a is not None
        and peak.store_peak_a > peak.store_limit_a
    ):
        parts.append(f"{peak.store} {_amps(peak.store_peak_a)} over {_limit(peak.store_limit_a)}")
    return ", ".join(parts) or f"{peak.supply} {_amps(peak.peak_a)} over a limit"


def _amps(amps: float) -> str:
    return f"{figure_text(amps, 1, Rounding.UP)} A"


def _limit(amps: float) -> str:
    return f"{figure_text(amps, 1, Rounding.DOWN)} A"


def current_summary(view: View, width: int) -> list[Text]:
    """For each electrical supply the currents of now, and all that is above a limit."""
    snapshot = view.snapshot
    if snapshot is None:
        return []
    lines = []
    for name, peaks in _by_supply(snapshot).items():
        now = [peak for peak in peaks if peak.at_s <= snapshot.at_s]
        if now:
            lines.append(_now_line(view, name, now[-1], width))
        over = [peak for peak in peaks if peak.is_over]
        lines += [_over_line(view, snapshot, peak, width) for peak in over[:_MOST_OVER]]
        if len(over) > _MOST_OVER:
            lines.append(line(f" and {len(over) - _MOST_OVER} more over a limit, under the loads"))
    return lines


def _over_line(view: View, snapshot: Snapshot, peak: Peak, width: int) -> Text:
    left_s = peak.at_s - snapshot.at_s
    when = "NOW" if left_s <= 0.0 else countdown_text(left_s)
    words = f" ! OVER {when} {peak.name}: {_excess(peak)} "
    return line((fit(words, width, view.look.glyphs.cut), view.look.palette.grounds[Band.CAUTION]))


def _by_supply(snapshot: Snapshot) -> dict[str, list[Peak]]:
    by_supply: dict[str, list[Peak]] = {}
    for peak in snapshot.peaks:
        by_supply.setdefault(peak.supply, []).append(peak)
    return by_supply


def _now_line(view: View, name: str, peak: Peak, width: int) -> Text:
    strong = view.look.palette.strong
    text = line(
        f"{one_line(name)} now: mean ",
        (_amps(peak.mean_a), strong),
        ", peak ",
        (_amps(peak.peak_a), strong),
        "" if peak.bus_limit_a is None else f" of {_limit(peak.bus_limit_a)}",
    )
    if peak.store is not None and peak.store_peak_a is not None and peak.store_limit_a is not None:
        text.append_text(line(f"; {peak.store} {_amps(peak.store_peak_a)} of {_limit(peak.store_limit_a)}"))
    if text.cell_len > width > 1:
        text.truncate(width - 1)
        text.append(view.look.glyphs.cut)
    return text


def current_lines(view: View, width: int) -> list[Text]:
    """Every phase and event with its currents, then every battery with its share."""
    snapshot = view.snapshot
    if snapshot is None:
        return []
    lines: list[Text] = []
    for name, peaks in _by_supply(snapshot).items():
        lines.append(line((f"currents on {one_line(name)}", view.look.palette.title)))
        lines.append(line(f"{fit('phase or event', _NAME)} {'from':>9} {'mean':>8} {'peak':>8}  limits"))
        for peak in peaks:
            lines += _peak_lines(view, peak, width)
    for supply in snapshot.supplies.values():
        lines += _share_lines(view, snapshot, supply, width)
    return lines


def _peak_lines(view: View, peak: Peak, width: int) -> list[Text]:
    palette, cut = view.look.palette, view.look.glyphs.cut
    text = line(
        f"{fit(peak.name, _NAME, cut)} {elapsed_text(peak.at_s):>9} ",
        (f"{_amps(peak.mean_a):>8} {_amps(peak.peak_a):>8}", palette.strong),
        "  ",
    )
    if peak.is_over:
        text.append("! OVER ", palette.grounds[Band.CAUTION])
        text.append(" ")
    limits = [] if peak.bus_limit_a is None else [f"bus {_limit(peak.bus_limit_a)}"]
    if peak.store is not None and peak.store_peak_a is not None and peak.store_limit_a is not None:
        limits.append(f"{peak.store} {_amps(peak.store_peak_a)} of {_limit(peak.store_limit_a)}")
    said = one_line(", ".join(limits)) or "none set"
    below = []
    if cell_len(said) > width - text.cell_len:
        said, below = "", [line(fit(f"    limits: {said}", width, cut))]
    text.append(said)
    return [text, *below, *(line(f"    {words}") for words in wrap(peak.why, width - 4) if words)]


def _share_lines(view: View, snapshot: Snapshot, supply: SupplyStatus, width: int) -> list[Text]:
    shares = [(store, store.bus) for store in supply.stores if store.bus is not None]
    if not shares:
        return []
    name = min(16, max(7, *(cell_len(one_line(store.name)) for store, _ in shares)))
    head = f"{fit('battery', name)} {'share':>6} {'by':<12} {'gives':>8} {'limit':>8}  to its residual"
    lines = [line((f"batteries on {one_line(supply.name)}", view.look.palette.title)), line(head)]
    return lines + [_share_line(view, snapshot, store, bus, name, width) for store, bus in shares]


def _share_line(
    view: View, snapshot: Snapshot, store: StoreStatus, bus: BusShare, name: int, width: int
) -> Text:
    palette = view.look.palette
    by = {"capacity": "capacity", "measured": "own meter"}[bus.by.value]
    share = f"{figure_text(bus.fraction * 100.0, 0, Rounding.NEAREST)} %"
    end_s = bus.reaches_residual_in_s
    ends = ["not reached"]
    if end_s is not None:
        moments = (both_at(snapshot, snapshot.at_s + end_s), elapsed_text(snapshot.at_s + end_s))
        ends = [f"in {hours_text(end_s)}  {moment}" for moment in moments]
    limit = "not set" if bus.limit_a is None else _limit(bus.limit_a)
    is_over = bus.limit_a is not None and bus.planned_a > bus.limit_a
    text = line(
        (fit(store.name, name, view.look.glyphs.cut), palette.strong),
        f" {share:>6} {by:<12} ",
        (f"{_amps(bus.planned_a):>8}", palette.grounds[Band.CAUTION] if is_over else palette.strong),
        f" {limit:>8}  ",
    )
    room = max(0, width - text.cell_len)
    text.append(fit(next((end for end in ends if len(end) <= room), ends[-1]), room, view.look.glyphs.cut))
    return text
