"""What is drawn now: measured, by the model, and use by use."""

from __future__ import annotations

from console.craft.channels import Measured
from console.craft.model import Supply
from console.engine.charge import meter_biases_a
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, assumed, series, summed
from console.engine.explain.crew import people
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT, Grounds
from console.engine.explain.kept import supply_keys
from console.engine.explain.outcomes import cost_now
from console.engine.explain.paths import Keys, distinct
from console.engine.explain.stretch import Stretch
from console.engine.explain.track import track_of
from console.engine.quantity import read_value
from console.engine.snapshot import RateSource
from console.units import Dimension

_EACH = ("per_hour", "per_day", "people", "per_person_hour", "per_person_day")
_HOURS = {"hour": 1.0, "day": 24.0}


def present_figure(book: Book, supply: Supply, keys: Keys, row: int) -> Explanation | None:
    """``rate_now``, ``rate_plan``, ``rates.USE.FIGURE`` and what stands behind them."""
    place = (*supply_keys(supply.name), *keys)
    match keys:
        case ("rate_now",):
            return _rate_now(book, supply, place)
        case ("rate_plan",):
            return _rate_plan(book, supply, place)
        case ("rate_now_sd",):
            return _rate_now_sd(book, supply, place)
        case ("cost_now",):
            track = track_of(book, supply)
            return None if track is None else cost_now(track, row)
        case ("rates", name, figure):
            return _use_rate(book, supply, place, name, figure)
    return None


def rate_paths(grounds: Grounds, supply: Supply) -> list[Keys]:
    """The keys behind ``rates`` of every use now."""
    status = grounds.snapshot.supplies[supply.name]
    names = distinct(rate.name for rate in status.rates)
    return [
        (name, figure)
        for name, rate in zip(names, status.rates, strict=True)
        for figure in (_EACH if rate.people is not None else _EACH[:2])
    ]


def _present(book: Book, supply: Supply) -> Stretch:
    return Stretch(book=book, supply=supply, number=book.grounds.ahead.use.now_index + 1)


def _rate_plan(book: Book, supply: Supply, keys: Keys) -> Explanation:
    amounts, one = Amounts(supply=supply), book.grounds.ahead.supplies[supply.name]
    draw = book.figure("draw", *_present(book, supply).keys, "draw")
    value = amounts.rate(one.planned_draw_si_per_s)
    title = f"draw on {supply.name} now, by the model"
    return book.explanation(keys, 0, title, value, amounts.rate_unit, "draw", (draw,))


def _rate_now(book: Book, supply: Supply, keys: Keys) -> Explanation:
    """The meters' sum where every one is good, else the model's."""
    amounts, now = Amounts(supply=supply), book.grounds.ahead.supplies[supply.name].now
    title = f"draw on {supply.name} now, {now.source.value}"
    value = amounts.rate(now.rate_si_per_s)
    if now.source is RateSource.MODEL:
        plan = book.figure("plan", *supply_keys(supply.name), "rate_plan")
        return book.explanation(keys, 0, title, value, amounts.rate_unit, "plan", (plan,), (now.why,))
    if now.by_gauge:
        how = f"{now.why} (console/engine/gauge_rate.py)"
        one = Input(symbol="g", name=title, value=value, unit=amounts.rate_unit, source=SolvedSource(how=how))
        return book.leaf(keys, 0, title, one)
    meters = series("m", (_meter(book, supply, *one) for one in _meters(book, supply)))
    text, inputs = summed("m", meters), meters
    wrong = _biases(book, supply)
    if wrong:
        text, inputs = f"({text} - sum(e_i))", (*meters, *wrong)
    if supply.rate is None and (supply.dimension is Dimension.ENERGY or supply.rate_unit.factor != 1.0):
        per = (supply.bus_voltage_v or 0.0) if supply.dimension is Dimension.ENERGY else 1.0
        volts = book.config(
            "v",
            f"{amounts.rate_unit} of one ampere on {supply.name}",
            per / supply.rate_unit.factor,
            f"{amounts.rate_unit}/A",
            CRAFT,
            f"supplies.{supply.name}.bus_voltage",
        )
        text, inputs = f"{text} * v", (*inputs, volts)
    return book.explanation(keys, 0, title, value, amounts.rate_unit, text, inputs)


def _biases(book: Book, supply: Supply) -> tuple[Input, ...]:
    """What current meters show too much, where counted charge and gauge together tell it."""
    if supply.rate is not None:
        return ()
    known = book.grounds.known
    biases = meter_biases_a(known.charges, known.craft)
    how = "a filter of counted charge and gauge over all looks until now (console/engine/charge.py)"
    giving = book.grounds.ahead.supplies[supply.name].giving
    return series(
        "e",
        (
            Input(
                symbol="e",
                name=f"what the meter of {store.name} shows too much",
                value=biases[store.name],
                unit="A",
                source=SolvedSource(how=how),
            )
            for store in giving
            if biases.get(store.name)
        ),
    )


def _meters(book: Book, supply: Supply) -> list[tuple[Measured, str]]:
    """Every meter whose sum is the rate, with its place in craft.yaml."""
    place = f"supplies.{supply.name}"
    if supply.rate is not None:
        return [(supply.rate, f"{place}.rate")]
    giving = book.grounds.ahead.supplies[supply.name].giving
    return [(one.current, f"{place}.stores.{one.name}.current") for one in giving if one.current is not None]


def _meter(book: Book, supply: Supply, meter: Measured, key: str) -> Input:
    known = book.grounds.known
    said = read_value(meter, known.feed.readings, known.craft.channels).value_si or 0.0
    name = f"meter {meter.channel}" if meter.channel else "rate stated"
    if supply.rate is None:
        return book.measured("m", name, meter, said, "A", CRAFT, key)
    amounts = Amounts(supply=supply)
    return book.measured("m", name, meter, amounts.rate(said), amounts.rate_unit, CRAFT, key)


def _rate_now_sd(book: Book, supply: Supply, keys: Keys) -> Explanation:
    """One standard deviation of the meters' sum."""
    amounts, now = Amounts(supply=supply), book.grounds.ahead.supplies[supply.name].now
    title = f"one standard deviation of the measured draw on {supply.name}"
    value = amounts.rate(now.sd_si_per_s)
    if now.by_gauge:
        how = f"{now.why} (console/engine/gauge_rate.py)"
        return book.leaf(
            keys,
            0,
            title,
            Input(symbol="sd", name=title, value=value, unit=amounts.rate_unit, source=SolvedSource(how=how)),
        )
    channels = [
        book.grounds.craft.channels[meter.channel]
        for meter, _ in _meters(book, supply)
        if meter.channel is not None
    ]
    if not channels:
        one = assumed("sd", title, value, amounts.rate_unit, "no meter, so no meter's error")
        return book.leaf(keys, 0, title, one)
    volts = (
        supply.bus_voltage_v or 0.0 if supply.dimension is Dimension.ENERGY and supply.rate is None else 1.0
    )
    scale = volts / supply.rate_unit.factor
    parts = [
        series(
            symbol,
            (
                book.config(
                    symbol,
                    f"{word} of {channel.name}",
                    (channel.accuracy_si if word == "accuracy" else channel.resolution_si) * scale,
                    amounts.rate_unit,
                    CRAFT,
                    f"channels.{channel.name}.{word}",
                    "none is stated",
                )
                for channel in channels
            ),
        )
        for symbol, word in (("a", "accuracy"), ("r", "resolution"))
    ]
    text = "pow(sum(pow(a_i / 2, 2) + pow(r_i, 2) / 12), 0.5)"
    return book.explanation(keys, 0, title, value, amounts.rate_unit, text, (*parts[0], *parts[1]))


def _use_rate(book: Book, supply: Supply, keys: Keys, name: str, figure: str) -> Explanation | None:
    """One use in the present configuration, of all and of one person."""
    status = book.grounds.snapshot.supplies[supply.name]
    named = dict(zip(distinct(rate.name for rate in status.rates), status.rates, strict=True))
    if name not in named or figure not in _EACH:
        return None
    rate, title, unit = named[name], f"{name}, {figure.replace('_', ' ')}", supply.unit.text
    if figure.startswith("per_person") and not rate.people:
        return book.explanation(keys, 0, title, None, unit, "", (), ("it does not go by people",))
    if figure == "people":
        if rate.people is None:
            return book.explanation(keys, 0, title, None, "1", "", (), ("it does not go by people",))
        who = people(book, _present(book, supply).phase)
        return book.explanation(keys, 0, title, float(rate.people), "1", summed("n", who), who)
    length = figure.rpartition("_")[2]
    if figure.startswith("per_person"):
        inputs = (
            book.figure("all", *keys[:-1], f"per_{length}"),
            book.figure("people", *keys[:-1], "people"),
        )
        value = inputs[0].value / float(rate.people or 1)
        return book.explanation(keys, 0, title, value, unit, "all / people", inputs)
    line = _line(book, supply, name)
    hours, amounts = _HOURS[length], Amounts(supply=supply)
    value = supply.unit.from_si(rate.rate_si_per_s * hours * 3600.0)
    text = ("rate" if hours == 1.0 else "rate * 24") + amounts.times
    return book.explanation(keys, 0, title, value, unit, text, (line, *amounts.factor))


def _line(book: Book, supply: Supply, name: str) -> Input:
    """The line of the plan's uses behind a use of the present configuration."""
    stretch = _present(book, supply)
    rates = book.grounds.snapshot.supplies[supply.name].rates
    order = distinct(rate.name for rate in rates)
    rate = rates[order.index(name)]
    key = next(
        one
        for one, (index, line) in stretch.lines.items()
        if line.kind is rate.kind
        and line.name == rate.name
        and stretch.rate_si_per_s(index) == rate.rate_si_per_s
    )
    return book.figure("rate", *stretch.keys, "uses", key)
