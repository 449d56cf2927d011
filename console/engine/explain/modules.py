"""What each module is worth: figures ``modules.NAME.FIGURE``."""

from __future__ import annotations

from console.display import mass_unit, velocity_unit
from console.engine.explain.book import Book
from console.engine.explain.explanation import Explanation
from console.engine.explain.grounds import CRAFT, Grounds
from console.engine.explain.need import delta_v
from console.engine.explain.paths import Keys

MODULE_FIGURES = ("mass", "delta_v_left_with", "delta_v_left_without")


def module_paths(grounds: Grounds) -> list[Keys]:
    """Every figure of every module."""
    return [("modules", drop.module, figure) for drop in grounds.snapshot.drops for figure in MODULE_FIGURES]


def modules(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """One of those figures."""
    grounds, propulsion = book.grounds, book.grounds.craft.propulsion
    drop = next((one for one in grounds.snapshot.drops if keys[1:2] == (one.module,)), None)
    if propulsion is None or drop is None or len(keys) != 3 or keys[2] not in MODULE_FIGURES:
        return None
    velocity = velocity_unit(grounds.craft.shown_in)
    if keys[2] == "mass":
        unit = mass_unit(grounds.craft.shown_in)
        title, key = f"mass of module {drop.module}", f"propulsion.modules.{drop.module}.mass"
        return book.leaf(
            keys, 0, title, book.config("m", title, unit.from_si(drop.mass_kg), unit.text, CRAFT, key)
        )
    title = f"change of velocity left {keys[2].rpartition('_')[2]} module {drop.module}"
    if keys[2] == "delta_v_left_with":
        if drop.is_dropped or grounds.snapshot.need.delta_v_left_m_per_s is None:
            said = ("it was left behind",) if drop.is_dropped else ("what is usable is not known",)
            return book.explanation(keys, 0, title, None, velocity.text, "", (), said)
        left = book.figure("left", "need", "delta_v_left")
        return book.explanation(keys, 0, title, left.value, velocity.text, "left", (left,))
    if drop.delta_v_left_m_per_s is None:
        said = ("what is usable is not known, or nothing is left",)
        return book.explanation(keys, 0, title, None, velocity.text, "", (), said)
    module = next(one for one in propulsion.modules if one.name == drop.module)
    stores = grounds.snapshot.supplies[propulsion.supply].stores
    gone = tuple(store.name for store in stores if store.name in module.stores and store.state.is_counted)
    text, inputs = delta_v(book, frozenset({module.name}), gone)
    value = velocity.from_si(drop.delta_v_left_m_per_s)
    return book.explanation(keys, 0, title, value, velocity.text, text, inputs)
