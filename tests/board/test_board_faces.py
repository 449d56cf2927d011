"""The pure parts: the common axis, gauges, cells, what an operator types as a time."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from console.board.big_figures import big_figure
from console.board.cells import clipped, fit, flow, line, wrap
from console.board.faces.axis import Axis, axis_of
from console.board.faces.gauges import gauge_lines
from console.board.happened import parse_happened_s
from console.board.look import Depth, look
from console.engine.snapshot import Band
from console.errors import InstantError

HOUR_S = 3600.0


@given(st.floats(min_value=0, max_value=1e6), st.integers(min_value=1, max_value=200))
def test_no_gauge_is_longer_than_what_it_shows(seconds, width):
    axis = Axis(width=width, end_h=120, need_cell=None)
    assert axis.cells(seconds) * axis.end_h * HOUR_S / width <= seconds + 1e-2


@given(st.floats(min_value=0, max_value=1e6), st.floats(min_value=0, max_value=1e6))
def test_lengths_compare_between_supplies(one, other):
    axis = Axis(width=40, end_h=120, need_cell=None)
    if one <= other:
        assert axis.cells(one) <= axis.cells(other)


def test_need_lies_inside_the_axis_with_room_behind_it(kit):
    snapshot = kit.snapshot()
    for need_h in (0.2, 1.0, 5.0, 23.0, 79.6, 300.0, 5000.0):
        axis = axis_of(replace(snapshot, need=replace(snapshot.need, in_s=need_h * HOUR_S)), 60)
        assert axis.need_cell is not None
        assert axis.need_cell < 45
        assert axis.end_h >= 1.3 * need_h


def test_when_need_has_passed_there_is_no_line_for_it(kit):
    snapshot = kit.snapshot()
    axis = axis_of(replace(snapshot, need=replace(snapshot.need, in_s=-5.0)), 60)
    assert axis.need_cell is None


def gauge_of(kit, low, central, high, width=140):
    snapshot = kit.snapshot(kit.supply("water", (low, central, high), Band.CAUTION))
    row = gauge_lines(kit.view(snapshot), width, 5)[1].plain
    axis = axis_of(snapshot, 1)
    start = row.index("CAUTION  ") + len("CAUTION  ")
    return row[start:], axis.end_h


def test_the_gauge_is_solid_to_the_low_end_then_lighter_to_the_central_and_the_high_end(kit):
    row, end_h = gauge_of(kit, 30.0, 45.0, 60.0)
    cells = row.index("│") / (kit.snapshot().need.in_s / HOUR_S)
    assert end_h == 120
    assert row.count("█") == pytest.approx(30.0 * cells, abs=1)
    assert row.count("▒") == pytest.approx(15.0 * cells, abs=1)
    assert row.count("░") == pytest.approx(15.0 * cells, abs=1)
    assert row.lstrip("█").lstrip("▒").lstrip("░").startswith("·")


def test_where_nothing_is_sure_nothing_is_solid(kit):
    snapshot = kit.snapshot()
    supply = replace(snapshot.supplies["water"], endurance_plan_s=kit.hours(None, 40.0, None))
    row = gauge_lines(kit.view(replace(snapshot, supplies={"water": supply})), 140, 5)[1].plain
    assert "█" not in row
    assert "░" in row


@given(st.text(max_size=40), st.integers(min_value=1, max_value=60))
def test_a_fitted_text_has_exactly_its_width(text, width):
    assert cell_len(fit(text, width, "~")) == width
    assert cell_len(clipped(text, width, "~")) <= width


@given(st.text(max_size=80), st.integers(min_value=2, max_value=40))
def test_wrapped_lines_lose_no_word_and_keep_the_width(text, width):
    lines = wrap(text, width)
    assert all(cell_len(part) <= width for part in lines)
    assert "".join("".join(lines).split()) == "".join(" ".join(wrap(text, 10_000)).split())


def test_items_flow_into_lines_and_only_what_is_too_long_is_broken():
    lines = flow([line("one two"), line("three"), line("four five six seven")], 12)
    assert [text.plain for text in lines] == ["one two", "three", "four five", "six seven"]


def test_big_figures_have_three_rows_of_one_width_in_every_set():
    for figure in ("-50.6", "+3.7", "-12345.7", "0"):
        for ascii_only, wide in ((False, False), (False, True), (True, False)):
            rows = big_figure(figure, ascii_only=ascii_only, wide=wide)
            assert len({len(row) for row in rows}) == 1
            assert not ascii_only or all(row.isascii() for row in rows)


def test_every_digit_has_a_shape_of_its_own():
    for ascii_only in (False, True):
        shapes = {big_figure(digit, ascii_only=ascii_only) for digit in "0123456789+-."}
        assert len(shapes) == 13


def test_a_time_of_day_is_the_last_one_that_has_been(kit):
    epoch, now_s = kit.epoch, kit.now_s  # epoch 03:10, now 05:02:14 a day later
    assert parse_happened_s("", epoch, now_s) is None
    assert parse_happened_s("04:58", epoch, now_s) == 25 * HOUR_S + 48 * 60
    assert parse_happened_s("05:03", epoch, now_s) == HOUR_S + 53 * 60, "still ahead today, so yesterday's"
    assert parse_happened_s("T+12h30m", epoch, now_s) == 12.5 * HOUR_S
    assert parse_happened_s("2041-06-02T04:10:00Z", epoch, now_s) == HOUR_S


@pytest.mark.parametrize("text", ["25:00", "4.58", "yesterday", "T+99h", "2041-06-02 04:10", "٠٤:٥٨"])
def test_what_is_no_time_that_has_been_is_refused_with_what_to_write(kit, text):
    with pytest.raises(InstantError, match="write"):
        parse_happened_s(text, kit.epoch, kit.now_s)


def _luminance(color):
    parts = [part / 255 for part in color]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("band", [Band.ADVISORY, Band.CAUTION, Band.WARNING, None])
def test_words_on_grounds_have_a_contrast_of_seven_to_one(band):
    """Contrast ratio as WCAG 2.1 defines it (success criterion 1.4.6 asks for 7:1)."""
    style = look(Depth.MANY, ascii_only=False).palette.grounds[band]
    light, dark = sorted((_luminance(style.color.triplet), _luminance(style.bgcolor.triplet)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 7.0


def test_bands_are_told_apart_without_any_colour():
    grounds = look(Depth.NONE, ascii_only=True).palette.grounds
    shown = [grounds[band] for band in Band]
    assert len(set(shown)) == 4
    assert all(style.color is None and style.bgcolor is None for style in shown)


def test_only_warning_is_red_and_only_caution_amber_and_no_band_is_green():
    """14 CFR 25.1322(e)(1): red; amber or yellow; any colour but red or green. Amber is kept for caution."""
    names = {band: look(Depth.SIXTEEN, ascii_only=False).palette.grounds[band].bgcolor for band in Band}
    assert names[Band.WARNING].name == "red"
    assert names[Band.CAUTION].name == "yellow"
    assert names[Band.ADVISORY].name == "cyan"
    assert names[Band.NOMINAL] is None


def test_all_symbols_are_one_cell_wide():
    for ascii_only in (False, True):
        glyphs = look(Depth.MANY, ascii_only=ascii_only).glyphs
        for name in glyphs.__slots__:
            assert cell_len(getattr(glyphs, name)) == 1, name
            assert not ascii_only or getattr(glyphs, name).isascii()
