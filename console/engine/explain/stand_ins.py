"""What is taken in place of a channel's newest word where its history speaks against that, in a sentence."""

from __future__ import annotations

from console.display import elapsed_text
from console.engine.explain.grounds import Grounds
from console.engine.reading import Reading
from console.engine.validity.verdict import OF_THE_FEED, Use, Verdict
from console.engine.validity.words import value_text

_ORDER = (Use.LEFT_OUT, Use.LOWER, Use.AVERAGED)


def stands_in(grounds: Grounds, channel: str, used: Reading) -> str:
    """What stands in, and for which word; empty where the newest word itself is used.

    Args:
        grounds: the grounds.
        channel: the channel's name.
        used: the reading as it is used.
    """
    raw = grounds.situation.feed.readings.get(channel)
    verdict = _decisive(grounds, channel)
    if raw is None or verdict is None or (raw.value_si, raw.at_s) == (used.value_si, used.at_s):
        return ""
    newest = "none" if raw.value_si is None else value_text(raw.value_si, grounds.craft.channels[channel])
    if used.value_si is None or used.at_s is None:
        return f"its newest word, {newest}, is left out, and nothing stands in for it"
    if verdict.use is Use.LEFT_OUT:
        return f"its newest word, {newest}, is left out; what it said at {elapsed_text(used.at_s)} stands in"
    if verdict.use is Use.LOWER:
        return f"its newest word is {newest}; of two ways of knowing the lower stands in for it"
    return f"its newest word is {newest}; an average over whole periods stands in for it"


def _decisive(grounds: Grounds, channel: str) -> Verdict | None:
    """The verdict by which the newest word is not used as it is."""
    mine = [one for one in grounds.known.verdicts.get(channel, ()) if one.kind not in OF_THE_FEED]
    for use in _ORDER:
        for verdict in mine:
            if verdict.use is use:
                return verdict
    return None
