"""What readings taught, as ``margins`` shows it: ``SUPPLY.factors.USE.…`` and ``SUPPLY.unlogged.N.…``."""

from __future__ import annotations

import math

from console.craft.model import LoadState, Supply
from console.engine.evidence.modelled import load_factor
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, series, summed
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT, Grounds, H
from console.engine.explain.kept import supply_keys
from console.engine.explain.learnt import Learnt, factor, learnt_of, span_words
from console.engine.explain.paths import Keys
from console.engine.findings import ALL_LOADS
from console.engine.learnt import Cause, UnloggedChange
from console.engine.planned_rate import LOADS_FACTOR, use_factor

_FINDINGS = "console/engine/findings.py"


def finding_paths(grounds: Grounds, supply: Supply) -> list[Keys]:
    """The keys of every figure, behind the supply's."""
    status = grounds.snapshot.supplies[supply.name]
    paths: list[Keys] = [
        ("factors", one.name, figure) for one in status.factors for figure in ("factor", "sd")
    ]
    for number, change in enumerate(status.unlogged, 1):
        place = ("unlogged", str(number))
        paths += [(*place, figure) for figure in ("change", "sd", "probability", "doubles_in")]
        for which in range(1, len(change.causes) + 1):
            paths += [(*place, "causes", str(which), figure) for figure in ("change", "share")]
    return paths


def finding_figure(book: Book, supply: Supply, keys: Keys) -> Explanation | None:
    """One of them; ``keys`` are those behind the supply's."""
    learnt = learnt_of(book, supply)
    if learnt is None or keys not in finding_paths(book.grounds, supply):
        return None
    if keys[0] == "factors":
        return _factor(learnt, keys) if keys[2] == "factor" else _factor_sd(learnt, keys)
    number = int(keys[1])
    change = book.grounds.snapshot.supplies[supply.name].unlogged[number - 1]
    match keys[2:]:
        case ("change",):
            return _change(learnt, keys, change)
        case ("sd",):
            return _change_sd(learnt, keys, change)
        case ("probability",):
            return _probability(learnt, keys)
        case ("doubles_in",):
            return _doubles_in(learnt, keys, change)
        case ("causes", which, figure):
            cause = change.causes[int(which) - 1]
            return _cause(learnt, keys, cause) if figure == "change" else _cause_share(learnt, keys, cause)
    return None


def _place(learnt: Learnt, keys: Keys) -> Keys:
    return (*supply_keys(learnt.supply.name), *keys)


def _factor(learnt: Learnt, keys: Keys) -> Explanation:
    """Of one use its own; of all loads the common one and each load's own by its part of the draw."""
    name, book = keys[1], learnt.book
    title = f"measured over modelled use of {name} from {learnt.supply.name}"
    if name != ALL_LOADS:
        one = factor(learnt, "x", use_factor(name))
        return book.explanation(_place(learnt, keys), 0, title, one.value, "1", "x", (one,))
    common, use = factor(learnt, "x", LOADS_FACTOR), book.grounds.ahead.use
    shares = use.load_shares[learnt.supply.name][:, use.now_index].tolist()
    drawing = [(load, share) for load, share in zip(book.grounds.craft.loads, shares, strict=True) if share]
    how = "by what each draws, as listed, of what all draw now"
    parts = series(
        "p",
        (_solved("p", f"part of {load} in what the loads take", share, "1", how) for load, share in drawing),
    )
    own = series("y", (factor(learnt, "y", load_factor(load)) for load, _ in drawing))
    value = common.value + sum(part.value * (each.value - 1.0) for part, each in zip(parts, own, strict=True))
    text = "x + sum(p_i * (y_i - 1))" if drawing else "x"
    return book.explanation(_place(learnt, keys), 0, title, value, "1", text, (common, *parts, *own))


def _factor_sd(learnt: Learnt, keys: Keys) -> Explanation:
    status = learnt.book.grounds.snapshot.supplies[learnt.supply.name]
    sd = next(one.sd for one in status.factors if one.name == keys[1])
    title = f"one standard deviation of measured over modelled use of {keys[1]}"
    told = "no reading of this supply" if learnt.own is None else span_words(learnt.own)
    how = f"root of the variance that the readings leave ({told}; {_FINDINGS})"
    return learnt.book.leaf(_place(learnt, keys), 0, title, _solved("sd", title, sd, "1", how))


def _change(learnt: Learnt, keys: Keys, change: UnloggedChange) -> Explanation:
    """The sum of those that began together."""
    book = learnt.book
    parts = series("r", (book.figure("r", *learnt.keys, "changes", str(place + 1)) for place in change.parts))
    value, unit = sum(one.value for one in parts), parts[0].unit
    return book.explanation(_place(learnt, keys), 0, parts[0].name, value, unit, summed("r", parts), parts)


def _change_sd(learnt: Learnt, keys: Keys, change: UnloggedChange) -> Explanation:
    title, amounts = "one standard deviation of the rate of a change that nobody logged", learnt.amounts
    how = f"root of the variance that the readings leave, in the likeliest way ({_FINDINGS})"
    one = _solved("sd", title, amounts.rate(change.sd_si_per_s), amounts.rate_unit, how)
    return learnt.book.leaf(_place(learnt, keys), 0, title, one)


def _probability(learnt: Learnt, keys: Keys) -> Explanation:
    """The weights of all ways in which anything was changed."""
    own = learnt.own
    title = f"how probable it is that anything was changed of {learnt.supply.name} and not logged"
    if own is None:
        raise ValueError(f"no reading of {learnt.supply.name} tells of a change")
    how = f"by how well it explains {span_words(own)} (console/engine/evidence/unlogged.py)"
    weights = series(
        "w",
        (
            _solved("w", f"probability of way {number} of {len(own.ways)}", way.weight, "1", how)
            for number, way in enumerate(own.ways, 1)
            if way.changes
        ),
    )
    value = sum(each.value for each in weights)
    return learnt.book.explanation(_place(learnt, keys), 0, title, value, "1", summed("w", weights), weights)


def _doubles_in(learnt: Learnt, keys: Keys, change: UnloggedChange) -> Explanation:
    title = "time in which a change that nobody logged doubles"
    if change.doubles_in_s is None:
        said = ("it does not grow: it is " + change.course.value,)
        return learnt.book.explanation(_place(learnt, keys), 0, title, None, "h", "", (), said)
    how = "the likeliest growth in the likeliest way (console/engine/evidence/unlogged.py)"
    grows = _solved("g", "growth", math.log(2.0) / change.doubles_in_s * H, "1/h", how)
    value = change.doubles_in_s / H
    return learnt.book.explanation(_place(learnt, keys), 0, title, value, "h", "log(2) / g", (grows,))


def _cause(learnt: Learnt, keys: Keys, cause: Cause) -> Explanation:
    """What the switching would change of the draw, as the loads are listed."""
    amounts = Amounts(supply=learnt.supply)
    after = series("a", (_listed(learnt, load, then) for load, _, then in cause.loads))
    before = series("b", (_listed(learnt, load, now) for load, now, _ in cause.loads))
    words = ", ".join(f"{load} {then.value} instead of {now.value}" for load, now, then in cause.loads)
    title, value = f"what {words} would change", amounts.rate(cause.change_si_per_s)
    text, place = "sum(a_i - b_i)", _place(learnt, keys)
    return learnt.book.explanation(place, 0, title, value, amounts.rate_unit, text, (*after, *before))


def _listed(learnt: Learnt, load: str, state: LoadState) -> Input:
    amounts = Amounts(supply=learnt.supply)
    drawn = amounts.rate(learnt.book.grounds.craft.loads[load].draw_si_per_s(state))
    name = f"draw of {load} {state.value}, as listed, by its duty"
    return learnt.book.config("a", name, drawn, amounts.rate_unit, CRAFT, f"loads.{load}")


def _cause_share(learnt: Learnt, keys: Keys, cause: Cause) -> Explanation:
    title = "how likely this switching is among all that are looked at and something else"
    how = f"by how near what it would change comes to what was found ({_FINDINGS})"
    return learnt.book.leaf(_place(learnt, keys), 0, title, _solved("w", title, cause.share, "1", how))


def _solved(symbol: str, name: str, value: float, unit: str, how: str) -> Input:
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=SolvedSource(how=how))
