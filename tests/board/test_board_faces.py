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
from console.board.faces.gauge_columns import columns_of
from console.board.faces.gauges import gauge_lines
from console.board.happened import looks_like_a_time, parse_happened_s
from console.board.look import Depth, look
from console.engine.snapshot import Band, RateSource
from console.errors import InstantError

HOUR_S = 3600.0


AXES = st.builds(
    Axis,
    width=st.integers(min_value=4, max_value=200),
    start_h=st.sampled_from((0, 6, 60)),
    end_h=st.just(120),
    need_s=st.one_of(
        st.none(), st.floats(min_value=61 * HOUR_S, max_value=119 * HOUR_S, allow_subnormal=False)
    ),
)


def time_at(axis, cell):
    """The moment that lies at the left edge of a cell."""
    lead, start_s, end_s = int(axis.is_cut), axis.start_h * HOUR_S, axis.end_h * HOUR_S
    if axis.need_cell is None:
        return start_s + (cell - lead) / (axis.width - lead) * (end_s - start_s)
    if cell <= axis.need_cell:
        return start_s + (cell - lead) / (axis.need_cell - lead) * (axis.need_s - start_s)
    return axis.need_s + (cell - axis.need_cell - 1) / (axis.width - axis.need_cell - 1) * (
        end_s - axis.need_s
    )


@given(st.floats(min_value=0, max_value=1e6), AXES)
def test_no_gauge_is_longer_than_what_it_shows(seconds, axis):
    cell = axis.cell_of(seconds)
    assert 0 <= cell <= axis.width
    if cell > int(axis.is_cut):
        assert time_at(axis, cell) <= seconds + 1e-2


@given(st.floats(min_value=0, max_value=1e6), st.floats(min_value=0, max_value=1e6), AXES)
def test_lengths_compare_between_supplies(one, other, axis):
    if one <= other:
        assert axis.cell_of(one) <= axis.cell_of(other)


@given(AXES, st.floats(min_value=1.0, max_value=60 * HOUR_S))
def test_a_gauge_passes_the_line_of_need_only_if_the_supply_lasts_to_need(axis, short_s):
    if axis.need_cell is not None:
        assert axis.cell_of(axis.need_s) == axis.need_cell + 1
        assert axis.cell_of(axis.need_s - short_s) < axis.need_cell


@pytest.mark.parametrize("width", [12, 21, 29])
def test_an_axis_with_few_cells_begins_before_the_first_end_and_says_where(kit, width):
    snapshot = kit.snapshot(kit.supply("water", (84.2, 89.9, 95.6), Band.CAUTION))
    axis = axis_of(snapshot, width)
    assert axis.start_h == 66, "the last multiple of 6 h that is 12 h before need"
    first_end_h = min(84.2, snapshot.need.in_s / HOUR_S)
    assert 0 < axis.start_h <= first_end_h - 12.0
    early = axis_of(kit.snapshot(kit.supply("water", (72.0, 89.9, 95.6), Band.WARNING)), width)
    assert early.start_h == 60, "no end is ever cut off"
    assert axis_of(snapshot, 30).start_h == 0, "with more cells it begins now"
    assert axis_of(kit.snapshot(kit.supply("water", (20.0, 30.0, 40.0), Band.WARNING)), width).start_h == 0


def test_at_80_columns_the_three_ends_of_the_shortest_supply_are_told_apart_beyond_need(kit):
    need_h = kit.snapshot().need.in_s / HOUR_S
    ends = tuple(need_h + beyond for beyond in (4.5, 10.2, 15.9))
    snapshot = kit.snapshot(kit.supply("water", ends, Band.CAUTION))
    header, row = (text.plain for text in gauge_lines(kit.view(snapshot), 80, 5)[:2])
    past = row[row.index("│") + 1 :].split()[0]
    assert past.startswith("█")
    assert "▒" in past
    assert "░" in past
    assert row.index("│") == header.index("│")
    before = row[: row.index("│")]
    assert before.endswith("«" + "█" * (len(before) - before.index("«") - 1))
    assert "«66 h" in header
    assert "need" in header
    assert "120 h" in header


def test_the_line_of_need_stands_still_when_margins_change_their_sign(kit):
    need_h = kit.snapshot().need.in_s / HOUR_S
    for width in (80, 100, 120):
        columns = set()
        for low, central in ((4.5, 10.2), (-0.1, 10.2), (-11.7, -3.2), (0.0, 0.1), (-30.0, -20.0)):
            supply = kit.supply("power", (need_h + low, need_h + central, need_h + 15.9), Band.CAUTION)
            columns.add(columns_of(kit.snapshot(supply), width).gauge)
        assert len(columns) == 1


def test_marks_of_the_present_rate_have_a_legend_and_only_when_they_stand_in_a_row(kit):
    why = "rate by the model, because power-1.current: 5 min old, stale after 60 s"
    supply = kit.supply("power", (92.4, 101.7, 113.0), Band.NOMINAL, rate_now_source=RateSource.MODEL)
    plain = gauge_lines(kit.view(kit.snapshot(supply)), 80, 5)
    assert "96.8 " in plain[1].plain
    assert "96.8 m" not in plain[1].plain, "a supply without meters has no other rate"
    assert "model" not in plain[-1].plain
    assert "before need" not in plain[-1].plain
    marked = replace(supply, why=why, endurance_now_s=kit.hours(50.0, 60.0, 70.0))
    lines = gauge_lines(kit.view(kit.snapshot(marked)), 80, 5)
    assert "60.0<m" in lines[1].plain
    assert lines[-1].plain.endswith("< ends before need at this rate  m rate by the model")
    measured = replace(marked, rate_now_source=RateSource.MEASURED)
    assert "60.0< " in gauge_lines(kit.view(kit.snapshot(measured)), 80, 5)[1].plain


def test_need_lies_inside_the_axis_with_room_behind_it(kit):
    snapshot = kit.snapshot()
    for need_h in (0.2, 1.0, 5.0, 23.0, 79.6, 300.0, 5000.0):
        axis = axis_of(replace(snapshot, need=replace(snapshot.need, in_s=need_h * HOUR_S)), 60)
        assert axis.need_cell is not None
        assert axis.need_cell < 45
        assert axis.start_h == 0
        assert axis.end_h >= 1.3 * need_h


def test_when_need_has_passed_there_is_no_line_for_it(kit):
    snapshot = kit.snapshot()
    for width in (12, 60):
        axis = axis_of(replace(snapshot, need=replace(snapshot.need, in_s=-5.0)), width)
        assert axis.need_cell is None
        assert not axis.is_cut


def gauge_of(kit, low, central, high, width=140):
    snapshot = kit.snapshot(kit.supply("water", (low, central, high), Band.CAUTION))
    row = gauge_lines(kit.view(snapshot), width, 5)[1].plain
    axis = axis_of(snapshot, 60)
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


@pytest.mark.parametrize("text", ["04:58", " 4:58 ", "T+25h48m", "2041-06-03T04:58:00Z", "T+99h"])
def test_a_time_is_told_from_a_reason_whether_it_has_been_or_not(kit, text):
    assert looks_like_a_time(text, kit.epoch)


@pytest.mark.parametrize("text", ["", "smoke", "smoke at 04:58", "25:00", "T+ as agreed"])
def test_a_reason_is_no_time(kit, text):
    assert not looks_like_a_time(text, kit.epoch)


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
