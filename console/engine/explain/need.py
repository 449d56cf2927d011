"""The need, the moment itself, what is coming, the loads and the feed: figures that are no supply's."""

from __future__ import annotations

from console.craft.plan import phase_at
from console.display import velocity_unit
from console.engine.explain.book import Book, assumed, series, step, summed
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.grounds import CRAFT, PLAN
from console.engine.explain.kept import supply_keys
from console.engine.explain.loads import last_step, load_draw
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys

H = 3600.0

NEED_FIGURES = ("in", "recovery", "hold", "delta_v", "delta_v_left")


def elapsed(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """``elapsed``: now."""
    if len(keys) != 1:
        return None
    title = "now, since the epoch"
    why = "the moment that is asked for, by the clock or by --at"
    return book.leaf(keys, 0, title, assumed("now", title, book.grounds.at_s / H, "h", why))


def the_format(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """``format``: of the documents that carry the figures."""
    if len(keys) != 1:
        return None
    why = "the documented schema, which only grows"
    return book.leaf(keys, 0, "format of the documents", assumed("format", "format", 1.0, "1", why))


def need(book: Book, keys: Keys, row: int) -> Explanation | None:
    """``need.FIGURE``."""
    if len(keys) != 2:
        return None
    option = book.grounds.ahead.option
    place = f"options.{option.name}"
    match keys[1]:
        case "at":
            return _at(book, keys, row)
        case "in":
            inputs = (book.figure("need", "need", "at"), book.figure("now", "elapsed"))
            value = (option.need_s - book.grounds.at_s) / H
            return book.explanation(keys, 0, "time until need", value, "h", "need - now", inputs)
        case "arrival":
            one = book.config("arrival", "arrival", option.arrival_s / H, "h", PLAN, f"{place}.arrival")
            return book.leaf(keys, 0, "arrival", one)
        case "recovery":
            one = _span(book, "recovery", option.recovery_s)
            return book.leaf(keys, 0, "time until recovery after arrival", one)
        case "hold":
            return book.leaf(keys, 0, "time to hold after recovery", _span(book, "hold", option.hold_s))
        case "delta_v":
            return _asked(book, keys)
        case "delta_v_left":
            return _left(book, keys)
    return None


def _span(book: Book, word: str, seconds: float) -> Input:
    key = f"options.{book.grounds.ahead.option.name}.{word}"
    return book.config(word, f"{word} of the way home", seconds / H, "h", PLAN, key, "none is planned")


def _at(book: Book, keys: Keys, row: int) -> Explanation:
    """Arrival, recovery and hold; in a sample, with the arrival's error."""
    option = book.grounds.ahead.option
    title = f"need of {option.name}: until when every supply must last"
    inputs: tuple[Input, ...] = (
        book.figure("arrival", "need", "arrival"),
        book.figure("recovery", "need", "recovery"),
        book.figure("hold", "need", "hold"),
    )
    text, value_s = "arrival + recovery + hold", option.need_s
    if row and option.arrival_spread_s:
        name = f"arrival of {option.name}"
        key = f"options.{option.name}.arrival_spread"
        spread = book.config("s", "spread of the arrival", option.arrival_spread_s / H, "h", PLAN, key)
        inputs, text = (*inputs, spread, book.draw("z", name, row)), f"{text} + s * z"
        value_s += float(book.grounds.draws.error(name, option.arrival_spread_s)[row])
    return book.explanation(keys, row, title, value_s / H, "h", text, inputs)


def _asked(book: Book, keys: Keys) -> Explanation:
    option = book.grounds.ahead.option
    unit, title = velocity_unit(book.grounds.craft.shown_in), "change of velocity that the way home asks for"
    if option.delta_v_m_per_s is None:
        return book.explanation(keys, 0, title, None, unit.text, "", (), ("the plan does not say",))
    value = unit.from_si(option.delta_v_m_per_s)
    key = f"options.{option.name}.delta_v"
    return book.leaf(keys, 0, title, book.config("dv", title, value, unit.text, PLAN, key))


def _left(book: Book, keys: Keys) -> Explanation:
    """v_e ln((m_d + m_p) / m_d)."""
    grounds = book.grounds
    unit, title = velocity_unit(grounds.craft.shown_in), "change of velocity that the usable propellant gives"
    left, propulsion = grounds.snapshot.need.delta_v_left_m_per_s, grounds.craft.propulsion
    if left is None or propulsion is None:
        said = ("no propulsion, or what is usable is not known",)
        return book.explanation(keys, 0, title, None, unit.text, "", (), said)
    text, inputs = delta_v(book, frozenset(), ())
    return book.explanation(keys, 0, title, unit.from_si(left), unit.text, text, inputs)


def delta_v(book: Book, also_dropped: frozenset[str], gone: tuple[str, ...]) -> tuple[str, tuple[Input, ...]]:
    """What the usable propellant gives, without some modules and what their stores can give.

    Args:
        book: the book.
        also_dropped: modules that are taken as dropped beside those that are.
        gone: the stores whose propellant goes with them.

    Raises:
        ValueError: the craft has no propulsion.
    """
    grounds, propulsion = book.grounds, book.grounds.craft.propulsion
    if propulsion is None:
        raise ValueError("a craft without propulsion has no delta-v")
    supply = grounds.craft.supplies[propulsion.supply]
    unit, place = velocity_unit(grounds.craft.shown_in), "propulsion"
    dropped = grounds.ahead.configuration.dropped_at(grounds.at_s) | also_dropped
    modules = series(
        "x",
        (
            book.config(
                "x",
                f"mass of module {module.name}",
                module.mass_kg,
                "kg",
                CRAFT,
                f"{place}.modules.{module.name}.mass",
            )
            for module in propulsion.modules
            if module.name in dropped
        ),
    )
    home = supply_keys(supply.name)
    stores = series("g", (book.figure("g", *home, "stores", name, "gives") for name in gone))
    factor = supply.unit.factor
    scale = assumed("k", f"kg in one {supply.unit.text}", factor, "kg", "console/units.txt (NIST SP 811)")
    inputs = (
        book.config(
            "v_e",
            "exhaust velocity",
            unit.from_si(propulsion.exhaust_velocity_m_per_s),
            unit.text,
            CRAFT,
            f"{place}.exhaust_velocity",
        ),
        book.figure("usable", *home, "usable"),
        *stores,
        *((scale,) if factor != 1.0 else ()),
        book.config(
            "dry", "mass without usable propellant", propulsion.dry_mass_kg, "kg", CRAFT, f"{place}.dry_mass"
        ),
        *modules,
    )
    fuel = "usable - sum(g_i)" if stores else "usable"
    fuel = f"max(0, {fuel})" + (" * k" if factor != 1.0 else "")
    mass = "(dry - sum(x_i))" if modules else "dry"
    return f"v_e * log(1 + {fuel} / {mass})", inputs


def coming(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """``next_phase.in`` and ``next_event.in``."""
    snapshot = book.grounds.snapshot
    one = snapshot.next_phase if keys[0] == "next_phase" else snapshot.next_event
    if len(keys) != 2 or keys[1] != "in":
        return None
    title = f"time until the {keys[0].replace('_', ' ')}"
    if one is None:
        return book.explanation(keys, 0, title, None, "h", "", (), ("none is planned",))
    inputs = (moment(book, "begin", one.at_s), book.figure("now", "elapsed"))
    return book.explanation(keys, 0, f"{title}, {one.name}", one.in_s / H, "h", "begin - now", inputs)


def load(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """``loads.NAME.draw``."""
    loads = book.grounds.craft.loads
    if len(keys) != 3 or keys[2] != "draw" or keys[1] not in loads:
        return None
    return load_draw(book, keys, loads[keys[1]], book.grounds.at_s)


def differing(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """``loads_differing_from_level``."""
    if len(keys) != 1:
        return None
    grounds = book.grounds
    level = grounds.craft.levels[phase_at(grounds.ahead.phases, grounds.at_s).level]
    found = []
    for name, commanded in grounds.ahead.configuration.loads_at(grounds.at_s).items():
        if commanded.state is not level.states[name]:
            words = f"{name} is {commanded.state.value}, at level {level.name} {level.states[name].value}"
            change = last_step(grounds, name, grounds.at_s)
            why = "it was left behind with its module"
            one = assumed("x", words, 1.0, "1", why) if change is None else step("x", words, 1.0, "1", change)
            found.append(one)
    inputs = series("x", found)
    title = "loads in another state than their level's"
    value = float(grounds.snapshot.level_differs)
    return book.explanation(keys, 0, title, value, "1", summed("x", inputs), inputs)


def feed(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """``feed.age`` and ``feed.readings.CHANNEL.age``, seconds."""
    grounds = book.grounds
    now = book.figure("now", "elapsed")
    text = "(now - read) * 3600"
    if keys[1:] == ("age",):
        title, at_s = "age of the feed's newest readings", grounds.known.feed.at_s
        if at_s is None:
            return book.explanation(keys, 0, title, None, "s", "", (), ("no readings yet",))
        why = f"the time that {grounds.known.feed.source} gave for its readings"
        read = assumed("read", "moment of the feed", at_s / H, "h", why)
        return book.explanation(keys, 0, title, grounds.at_s - at_s, "s", text, (now, read))
    if len(keys) != 4 or keys[1] != "readings" or keys[3] != "age":
        return None
    reading = grounds.known.feed.readings.get(keys[2])
    if reading is None:
        return None
    title = f"age of the reading of {keys[2]}"
    if reading.at_s is None:
        return book.explanation(keys, 0, title, None, "s", "", (), (reading.why or "no good reading yet",))
    read = book.reading("read", f"moment of the reading of {keys[2]}", keys[2], reading.at_s / H, "h")
    return book.explanation(keys, 0, title, grounds.at_s - reading.at_s, "s", text, (now, read))
