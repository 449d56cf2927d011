"""What comes next, on the card: deadlines, events with what they bring or take, arrival, need, currents."""

from __future__ import annotations

from console.display import Rounding, figure_text
from console.engine.briefing import HandSums
from console.engine.snapshot import Peak
from console.instants import at_epoch_plus
from console.report.brief.card_columns import Section, folded, paired
from console.report.brief.card_figures import figure, plain, unit_word

DAY_S = 24 * 3600.0


def coming_section(sums: HandSums) -> Section:
    """In order of time: all of the next 24 hours, and everything decisive until need."""
    items = sorted(_items(sums), key=lambda item: item[0])
    lines = ["NEXT (T+, UTC): deadlines and events until need; what they bring (+), take (-)"]
    lines += paired([f"{_when(sums, at_s)} {words}" for at_s, words in items])
    return Section(lines=tuple(lines), least=min(len(lines), 7), more="plan.yaml and endurance options")


def currents_section(sums: HandSums) -> Section:
    """The present phase's current, the highest ahead, and every one that is over a limit."""
    peaks = sums.snapshot.peaks
    if not peaks:
        return Section(lines=(), least=0)
    highest = max(peaks, key=lambda peak: peak.peak_a)
    shown = dict.fromkeys((*(peak for peak in peaks if peak.is_over), peaks[0], highest))
    lines = folded("CURRENTS, mean/peak A: ", [_peak(peak) for peak in shown])
    return Section(lines=tuple(lines), least=min(len(lines), 2), more="endurance ledger")


def _items(sums: HandSums) -> list[tuple[float, str]]:
    snapshot, now_s = sums.snapshot, sums.snapshot.at_s
    need = snapshot.need
    items = [(need.arrival_s, f"ARRIVAL {need.option}"), (need.at_s, f"NEED ends {need.option}")]
    for way in sums.ways:
        option = way.option
        if option.decide_by_s is not None and not way.is_begun:
            items.append((option.decide_by_s, f"DECIDE BY {option.name}"))
    plan = sums.situation.plan
    amounts = _amounts(sums)
    for event in plan.events_under(plan.options[plan.committed]):
        if event.at_s <= need.at_s:
            # Amounts stand first: a name may be cut off, a figure not.
            said = ", ".join(amounts.pop((event.at_s, event.name), []))
            items.append((event.at_s, f"{said} {plain(event.name)}".strip()))
    # What a logged step does to stores ahead is in no event of the plan.
    items += [(at_s, f"{', '.join(said)} {plain(name)}") for (at_s, name), said in amounts.items()]
    items += [
        (watch.start_s, f"watch {watch.name}") for watch in plan.watches if watch.start_s < now_s + DAY_S
    ]
    return [(at_s, words) for at_s, words in items if now_s <= at_s <= max(need.at_s, now_s + DAY_S)]


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


def _peak(peak: Peak) -> str:
    limit = "" if peak.bus_limit_a is None else f" (limit {figure_text(peak.bus_limit_a, 1)})"
    over = "OVER " if peak.is_over else ""
    mean, top = (figure_text(value, 1, Rounding.UP) for value in (peak.mean_a, peak.peak_a))
    return f"{over}{plain(peak.supply)} {plain(peak.name)} {mean}/{top}{limit}"
