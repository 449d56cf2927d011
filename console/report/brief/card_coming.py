"""What comes next, on the card: deadlines, events with what they bring or take, arrival, need, currents."""

from __future__ import annotations

import textwrap
from dataclasses import replace

from console.display import Rounding, figure_text
from console.engine.briefing import HandSums
from console.engine.snapshot import Peak
from console.instants import at_epoch_plus
from console.report.brief.card_columns import Section, across, folded
from console.report.brief.card_figures import WIDTH, cut, figure, plain, short_elapsed, unit_word

_FELT = 1e-4
"""Of what is usable: less is what is left of a cartridge by reckoning, and nobody can measure it."""
DAY_S = 24 * 3600.0


def coming_section(sums: HandSums) -> Section:
    """In order of time: all of the next 24 hours, and everything decisive until need."""
    items = [f"{_when(sums, at_s)} {words}" for at_s, words in sorted(_items(sums), key=lambda item: item[0])]
    head = "NEXT (T+, UTC), what it brings (+), takes (-); * closed already by the low end"
    watches = _watches(sums)
    lines = (head, *across(items), *watches)
    close = (head, *folded(" ", items), *watches)
    more = "plan.yaml and endurance options"
    return Section(lines=lines, least=min(len(lines), 7), more=more, compact=close, rank=-1)


def _watches(sums: HandSums) -> list[str]:
    """When which watch begins in the next day, on one line."""
    now_s = sums.snapshot.at_s
    coming = [
        f"{plain(watch.name)} {short_elapsed(watch.start_s)}"
        for watch in sums.situation.plan.watches
        if now_s <= watch.start_s < now_s + DAY_S
    ]
    return [cut(f" watches: {', '.join(coming)}", WIDTH)] if coming else []


def currents_section(sums: HandSums) -> Section:
    """The present phase's current, the highest ahead, and every one that is over a limit."""
    peaks = sums.snapshot.peaks
    if not peaks:
        return Section(lines=(), least=0)
    highest = max(peaks, key=lambda peak: peak.peak_a)
    shown = dict.fromkeys((*(peak for peak in peaks if peak.is_over), peaks[0], highest))
    by_limit: dict[tuple[str, float | None], list[Peak]] = {}
    for peak in shown:
        by_limit.setdefault((peak.supply, peak.bus_limit_a), []).append(peak)
    said = [_peaks(supply, limit_a, each) for (supply, limit_a), each in by_limit.items()]
    lines = textwrap.wrap(f"CURRENTS, mean/peak A: {'; '.join(said)}", WIDTH, subsequent_indent="    ")
    return Section(lines=tuple(lines), least=min(len(lines), 2), more="endurance ledger")


def _items(sums: HandSums) -> list[tuple[float, str]]:
    snapshot, now_s = sums.snapshot, sums.snapshot.at_s
    need = snapshot.need
    items = [(need.arrival_s, f"ARRIVAL {plain(need.option)}"), (need.at_s, "NEED ends")]
    for way in sums.ways:
        option = way.option
        is_decided = way.is_committed and need.decided_at_s is not None
        if option.decide_by_s is not None and not way.is_begun and not way.is_over and not is_decided:
            is_shut = way.open_until is not None and not way.open_until.zero_low.spans_s
            shut = " *" if is_shut else ""
            items.append((option.decide_by_s, f"DECIDE BY {plain(option.name)}{shut}"))
    plan = sums.situation.plan
    amounts = _amounts_by_supply(sums)
    for event in plan.events_under(plan.options[plan.committed]):
        if event.at_s <= need.at_s:
            # Amounts stand first: a name may be cut off, a figure not.
            said = ", ".join(amounts.pop((event.at_s, event.name), []))
            items.append((event.at_s, f"{said} {plain(event.name)}".strip()))
    # What a logged step does to stores ahead is in no event of the plan.
    items += [(at_s, f"{', '.join(said)} {plain(name)}") for (at_s, name), said in amounts.items()]
    return [(at_s, words) for at_s, words in items if now_s <= at_s <= max(need.at_s, now_s + DAY_S)]


def _amounts_by_supply(sums: HandSums) -> dict[tuple[float, str], list[str]]:
    """By moment and name of an event, what it brings and takes, of which supply; no dust of rounding."""
    found: dict[tuple[float, str], list[str]] = {}
    for name, one in sums.sums.items():
        felt = tuple(jump for jump in one.jumps if abs(jump.amount_si) > _FELT * abs(one.usable_si))
        alone = replace(sums, sums={name: replace(one, jumps=felt)})
        for key, said in _amounts(alone).items():
            found.setdefault(key, []).extend(f"{each} {plain(name)}" for each in said)
    return found


def _amounts(sums: HandSums) -> dict[tuple[float, str], list[str]]:
    """By moment and name of an event, what it brings and takes."""
    found: dict[tuple[float, str], list[str]] = {}
    for name, one in sums.sums.items():
        unit = sums.snapshot.supplies[name].unit
        totals: dict[tuple[float, str], float] = {}
        for jump in one.jumps:
            # A store that is moved is named behind the event: "both changed (cart-2)".
            event = jump.name.removesuffix(f" ({jump.store})") if jump.store else jump.name
            key = (jump.at_s, event)
            totals[key] = totals.get(key, 0.0) + jump.amount_si
        for key, total in totals.items():
            amount = figure(unit.from_si(total), signed=True)
            found.setdefault(key, []).append(f"{amount} {unit_word(unit)}")
    return found


def _when(sums: HandSums, at_s: float) -> str:
    minutes = int(at_s // 60.0)
    at = at_epoch_plus(sums.snapshot.epoch, at_s)
    return f"{minutes // 60}h{minutes % 60:02d} {at:%d/%H:%M}"


def _peaks(supply: str, limit_a: float | None, peaks: list[Peak]) -> str:
    """``power waking 22.5/25.1, trim burn 50.6/56.6 (limit 90.0)``."""
    limit = "" if limit_a is None else f" (limit {figure_text(limit_a, 1)})"
    return f"{plain(supply)} {', '.join(map(_peak, peaks))}{limit}"


def _peak(peak: Peak) -> str:
    over = "OVER " if peak.is_over else ""
    mean, top = (figure_text(value, 1, Rounding.UP) for value in (peak.mean_a, peak.peak_a))
    return f"{over}{plain(peak.name)} {mean}/{top}"
