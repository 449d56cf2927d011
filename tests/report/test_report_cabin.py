"""Cabin limits, currents and modules in the text of ``margins``: read right, at 80 columns."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from console.engine.reading import Quality
from console.engine.snapshot import ClockState, Supposition
from console.report.cabin import cabin_lines
from console.report.export import margins_document, to_text
from console.report.tables import margins_text


def test_each_limit_has_its_value_now_its_limit_when_and_by_how_much(kit: Any) -> None:
    lines = cabin_lines(kit.snapshot(clocks=(kit.clock(kit.raised_co2),)))
    row = next(line for line in lines if line.startswith("raised CO2  "))
    assert row.split() == [
        "raised",
        "CO2",
        "4.65",
        "mmHg",
        "above",
        "15.0",
        "mmHg",
        "12.3",
        "14.7",
        "-65.7",
        "warning",
    ]


def test_grace_times_are_sentences_that_name_what_stops(kit: Any) -> None:
    said = margins_text(kit.snapshot())
    assert "4.1 h if CO2 removal stopped now (central 4.9 h)" in said
    assert "9.0 h if the oxygen feed stopped now" in said
    assert "10.0 h at the measured trend (central 12.0 h), SHORT 68.0 h [warning]" in said


def test_the_source_of_each_limit_is_named(kit: Any) -> None:
    said = margins_text(kit.snapshot())
    assert "source of raised CO2: an invented rule 1.2 (there an average over hours" in said
    assert "source of cold: an invented rule 2" in said


def test_what_does_not_come_and_what_is_not_known_are_told_apart(kit: Any) -> None:
    lines = cabin_lines(kit.snapshot())
    cold, pressure = lines[lines.index("cold") + 1], lines[lines.index("low pressure (missing)") + 1]
    assert cold.split()[-7:] == ["not", "reached", "not", "reached", "not", "reached", "nominal"]
    assert pressure.split() == [
        "not",
        "known",
        "below",
        "30.0",
        "kPa",
        "not",
        "known",
        "not",
        "known",
        "not",
        "known",
    ]
    assert "low pressure: cabin.pressure has never been read" in margins_text(kit.snapshot())


def test_a_limit_that_is_passed_says_so_and_counts_no_hours(kit: Any) -> None:
    passed = kit.clock(kit.raised_co2, state=ClockState.REACHED, now_si=kit.raised_co2.at_si * 1.1)
    stopped = replace(passed, supposition=Supposition.NO_REMOVAL, margin_s=None, band=None)
    said = margins_text(kit.snapshot(clocks=(passed, stopped)))
    assert "First: cabin limit raised CO2 [warning] is passed now: 16.5 mmHg, limit above 15.0 mmHg" in said
    assert "raised CO2: passed now" in said
    assert "12.3" not in said


def test_no_line_about_the_cabin_is_wider_than_80_columns(kit: Any) -> None:
    clocks = kit.snapshot().clocks
    long = replace(kit.raised_co2, name="carbon dioxide at which people get headaches", source="rule " * 40)
    more = tuple(kit.clock(long, supposition) for supposition in Supposition)
    for chosen in (clocks, clocks[:1], more, (*clocks, *more)):
        assert max(map(len, cabin_lines(kit.snapshot(clocks=chosen)))) <= 80


def test_the_worse_side_of_a_value_is_the_one_towards_its_limit(kit: Any) -> None:
    above = kit.clock(kit.raised_co2, now_si=14.96 * 133.322387415)
    below = kit.clock(kit.low_oxygen, now_si=0.17049)
    lines = "\n".join(cabin_lines(kit.snapshot(clocks=(above, below))))
    assert "15.0 mmHg  above 15.0 mmHg" in lines
    assert "17.0 %     below 17.0 %" in lines


def test_only_currents_over_a_limit_are_named_with_what_is_over(kit: Any) -> None:
    said = " ".join(margins_text(kit.snapshot()).split())
    assert "OVER ITS LIMIT: power in burn, T+35h00m" in said
    assert "104.4 A on the bus, which may carry 80.0 A; 26.1 A from bat-1, limit 25.0 A" in said
    assert "power in coast" not in said


def test_each_module_has_its_delta_v_with_and_without_it(kit: Any) -> None:
    said = margins_text(kit.snapshot())
    assert "module work-section, 2100 kg: aboard; delta-v left 360 with it, 471 without (m/s)" in said
    assert "module boom, 300.0 kg: dropped; delta-v left without it 360 (m/s)" in said


def test_how_long_the_fitted_cartridges_last_is_said(kit: Any) -> None:
    assert "absorbent: what is fitted lasts 5.3 h at the low end" in margins_text(kit.snapshot())


def test_a_stale_reading_of_the_cabin_says_its_age(kit: Any) -> None:
    assert "carbon dioxide 0.560 kPa (stale, 5m00s old)" in margins_text(kit.snapshot())


def test_a_craft_without_supplies_prints_its_limits_and_no_empty_table(kit: Any) -> None:
    bare = kit.snapshot(supplies={}, shortest=None, peaks=(), drops=())
    said = margins_text(bare)
    assert said.splitlines()[1].startswith("First: cabin limit raised CO2 [warning], low end SHORT 65.7 h")
    assert "supply" not in said.lower()
    assert "raised CO2" in said
    assert to_text(margins_document(bare))


def test_a_craft_without_supplies_or_clocks_says_that_there_is_nothing(kit: Any) -> None:
    said = margins_text(kit.snapshot(supplies={}, shortest=None, clocks=(), peaks=(), drops=()))
    assert "No supplies, and no limit of the cabin whose time is known" in said


def test_the_json_has_every_key_of_a_clock(kit: Any) -> None:
    document = margins_document(kit.snapshot())
    clock = document["cabin_clocks"][0]
    assert list(clock) == [
        *("limit", "of", "side", "at", "unit", "share", "average", "source", "supposition", "state", "now"),
        *("reached_in_h", "margin_h", "band", "quality", "why"),
    ]  # fmt: skip
    assert (clock["limit"], clock["of"], clock["side"]) == ("raised CO2", "carbon_dioxide", "above")
    assert clock["reached_in_h"]["p05"] == 12.3
    unknown = document["cabin_clocks"][-1]
    assert (unknown["reached_in_h"], unknown["now"], unknown["band"]) == (None, None, None)
    assert unknown["quality"] == Quality.MISSING.value


def test_the_json_has_peaks_modules_shares_and_fitted_cartridges(kit: Any) -> None:
    document = margins_document(kit.snapshot())
    assert [peak["over"] for peak in document["peaks"]] == [False, True]
    assert document["modules"]["work-section"]["delta_v_left_without"] == 471.5
    assert document["modules"]["boom"]["delta_v_left_with"] is None
    assert document["supplies"]["absorbent"]["fitted_lasts_h"]["p05"] == 5.3
    share = document["supplies"]["power"]["stores"]["bat-1"]["bus"]
    assert share["fraction"] == 0.25
    assert share["by"] == "measured"
    assert document["supplies"]["power"]["stores"]["bat-2"]["bus"] is None
