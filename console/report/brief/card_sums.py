"""The sums on the card: what each phase takes, what is left at need, how long the present rate lasts."""

from __future__ import annotations

from console.display import Rounding
from console.engine.briefing import HandSums
from console.engine.phase_rates import PhaseRates, PlanSum
from console.engine.snapshot import SupplyStatus
from console.report.brief.card_columns import Section, folded, rows
from console.report.brief.card_figures import WIDTH, cut, figure, hours, plain, short_elapsed, unit_word

MOST_SUPPLIES = 6
"""So many columns of rates fit beside the phases."""
_NOTHING = 1e-9
"""Of what is usable."""


def phases_section(sums: HandSums) -> Section:
    """The draw of every supply in each phase until need; the sum of hours times rate down to the margin."""
    names = _columns(sums)
    if not names:
        return Section(lines=("RATES AHEAD: no supply whose quantity is known",), least=1)
    supplies = [sums.snapshot.supplies[name] for name in names]
    head = ("RATES AHEAD", "from", "level", "hours", *(cut(name, 10) for name in names))
    units = (" (central)", "", "", "", *(unit_word(each.rate_unit) for each in supplies))
    body = [_phase_row(phase, supplies) for phase in sums.phases]
    foot = _foot(sums, supplies)
    lines = rows([head, units, *body, *foot], first=22)
    return Section(lines=tuple(lines), least=len(lines))


def sums_section(sums: HandSums) -> Section:
    """Present rate and allowance written out for each supply, and one sum of the plan in full."""
    if not sums.sums:
        return Section(lines=(), least=0)
    head = ("SUMS BY HAND", "usable / rate", "= h left", "(usable + events) / h", "= allowed")
    body = [
        _now_row(sums.snapshot.supplies[name], one, sums.snapshot.at_s) for name, one in sums.sums.items()
    ]
    lines = [*rows([head, *body]), *(cut(each, WIDTH) for each in _bounds(sums))]
    return Section(lines=tuple(lines), least=len(lines))


def example_section(sums: HandSums) -> Section:
    """The plan's sum of the shortest supply with every term; its figures stand in the table too."""
    return Section(lines=tuple(_written_out(sums)), least=0, rank=3)


def _columns(sums: HandSums) -> list[str]:
    """The supplies that stand beside the phases: the shortest first to stay, in the craft's order."""
    known = list(sums.sums)
    if len(known) <= MOST_SUPPLIES:
        return known
    margins = {name: sums.snapshot.supplies[name].margin_s for name in known}

    def low(name: str) -> float:
        margin = margins[name]
        return float("inf") if margin is None or margin.p05 is None else margin.p05

    kept = set(sorted(known, key=low)[:MOST_SUPPLIES])
    return [name for name in known if name in kept]


def _phase_row(phase: PhaseRates, supplies: list[SupplyStatus]) -> tuple[str, ...]:
    return (
        phase.name,
        short_elapsed(phase.from_s),
        plain(phase.level)[:8] or "-",
        hours(phase.span_s, Rounding.NEAREST),
        *(figure(each.rate_unit.from_si(phase.rates_si_per_s[each.name]), Rounding.UP) for each in supplies),
    )


def _foot(sums: HandSums, supplies: list[SupplyStatus]) -> list[tuple[str, ...]]:
    """From usable to the margin, a line of the sum in each row."""
    each_sum = [(supply, sums.sums[supply.name]) for supply in supplies]

    def row(name: str, cells: list[str]) -> tuple[str, ...]:
        return (name, "", "", "", *cells)

    def amount(supply: SupplyStatus, value_si: float) -> str:
        return figure(supply.unit.from_si(value_si))

    used = [
        sum(phase.span_s * phase.rates_si_per_s[supply.name] for phase in sums.phases)
        for supply, _ in each_sum
    ]
    return [
        row("usable now", [amount(supply, one.usable_si) for supply, one in each_sum]),
        row(
            "- hours x rate",
            [amount(supply, -taken) for (supply, _), taken in zip(each_sum, used, strict=True)],
        ),
        row("+ events to need", [amount(supply, one.jumps_si) for supply, one in each_sum]),
        row("= left at need", [amount(supply, one.left_si) for supply, one in each_sum]),
        row("/ rate at need", [_after(sums, supply, one) for supply, one in each_sum]),
        row("= margin h", [_margin(supply, 0.5) for supply, _ in each_sum]),
        row("margin h, low end", [_margin(supply, 0.05) for supply, _ in each_sum]),
    ]


def _after(sums: HandSums, supply: SupplyStatus, one: PlanSum) -> str:
    """A dash where the margin is not what is left over one rate: there are several on that way."""
    rate = one.rate_after_need_si_per_s
    if rate is None and one.left_si < 0.0:
        rate = _last_rate_si_per_s(sums, supply.name, one)
    return "-" if rate is None else figure(supply.rate_unit.from_si(rate), Rounding.UP)


def _last_rate_si_per_s(sums: HandSums, name: str, one: PlanSum) -> float | None:
    """The rate of the last phase, where what is missing at need is missed within it and by nothing else."""
    if not sums.phases:
        return None
    last = sums.phases[-1]
    rate = last.rates_si_per_s[name]
    is_within = last.count == 1 and -one.left_si <= rate * last.span_s
    return rate if is_within and not any(jump.at_s >= last.from_s for jump in one.jumps) else None


def _margin(supply: SupplyStatus, share: float) -> str:
    if supply.margin_s is None:
        return "?"
    end = supply.margin_s.p50 if share == 0.5 else supply.margin_s.p05
    return "no end" if end is None else hours(end, signed=True)


def _now_row(supply: SupplyStatus, one: PlanSum, at_s: float) -> tuple[str, ...]:
    """``power A.h | 1461 / 22.60 | = 64.68 h | (1461 + 640.7) / 77.70 | = 27.04 A``."""
    usable = figure(supply.unit.from_si(one.usable_si))
    rate = supply.rate_unit.from_si(one.rate_now_si_per_s)
    lasts = None if supply.endurance_now_s is None else supply.endurance_now_s.p50
    name = f"{plain(supply.name)} {unit_word(supply.unit)}"
    left = f"= {hours(lasts)}" if rate > 0.0 and lasts is not None else "no end"
    now = (f"{usable} / {figure(rate, Rounding.UP)}", left)
    if one.allowed_si is None or one.allowed_until_s is None:
        return (name, *now, "", "")
    span_s = one.allowed_until_s - at_s
    brought = supply.unit.from_si(_apart(one.allowed_si - one.usable_si, one.usable_si))
    cost = supply.rate_unit.from_si(one.allowed_si / span_s)
    return (
        name,
        *now,
        f"({usable} {_signed(brought)}) / {hours(span_s, Rounding.UP)}",
        f"= {figure(cost)} {unit_word(supply.rate_unit)}",
    )


def _bounds(sums: HandSums) -> list[str]:
    """What holds an allowance down before need: its hours are to that moment."""
    return [
        f" allowed of {plain(name)}: until {plain(one.bound_by)}, not until need"
        for name, one in sums.sums.items()
        if one.bound_by and one.allowed_si is not None
    ]


def _apart(brought_si: float, usable_si: float) -> float:
    """What events bring by the allowance; nothing where it is but what floats leave behind."""
    return 0.0 if abs(brought_si) < _NOTHING * abs(usable_si) else brought_si


def _written_out(sums: HandSums) -> list[str]:
    """The plan's sum of the shortest supply, every term."""
    name = sums.snapshot.shortest
    if name is None or name not in sums.sums:
        return []
    supply, one = sums.snapshot.supplies[name], sums.sums[name]
    terms = [figure(supply.unit.from_si(one.usable_si))]
    terms += [
        f"- {hours(phase.span_s, Rounding.NEAREST)} x "
        f"{figure(supply.rate_unit.from_si(phase.rates_si_per_s[name]), Rounding.UP)}"
        for phase in sums.phases
    ]
    if one.jumps_si:
        terms.append(_signed(supply.unit.from_si(one.jumps_si)))
    terms.append(f"= {figure(supply.unit.from_si(one.left_si))} {unit_word(supply.unit)}")
    rate = _after(sums, supply, one)
    if rate != "-":
        terms.append(f"/ {rate} = margin {_margin(supply, 0.5)} h")
    return folded(f" {plain(name)}, plan: ", terms, " ")


def _signed(value: float) -> str:
    """A term of a sum with its sign apart: ``+ 616.4``, ``- 2.300``."""
    text = figure(value, Rounding.DOWN)
    return f"- {text.removeprefix('-')}" if text.startswith("-") else f"+ {text}"
