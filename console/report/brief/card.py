"""One page to print each watch, with which two people and a pencil can carry on if every screen goes dark.

Plain ASCII, at most 84 lines of 80 columns. Every figure is the engine's; each sum can be done again from the
figures that stand beside it, to within their last digits.
"""

from __future__ import annotations

import textwrap

from console.display import UNKNOWN, Rounding, age_text, elapsed_text, figure_text, utc_text, velocity_unit
from console.engine.briefing import HandSums
from console.engine.first_end import EndKind, first_end, unknown_ends
from console.instants import at_epoch_plus
from console.report.brief.answers import warnings_of
from console.report.brief.card_aside import aside_section, loads_section
from console.report.brief.card_cabin import dioxide_section, limits_section, sources_section
from console.report.brief.card_columns import Section, page
from console.report.brief.card_coming import coming_section, currents_section
from console.report.brief.card_figures import WIDTH, cut, hours, plain
from console.report.brief.card_gauges import gauges_section
from console.report.brief.card_sums import example_section, phases_section, sums_section
from console.report.brief.card_supplies import supplies_section
from console.report.brief.words import listed, margins_said

MOST_PHASES = 7
"""Rows for phases; those beyond are days off and taken together at their mean."""

_NAME = 40
"""Columns for a name in the head; longer ones are cut."""

_LOG = (
    "LOG on paper: UTC, who, what was done or read; enter it later (log add --when). ADVISORY ONLY, not "
    "certified: check by other sums and primary instruments; own rules and local codes first. Low end: 5 % "
    "of cases are worse; uncalibrated."
)


def card_lines(sums: HandSums) -> list[str]:
    """The card."""
    return page(
        (
            _head(sums),
            supplies_section(sums),
            phases_section(sums),
            sums_section(sums),
            example_section(sums),
            loads_section(sums),
            aside_section(sums),
            gauges_section(sums),
            limits_section(sums),
            dioxide_section(sums),
            sources_section(sums),
            currents_section(sums),
            coming_section(sums),
            _foot(),
        )
    )


def _head(sums: HandSums) -> Section:
    snapshot = sums.snapshot
    at = utc_text(at_epoch_plus(snapshot.epoch, snapshot.at_s))
    age_s = snapshot.feed.age_s(snapshot.at_s)
    age = "no readings" if age_s is None else f"readings {age_text(age_s)} old"
    lines = [cut(line, WIDTH) for line in warnings_of(snapshot)]
    name, quality = snapshot.craft_name.upper(), snapshot.feed.quality.value
    told = f"{name} {elapsed_text(snapshot.at_s)} = {at}, {age}, {quality}; OLD after a watch"
    lines += textwrap.wrap(told, WIDTH, subsequent_indent="    ")
    need = snapshot.need
    need_at = at_epoch_plus(snapshot.epoch, need.at_s)
    until = f"until {elapsed_text(need.at_s)} = {need_at:%d/%H:%M} UTC, in {hours(need.in_s, Rounding.UP)} h"
    by = " (committed)" if need.decided_at_s is not None else ""
    said = "; ".join([f"NEED: {cut(need.option, _NAME)}{by} {until}", *_first(sums), *_delta_v(sums)])
    # Wrapped, not cut: a margin without its word could be read as either sign.
    lines += textwrap.wrap(said, WIDTH, subsequent_indent="    ")
    return Section(lines=tuple(lines), least=len(lines))


def _first(sums: HandSums) -> list[str]:
    found, unknown = first_end(sums.snapshot), unknown_ends(sums.snapshot)
    beside = [plain(f"NOT KNOWN: {listed(unknown, 3)}")] if unknown else []
    if found is None:
        return beside
    word = "" if found.kind is EndKind.SUPPLY else "cabin limit "
    return [plain(f"first {word}{cut(found.name, _NAME)}, {margins_said(found.margin_s)}"), *beside]


def _delta_v(sums: HandSums) -> list[str]:
    """What the way home still asks of it, and what is left."""
    need, unit = sums.snapshot.need, velocity_unit(sums.snapshot.shown_in)
    if need.delta_v_m_per_s is None or (
        need.decide_by_s is not None and need.decide_by_s <= sums.snapshot.at_s
    ):
        return []
    asked = figure_text(unit.from_si(need.delta_v_m_per_s), 0, Rounding.UP)
    left = need.delta_v_left_m_per_s
    there = UNKNOWN if left is None else figure_text(unit.from_si(left), 0)
    return [f"asks {asked} of {there} {unit.text} left"]


def _foot() -> Section:
    lines = textwrap.wrap(_LOG, WIDTH)
    return Section(lines=tuple(lines), least=len(lines))
