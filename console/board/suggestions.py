"""What a change could go on with as it is typed: its form, and the names of craft and plan. Pure.

Only a help: whether a change holds is said by ``change_words``, which reads it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from console.change_words import FORMS
from console.craft.model import Activity, Craft, LoadState, StoreState
from console.craft.plan import Plan

_SLOTS: Mapping[str, Sequence[str]] = {
    "load": ("loads", "states", "from until"),
    "off": ("loads", "from"),
    "level": ("levels", "from"),
    "people": ("activities",),
    "use": ("uses",),
    "option": ("options",),
    "add": ("supplies",),
    "move": ("events", "to"),
    "drop": ("events",),
    "store": ("stores", "store states", "at"),
    "leave": ("modules", "at"),
    "arrive": (),
}
"""By first word, of what kind the words after it are, as far as they can be listed."""


def vocabulary_of(craft: Craft, plan: Plan) -> Mapping[str, tuple[str, ...]]:
    """By kind of word, all there are."""
    events = [event.name for event in plan.events]
    events += [event.name for option in plan.options.values() for event in option.events]
    modules = () if craft.propulsion is None else craft.propulsion.modules
    return {
        "loads": tuple(craft.loads),
        "states": tuple(state.value for state in LoadState),
        "levels": tuple(craft.levels),
        "activities": tuple(activity.value for activity in Activity),
        "uses": tuple(use.name for use in craft.uses),
        "options": tuple(plan.options),
        "supplies": tuple(craft.supplies),
        "events": tuple(dict.fromkeys(events)),
        "stores": tuple(store.name for supply in craft.supplies.values() for store in supply.stores),
        "store states": (StoreState.FEEDING.value, StoreState.ISOLATED.value, "lost"),
        "modules": tuple(module.name for module in modules),
        "from until": ("from", "until"),
        "from": ("from",),
        "to": ("to",),
        "at": ("at",),
    }


def completions(text: str, vocabulary: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Whole lines that a line could become with its next word, the likeliest first.

    A word that begins as typed goes before one that only holds what is typed.
    """
    kind, blank, rest = text.lstrip().partition(" ")
    if not blank:
        return tuple(f"{form} " for form in FORMS if form.startswith(kind))
    done, rest = f"{kind} ", rest.lstrip()
    for slot in _SLOTS.get(kind, ()):
        words = vocabulary[slot]
        whole = max((word for word in words if rest.startswith(f"{word} ")), key=len, default=None)
        if whole is None:
            return tuple(f"{done}{word}{_after(slot)}" for word in _matching(rest, words))
        done, rest = f"{done}{whole} ", rest[len(whole) :].lstrip()
    return ()


def _matching(typed: str, words: Sequence[str]) -> list[str]:
    lower = typed.lower()
    begin = [word for word in words if word.lower().startswith(lower) and word != typed]
    if typed in words:
        return [typed, *begin]
    return begin + [word for word in words if lower in word.lower() and word not in begin]


def _after(slot: str) -> str:
    """What follows a word of a kind at once: nothing where it may be the last."""
    is_last = slot in ("levels", "options", "modules", "states", "store states")
    return "" if is_last else " "


def form_of(text: str) -> str:
    """How the change that is begun is written; empty before its first word."""
    return FORMS.get(text.lstrip().partition(" ")[0], "")
