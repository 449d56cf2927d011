"""Figures as they are said aloud. No word here is more certain than the figure it says."""

from __future__ import annotations

from collections.abc import Sequence

from console.display import UNKNOWN, figure_text, hours_figure, hours_text, probability_text
from console.engine.snapshot import CabinClock, ClockState, Interval

_SHORT_S = 2 * 3600.0
"""Below this a time left is said in minutes."""


def lasting_words(seconds: float | None) -> str:
    """A time left, rounded down; minutes where hours would be too coarse.

    >>> lasting_words(3540.0), lasting_words(315648.0), lasting_words(None)
    ('59 min', '87.6 h', 'without end')
    """
    if seconds is None:
        return "without end"
    if 0.0 <= seconds < _SHORT_S:
        return f"{figure_text(seconds / 60.0, 0)} min"
    return hours_text(seconds)


def margin_words(seconds: float | None) -> str:
    """A margin: a shortfall is rounded up, what is to spare down.

    >>> margin_words(-11304.0), margin_words(44640.0), margin_words(None)
    ('3.2 h short', '12.4 h to spare', 'no end')
    """
    if seconds is None:
        return "no end"
    word = "short" if seconds < 0.0 else "to spare"
    figure = hours_figure(seconds).removeprefix("-")
    return UNKNOWN if figure == UNKNOWN else f"{figure} h {word}"


def low_and_central(interval: Interval | None) -> str:
    """Both ends of a time left, the low end first.

    >>> low_and_central(Interval(p05=3600.0, p50=36000.0, p95=None))
    '60 min at the low end, 10.0 h central'
    """
    if interval is None:
        return UNKNOWN
    if interval.p05 is None:
        return "without end"
    return f"{lasting_words(interval.p05)} at the low end, {lasting_words(interval.p50)} central"


def margins_said(interval: Interval | None) -> str:
    """Both ends of a margin, the low end first."""
    if interval is None:
        return UNKNOWN
    if interval.p05 is None:
        return "does not run out under the plan"
    return f"{margin_words(interval.p05)} at the low end, {margin_words(interval.p50)} central"


def cases_words(probability: float | None) -> str:
    """A chance as a count of the cases that were reckoned, rounded down.

    >>> cases_words(0.987), cases_words(1.0), cases_words(0.004)
    ('in 98 of 100 cases reckoned', 'in over 99 of 100 cases reckoned', 'in under 1 of 100 cases reckoned')
    """
    said = probability_text(probability)
    return UNKNOWN if said == UNKNOWN else f"in {said.removesuffix(' %')} of 100 cases reckoned"


def listed(words: Sequence[str], most: int = 100) -> str:
    """A list as it is spoken; what goes beyond ``most`` is counted.

    >>> listed(["a", "b", "c"]), listed(["a", "b", "c", "d"], 2), listed(["a"])
    ('a, b and c', 'a, b and 2 more', 'a')
    """
    if len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def counted(number: int, noun: str) -> str:
    """A count with its noun.

    >>> counted(1, "load"), counted(3, "load")
    ('1 load', '3 loads')
    """
    return f"{number} {noun}{'' if number == 1 else 's'}"


def sentence(text: str) -> str:
    """Text as a sentence: a capital first, but for names such as bat-1, and a stop at the end.

    >>> sentence("water goes first"), sentence("is it?"), sentence("bat-1 is shut")
    ('Water goes first.', 'Is it?', 'bat-1 is shut.')
    """
    text = text.strip()
    if text.split(" ", 1)[0].rstrip(",:;").isalpha():
        text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "?", "!", ":")) else f"{text}."


def clock_words(clock: CabinClock) -> str:
    """When a limit is reached, the low end first."""
    if clock.state is ClockState.REACHED:
        return "passed now"
    if clock.state is ClockState.UNKNOWN or clock.reached_in_s is None:
        return UNKNOWN
    if clock.state is ClockState.HELD or clock.reached_in_s.p05 is None:
        return "not reached"
    central = clock.reached_in_s.p50
    middle = "not reached" if central is None else lasting_words(central)
    return f"in {lasting_words(clock.reached_in_s.p05)} at the low end, {middle} central"
