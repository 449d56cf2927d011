"""The forms of a brief, made from literal answers: what fits, what gives way, what no text may do."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from console.engine.reading import Quality, Reading
from console.engine.snapshot import Interval
from console.report.brief.answer import Answer, Brief
from console.report.brief.answers import warnings_of
from console.report.brief.card_columns import LINES, Section, across, page, rows
from console.report.brief.card_figures import figure, plain
from console.report.brief.markdown import markdown_lines
from console.report.brief.text import SHORT_LINES, WIDTH, long_lines, short_lines
from console.report.brief.words import cases_words, margin_words, margins_said

HEADS = ("Lasts", "First", "Do we make it", "Change", "Set aside", "Ways home", "Cabin", "Not known")


def make_brief(short: str, shorter: str, warnings: tuple[str, ...] = (), note: str = "It is so.") -> Brief:
    return Brief(
        warnings=warnings,
        title="Tern, T+25h48m; feed good.",
        answers=tuple(
            Answer(
                head=head,
                question=f"{head}, is it?",
                short=short,
                shorter=shorter,
                sentences=(note,),
                assumptions=("nothing breaks",),
                confidence="fair: intervals not calibrated",
            )
            for head in HEADS
        ),
    )


def test_short_answers_stand_in_full_while_there_is_room() -> None:
    lines = short_lines(make_brief("Full words.", "Few."))
    assert lines == ["Tern, T+25h48m; feed good.", *(f"{head}: Full words." for head in HEADS)]


def test_the_shorter_words_are_taken_where_room_is_short() -> None:
    lines = short_lines(make_brief("Full words. " + "x" * 200, "Few."))
    assert len(lines) <= SHORT_LINES
    assert [line.split(":")[0] for line in lines if not line.startswith(" ")][1:] == list(HEADS)
    assert sum("Few." in line for line in lines) >= 5
    # Whether we make it is the last to lose its full words.
    assert any(line.startswith("Do we make it: Full words.") for line in lines)


def test_what_is_left_out_is_said_and_the_main_answers_stay() -> None:
    lines = short_lines(make_brief("y" * 300, "z " * 60))
    assert len(lines) <= SHORT_LINES
    assert lines[-1].endswith("more answers: --long")
    assert any(line.startswith("Do we make it:") for line in lines)


def test_warnings_come_first_in_every_form() -> None:
    brief = make_brief("Full.", "Few.", warnings=("READINGS ARE 37 h OLD: reckoned on.",))
    assert short_lines(brief)[0].startswith("READINGS ARE 37 h OLD")
    assert long_lines(brief)[0].startswith("READINGS ARE 37 h OLD")
    text = markdown_lines(brief, is_long=False)
    assert text.index("**READINGS ARE 37 h OLD: reckoned on.**") < text.index("- **Lasts:** Full.")


@pytest.mark.parametrize("note", ["word " * 60, "w" * 200])
def test_no_line_is_wider_than_the_width(note: str) -> None:
    brief = make_brief(note, note, note=note)
    assert max(map(len, [*short_lines(brief), *long_lines(brief)])) <= WIDTH


@pytest.mark.parametrize(
    "note",
    ["# not a heading", "- no list", "1. no list", "<b>bold</b>", "[a](http://b)", "*stars*", "a\n# b"],
)
def test_text_from_files_is_no_markdown(note: str) -> None:
    lines = markdown_lines(make_brief("s", "s", note=note), is_long=True)
    said = lines[lines.index("## 1. Lasts, is it?") + 2]
    body = said.removeprefix("- ")
    assert not any("\n" in line for line in lines)
    assert not body.startswith(("#", "- ", "1. "))
    bare = body.replace("\\<", "").replace("\\*", "").replace("\\[", "").replace("\\#", "")
    assert not any(mark in bare for mark in "<*[#")


@pytest.mark.parametrize("probability", [0.0, 0.004, 0.5, 0.9899, 0.9999, 1.0])
def test_a_chance_is_never_said_higher_than_it_is(probability: float) -> None:
    said = cases_words(probability)
    count = int(said.removeprefix("in ").removeprefix("over ").removeprefix("under ").split()[0])
    assert count <= max(probability * 100.0, 1.0)
    assert "100 of 100" not in said


def test_a_margin_is_rounded_against_us() -> None:
    assert margin_words(3.26 * 3600) == "3.2 h to spare"
    assert margin_words(-3.21 * 3600) == "3.3 h short"
    assert margins_said(Interval(p05=None, p50=None, p95=None)) == "does not run out under the plan"
    assert margins_said(None) == "not known"


def test_old_readings_are_said_whatever_the_feed_says_of_itself(kit: SimpleNamespace) -> None:
    snapshot = kit.snapshot()
    assert warnings_of(snapshot) == ()
    old = replace(snapshot, feed=replace(snapshot.feed, at_s=snapshot.at_s - 36.2 * 3600))
    assert warnings_of(old) == ("READINGS ARE 37 h OLD: what follows is reckoned on from them.",)
    stale = Reading(channel="a", quality=Quality.STALE, value_si=1.0, at_s=snapshot.at_s - 900.0)
    some = replace(snapshot, feed=replace(snapshot.feed, readings={"a": stale}))
    assert warnings_of(some) == ("1 READING TOO OLD, up to 15m00s: reckoned on from there.",)


def test_a_simulated_craft_is_said_to_be_one_first(kit: SimpleNamespace) -> None:
    snapshot = kit.snapshot()
    simulated = replace(snapshot, feed=replace(snapshot.feed, is_simulated=True))
    assert warnings_of(simulated)[0].startswith("SIMULATED CRAFT")


def test_a_page_gives_way_where_it_may_and_says_how_much() -> None:
    long = Section(lines=tuple(f"event {number}" for number in range(100)), least=3, more="plan.yaml")
    kept = Section(lines=("head", "caution"), least=2)
    lines = page((kept, long, kept))
    assert len(lines) == LINES
    assert lines[:2] == ["head", "caution"] == lines[-2:]
    shown = [line for line in lines if line.startswith("event")]
    assert lines[-3].split()[:4] == ["...", str(100 - len(shown)), "more", "lines:"]


def test_names_give_way_and_figures_do_not() -> None:
    wide = rows([("n" * 40, *["12345678"] * 8), ("short", *["1"] * 8)], first=40)
    assert max(map(len, wide)) <= 80
    assert wide[0].split()[1:] == ["12345678"] * 8
    assert "~" in wide[0]


def test_items_are_read_across_and_a_long_one_has_a_line_of_its_own() -> None:
    long = "z" * 60
    assert [line.split() for line in across(["1", "2", long, "3"])] == [["1", "2"], [long], ["3"]]
    assert all(len(line) <= 80 for line in across(["x" * 100, "y" * 39, "y" * 39]))


def test_a_page_is_written_closer_before_anything_is_left_out() -> None:
    roomy = Section(lines=tuple("ab" * 30), least=60, compact=("close",))
    other = Section(lines=tuple(f"line {number}" for number in range(60)), least=60)
    assert page((roomy, other)) == ["close", *other.lines]
    assert page((roomy,)) == list(roomy.lines)


def test_the_least_needed_gives_way_first_and_what_is_said_twice_goes_whole() -> None:
    kept = Section(lines=tuple(f"event {number}" for number in range(80)), least=5, more="plan.yaml", rank=-1)
    loads = Section(lines=("load 1", "load 2", "load 3"), least=2, more="shed", rank=2)
    twice = Section(lines=("sum", "goes", "on"), least=0, rank=4)
    lines = page((twice, loads, kept))
    assert not any(line in ("sum", "goes", "on") for line in lines)
    assert [line for line in lines if line.startswith("load")] == ["load 1", "load 2", "load 3"]
    assert sum(line.startswith("event") for line in lines) == 80
    crowded = page((twice, loads, kept, Section(lines=("foot",) * 2, least=2)))
    assert crowded[:2] == ["load 1", "... 2 more lines: shed"]
    assert crowded[-2:] == ["foot", "foot"]


def test_no_line_ends_between_a_figure_and_its_unit() -> None:
    note = " ".join(f"{number}.5 h" for number in range(60))
    lines = [*short_lines(make_brief(note, note, note=note)), *long_lines(make_brief(note, note, note=note))]
    assert not any(re.search(r"\d$", line) for line in lines if " h" in line or ".5" in line)


def test_what_comes_next_stands_between_title_and_answers_in_every_form() -> None:
    brief = replace(make_brief("Full.", "Few."), ahead=("Need: homeward in 77.7 h.",))
    assert short_lines(brief)[1] == "Need: homeward in 77.7 h."
    assert long_lines(brief)[1] == "Need: homeward in 77.7 h."
    text = markdown_lines(brief, is_long=False)
    assert text.index("Need: homeward in 77.7 h.") < text.index("- **Lasts:** Full.")


def test_the_card_is_ascii_and_inert() -> None:
    assert plain("a\x1b[2Jb\nc ·é 水") == "a?[2Jb c .e ?"
    assert figure(float("nan")) == "not known"
