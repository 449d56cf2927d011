"""``endurance log``: what is saved is saved, says so, and moves the margins."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from console.scenario.load import load_scenario


def first_step(folder: Path) -> tuple[str, str]:
    """A first step of a power-down that switches something."""
    for name, procedure in load_scenario(folder).procedures.items():
        step = procedure.steps[0]
        if not step.requires:
            return name, step.id
    raise AssertionError("the demo has no procedure whose first step stands alone")


def test_a_note_is_saved_with_its_sequence_id_and_hash(endurance: Any, tern: Path) -> None:
    said = endurance(
        "log", "add", "--note", "cabin fan noisy", "--operator", "mira", "--position", "aft", "--json", tern
    )
    entry = said.document
    assert said.status == 0
    assert entry["sequence"] == 1
    assert len(entry["id"]) == 36
    assert len(entry["hash"]) == 64
    assert (entry["operator"], entry["position"], entry["body"]["text"]) == ("mira", "aft", "cabin fan noisy")


def test_what_was_added_is_listed_newest_last(endurance: Any, tern: Path) -> None:
    for text in ("one", "two", "three"):
        endurance("log", "add", "--note", text, tern)
    listed = endurance("log", "list", "--json", tern).document["entries"]
    assert [entry["body"]["text"] for entry in listed] == ["one", "two", "three"]
    newest = endurance("log", "list", "--limit", "2", "--json", tern).document["entries"]
    assert [entry["body"]["text"] for entry in newest] == ["two", "three"]
    assert [line.rsplit(": ", 1)[1] for line in endurance("log", "list", tern).out.splitlines()] == [
        "one",
        "two",
        "three",
    ]


def test_the_event_time_can_be_given_and_stands_beside_the_entry_time(endurance: Any, tern: Path) -> None:
    entry = endurance("log", "add", "--note", "late", "--when", "T+24h", "--json", tern).document
    assert entry["happened_at"] == "2041-06-03T03:10:00Z"
    assert entry["elapsed_h"] == 24.0
    assert entry["written_at"] != entry["happened_at"]


def test_an_entry_cannot_lie_ahead(endurance: Any, tern: Path) -> None:
    said = endurance("log", "add", "--note", "tomorrow", "--when", "T+90h", tern)
    assert said.status == 2
    assert "later than now" in said.err
    assert endurance("log", "list", tern).out.strip() == "the journal has no entries"


def test_a_logged_step_changes_the_configuration_and_the_margins(endurance: Any, tern: Path) -> None:
    scenario = load_scenario(tern)
    states = {
        name: load["state"] for name, load in endurance("margins", tern, "--json").document["loads"].items()
    }
    before = endurance("margins", tern, "--json").document["supplies"]
    procedure, step = next(
        (name, step)
        for name, each in scenario.procedures.items()
        for step in each.steps
        if any(
            state.value != states[load]
            and scenario.craft.loads[load].draw_si_per_s(state)
            < scenario.craft.loads[load].draw_si_per_s(type(state)(states[load]))
            for load, state in step.action.loads.items()
        )
    )
    said = endurance(
        "log", "add", "--step", f"{procedure}/{step.id}", "--reason", "test of the order", "--json", tern
    )
    assert said.status == 0, said.err
    after = endurance("margins", tern, "--json").document
    load, state = next(iter(step.action.loads.items()))
    assert after["loads"][load]["state"] == state.value
    assert after["loads"][load]["by"] == "step"
    assert after["supplies"]["power"]["rate_plan"] < before["power"]["rate_plan"]
    assert after["supplies"]["power"]["margin_h"]["p50"] > before["power"]["margin_h"]["p50"]


def test_a_step_that_is_withdrawn_no_longer_counts_and_stays_in_the_list(endurance: Any, tern: Path) -> None:
    before = endurance("margins", tern, "--json").out
    step = endurance("log", "add", "--step", "deep-quiet/3", "--json", tern).document
    assert endurance("margins", tern, "--json").out != before
    said = endurance("log", "correct", step["sequence"], "--note", "wrong key", "--withdraw", "--json", tern)
    assert (said.status, said.document["body"]["corrects"]) == (0, step["sequence"])
    assert endurance("margins", tern, "--json").out == before
    lines = endurance("log", "list", tern).out.splitlines()
    assert len(lines) == 2
    assert lines[1].endswith("corrects #1: wrong key")


def test_a_correction_of_no_entry_is_refused(endurance: Any, tern: Path) -> None:
    said = endurance("log", "correct", "7", "--note", "wrong key", tern)
    assert said.status == 2
    assert "7" in said.err


def test_a_step_out_of_order_needs_a_reason(endurance: Any, tern: Path) -> None:
    procedure, step = next(
        (name, step.id)
        for name, each in load_scenario(tern).procedures.items()
        for step in each.steps
        if step.requires
    )
    refused = endurance("log", "add", "--step", f"{procedure}/{step}", tern)
    assert refused.status == 2
    assert "requires" in refused.err
    saved = endurance(
        "log", "add", "--step", f"{procedure}/{step}", "--reason", "valve stuck", "--json", tern
    )
    assert saved.status == 0
    assert saved.document["body"]["reason"] == "valve stuck"


@pytest.mark.parametrize("place", ["nothing/1", "quiet-down", "/", "", "quiet-down/999"])
def test_an_unknown_step_is_refused_with_what_there_is(endurance: Any, tern: Path, place: str) -> None:
    said = endurance("log", "add", "--step", place, tern)
    assert said.status == 2
    assert "did you mean" in said.err or "there are" in said.err


def test_verify_says_sound_and_then_where_the_damage_is(endurance: Any, tern: Path, tmp_path: Path) -> None:
    journal = tmp_path / "watch.journal"
    for text in ("one", "two", "three"):
        endurance("log", "add", "--note", text, "--journal", journal, tern)
    sound = endurance("log", "verify", "--journal", journal, "--json", tern)
    assert (sound.status, sound.document["sound"], sound.document["count"]) == (0, True, 3)
    content = journal.read_bytes()
    assert content.count(b"two") == 1
    journal.write_bytes(content.replace(b"two", b"twx"))
    damaged = endurance("log", "verify", "--journal", journal, "--json", tern)
    assert damaged.status == 1
    assert damaged.document["faults"][0]["sequence"] == 2


def test_a_head_noted_elsewhere_shows_a_tail_that_was_cut_off(
    endurance: Any, tern: Path, tmp_path: Path
) -> None:
    journal, whole = tmp_path / "watch.journal", tmp_path / "kept.journal"
    endurance("log", "add", "--note", "one", "--journal", journal, tern)
    shutil.copy(journal, whole)
    endurance("log", "add", "--note", "two", "--journal", journal, tern)
    head = endurance("log", "verify", "--journal", journal, "--json", tern).document["head"]
    noted = f"{head['count']}:{head['hash']}"
    assert endurance("log", "verify", "--journal", journal, "--head", noted, tern).status == 0
    assert endurance("log", "verify", "--journal", whole, tern).status == 0
    assert endurance("log", "verify", "--journal", whole, "--head", noted, tern).status == 1
    assert endurance("log", "verify", "--journal", journal, "--head", "2:xyz", tern).status == 2


def test_verify_without_a_journal_is_bad_usage(endurance: Any, tern: Path) -> None:
    assert endurance("log", "verify", tern).status == 2


def test_a_journal_of_another_scenario_is_refused(endurance: Any, tern: Path, tmp_path: Path) -> None:
    journal = tmp_path / "watch.journal"
    endurance("log", "add", "--note", "one", "--journal", journal, tern)
    craft = (tern / "craft.yaml").read_text()
    (tern / "craft.yaml").write_text(craft.replace("name: Tern", "name: Petrel", 1))
    said = endurance("log", "add", "--note", "two", "--journal", journal, tern)
    assert said.status == 2
    assert "tern" in said.err


def test_a_file_that_is_no_journal_is_refused_and_left_alone(
    endurance: Any, tern: Path, tmp_path: Path
) -> None:
    for name, content in (("empty", b""), ("text", b"dear diary\n" * 100)):
        path = tmp_path / name
        path.write_bytes(content)
        if name == "text":
            assert endurance("log", "add", "--note", "x", "--journal", path, tern).status == 2
            assert path.read_bytes() == content
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE entry (a)")
    connection.close()
    assert endurance("log", "add", "--note", "x", "--journal", other, tern).status == 2


def test_hostile_text_is_saved_and_listed_without_acting(endurance: Any, tern: Path) -> None:
    said = endurance("log", "add", "--note", "a\x1b[2Jb\x07 [red]c[/] \u202ed", tern)
    assert said.status == 0
    listed = endurance("log", "list", tern).out
    assert "\x1b" not in listed
    assert "\u202e" not in listed
    assert "[red]c[/]" in listed


def test_listing_leaves_no_journal_behind(endurance: Any, tern: Path, tmp_path: Path) -> None:
    assert endurance("log", "list", tern).status == 0
    assert not list(tmp_path.rglob("*.journal"))


def test_the_json_of_an_entry_is_what_the_list_shows(endurance: Any, tern: Path) -> None:
    added = endurance("log", "add", "--note", "same", "--json", tern).document
    assert endurance("log", "list", "--json", tern).document["entries"] == [added]
    assert json.loads(json.dumps(added)) == added


def test_a_commitment_is_logged_and_stands_behind_every_figure(endurance: Any, tern: Path) -> None:
    assert endurance("margins", "--json", tern).document["need"]["decided_at"] is None
    said = endurance(
        "log", "add", "--commit", "quick-turn", "--reason", "ship gone", "--operator", "mira", tern
    )
    assert (said.status, said.err) == (0, "")
    assert "saved as #1" in said.out
    assert "committed to quick-turn (reason: ship gone)" in said.out
    need = endurance("margins", "--json", tern).document["need"]
    assert (need["option"], need["decided_by"]) == ("quick-turn", "mira")
    # The demo looks at T+25h48m, and quick-turn arrives at T+92h36m with 7 h of recovery.
    assert need["in_h"] == pytest.approx(92.6 + 7 - 25.8)
    assert "committed at T+25h48m by mira" in " ".join(endurance("margins", tern).out.split())
    ways = endurance("options", "--json", tern).document
    assert ways["committed"] == "quick-turn"


def test_a_withdrawn_commitment_counts_no_longer(endurance: Any, tern: Path) -> None:
    endurance("log", "add", "--commit", "quick-turn", tern)
    endurance("log", "correct", "1", "--note", "not agreed", "--withdraw", tern)
    need = endurance("margins", "--json", tern).document["need"]
    assert (need["option"], need["decided_at"]) == ("homeward", None)


def test_a_commitment_that_stands_is_said_and_not_logged_twice(endurance: Any, tern: Path) -> None:
    first = endurance("log", "add", "--commit", "homeward", "--json", tern).document
    again = endurance("log", "add", "--commit", "homeward", tern)
    assert (again.status, again.out[:31]) == (0, "nothing logged: committed to ho")
    assert endurance("log", "add", "--commit", "homeward", "--json", tern).document == first
    assert len(endurance("log", "list", "--json", tern).document["entries"]) == 1


def test_a_commitment_after_its_deadline_or_before_a_later_one_is_cautioned(
    endurance: Any, tern: Path
) -> None:
    late = endurance("log", "add", "--commit", "quick-turn", "--at", "T+27h", tern)
    assert "quick-turn was to be decided by T+26h40m" in late.err
    earlier = endurance("log", "add", "--commit", "tender", "--when", "T+20h", "--at", "T+27h", tern)
    assert "quick-turn, committed to at T+27h00m, is later and stays in force" in earlier.err


def test_a_decision_that_was_taken_is_not_overdue(endurance: Any, tern: Path) -> None:
    at = ("--at", "T+28h30m")
    assert "DECISION OVERDUE" in endurance("margins", *at, tern).out
    endurance("log", "add", "--commit", "homeward", "--when", "T+28h10m", "--operator", "mira", *at, tern)
    said = " ".join(endurance("margins", *at, tern).out.split())
    assert "OVERDUE" not in said
    assert "committed at T+28h10m by mira" in said
    homeward = endurance("options", *at, tern).out.partition("HOMEWARD")[2].partition("TENDER")[0]
    assert "committed at T+28h10m by mira (decide-by T+28h15m)" in " ".join(homeward.split())
    assert "OVERDUE" not in homeward


def test_spending_a_reserve_makes_it_usable_and_is_shown(endurance: Any, tern: Path) -> None:
    before = endurance("margins", "--json", tern).document["supplies"]["water"]
    said = endurance("log", "add", "--spend", "water 3 kg", "--reason", "crew dry", tern)
    assert (said.status, said.err) == (0, "")
    assert "released 3 kg of the reserve of water (reason: crew dry)" in said.out
    after = endurance("margins", "--json", tern).document["supplies"]["water"]
    # 8 kg are kept in craft.yaml.
    assert (before["reserve"], after["reserve"], after["released"]) == pytest.approx((8.0, 5.0, 3.0))
    assert after["usable"] - before["usable"] == pytest.approx(3.0)
    ledger = " ".join(endurance("ledger", "water", tern).out.split())
    assert "reserve" in ledger
    assert "3.00 kg released by decision" in ledger
    assert "a day of drinking for four" in ledger
    # Pounds are taken too, and what is left of it is what can be spent.
    assert endurance("log", "add", "--spend", "water 11.0231 lb", "--reason", "all", tern).status == 0
    gone = endurance("log", "add", "--spend", "water 1 kg", "--reason", "more", tern)
    assert gone.status == 2
    assert "is left" in gone.err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--spend", "water 9 kg", "--reason", "x"], "at most 8.00 kg, which is what is left"),
        (["--spend", "water 0 kg", "--reason", "x"], "more than zero"),
        (["--spend", "water -1 kg", "--reason", "x"], "more than zero"),
        (["--spend", "water 3 kg"], "needs a reason"),
        (["--spend", "water 3 A*h", "--reason", "x"], "--spend"),
        (["--spend", "oxygen 1 kg", "--reason", "x"], "but it has none"),
        (["--spend", "watr 1 kg", "--reason", "x"], "did you mean 'water'?"),
        (["--spend", "water", "--reason", "x"], "write a supply and an amount"),
        (["--commit", "quick-trn"], "did you mean 'quick-turn'?"),
        (["--commit", "tender", "--when", "T+90h"], "cannot have happened later than now"),
    ],
)
def test_a_decision_that_cannot_be_is_refused_and_not_logged(
    endurance: Any, tern: Path, words: list[str], message: str
) -> None:
    said = endurance("log", "add", *words, tern)
    assert said.status == 2
    assert message in said.err
    assert endurance("log", "list", tern).out == "the journal has no entries\n"


def test_what_could_not_be_saved_says_so_and_how_not_to_log_it_twice(
    endurance: Any, tern: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "journal"
    folder.mkdir()
    said = endurance("log", "add", "--note", "x", "--journal", folder, tern)
    assert (said.status, said.out) == (2, "")
    reason, advice = said.err.splitlines()
    assert str(folder) in reason
    assert advice.startswith("endurance: NOT SAVED. Once that is mended, look with 'endurance log list")
    refused = endurance("log", "correct", "9", "--note", "y", tern)
    assert (refused.status, "NOT SAVED" in refused.err) == (2, False), "nothing to mend: it was refused"
