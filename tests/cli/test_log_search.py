"""``endurance log list`` with conditions, and ``log show``: what is looked for, and typing errors told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def watch(endurance: Any, tern: Path) -> Path:
    """Seven entries: two corrected, one of them withdrawn."""
    endurance("log", "add", "--note", "cabin fan noisy", "--operator", "mira", "--when", "T+20h", tern)
    endurance("log", "add", "--step", "deep-quiet/3", "--operator", "mira", "--position", "aft", tern)
    endurance("log", "add", "--note", "o2-1 valve stiff", "--operator", "jonas", "--when", "T+24h", tern)
    endurance("log", "correct", "1", "--note", "fan 2 noisy", "--operator", "jonas", tern)
    endurance("log", "correct", "2", "--withdraw", "--note", "wrong key", "--operator", "jonas", tern)
    endurance("log", "add", "--spend", "water 1 kg", "--reason", "dry", "--operator", "mira", tern)
    endurance("log", "add", "--note", "all quiet", "--operator", "mira", tern)
    return tern


def _listed(endurance: Any, watch: Path, *words: str) -> list[int]:
    said = endurance("log", "list", *words, "--json", watch)
    assert said.status == 0, said.err
    return [entry["sequence"] for entry in said.document["entries"]]


@pytest.mark.parametrize(
    ("words", "due"),
    [
        ([], [1, 2, 3, 4, 5, 6, 7]),
        (["--limit", "2"], [6, 7]),
        (["--since", "T+24h", "--until", "T+25h"], [3]),
        (["--until", "2041-06-02T23:10:00Z"], [1]),
        (["--kind", "note"], [1, 3, 7]),
        (["--kind", "Step,correction", "--limit", "3"], [4, 5, 6]),
        (["--kind", "unlogged change"], []),
        (["--operator", "Jonas"], [3, 4, 5]),
        (["--operator", "mira", "--since", "T+21h", "--kind", "step"], [2, 6]),
        (["--load", "com-amplifier"], [2]),
        (["--supply", "water"], [6]),
        (["--supply", "oxygen"], [3]),
        (["--supply", "power"], [2]),
        (["--text", "NOISY fan"], [1, 4]),
        (["--text", "deep-quiet/3"], [2]),
        (["--text", "fan zebra"], []),
    ],
)
def test_what_fits_every_condition_is_listed(
    endurance: Any, watch: Path, words: list[str], due: list[int]
) -> None:
    assert _listed(endurance, watch, *words) == due


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--kind", "stp"], "found 'stp'; did you mean 'step'?"),
        (["--kind", "note,"], "found ''; there are step, note"),
        (["--operator", "mria"], "who has written no entry; did you mean 'mira'?"),
        (["--supply", "watr"], "did you mean 'water'?"),
        (["--load", "com-amplifer"], "did you mean 'com-amplifier'?"),
        (["--since", "yesterday"], "--since: found 'yesterday'; write UTC as"),
        (["--until", "12:00"], "--until: found '12:00'"),
        (["--since", "T+9h", "--until", "T+8h"], "nothing can fit"),
        (["--limit", "0"], "write a whole number from 1 up"),
        (["--limit", "many"], "found 'many'; write a whole number from 1 up"),
    ],
)
def test_a_condition_that_cannot_be_meant_is_refused(
    endurance: Any, watch: Path, words: list[str], message: str
) -> None:
    said = endurance("log", "list", *words, watch)
    assert (said.status, said.out) == (2, "")
    assert message in said.err


def test_a_search_that_finds_nothing_does_not_say_that_the_journal_is_empty(
    endurance: Any, watch: Path
) -> None:
    said = endurance("log", "list", "--text", "zebra", watch)
    assert said.status == 0
    assert "no entry fits" in said.out
    assert "no entries" not in said.out


def test_a_corrected_entry_shows_what_is_right_with_its_number_and_what_it_said(
    endurance: Any, watch: Path
) -> None:
    lines = endurance("log", "list", watch).out.splitlines()
    assert lines[0].endswith("CORRECTED by #4: fan 2 noisy; it said: cabin fan noisy")
    assert lines[1].endswith("WITHDRAWN by #5: wrong key; it said: deep-quiet/3 Power amplifier off")
    assert lines[3].endswith("corrects #1: fan 2 noisy")
    first, second, third = endurance("log", "list", "--limit", "7", "--json", watch).document["entries"][:3]
    assert (first["corrected_by"], first["corrected_text"], first["withdrawn"]) == ([4], "fan 2 noisy", False)
    assert (second["corrected_by"], second["withdrawn"]) == ([5], True)
    assert (third["corrected_by"], third["corrected_text"]) == ([], None)


def test_a_correction_shows_even_where_only_the_corrected_entry_is_listed(
    endurance: Any, watch: Path
) -> None:
    said = endurance("log", "list", "--until", "T+20h", watch)
    assert "CORRECTED by #4: fan 2 noisy" in said.out


def test_the_watch_by_the_plan_at_the_time_is_shown(endurance: Any, watch: Path) -> None:
    plan = (watch / "plan.yaml").read_text()
    assert "watches" in plan
    first, second = endurance("log", "list", "--json", watch).document["entries"][:2]
    # Tern's watches begin at 0, 8, 16 and 24 h.
    assert (first["watch"], second["watch"]) == ("third", "fourth")
    assert "mira (aft), watch fourth" in endurance("log", "list", watch).out.splitlines()[1]


def test_show_says_all_of_one_entry(endurance: Any, watch: Path) -> None:
    said = endurance("log", "show", "2", watch).out
    for part in ("WITHDRAWN by #5: wrong key", "operator    mira", "position    aft", "watch       fourth"):
        assert part in said
    assert "loads       com-amplifier off" in said
    assert "fits what is stored" in said
    document = endurance("log", "show", "2", "--json", watch).document
    assert (document["sequence"], document["withdrawn"], document["fits"]) == (2, True, True)
    assert document["hashed"]["operator"] == "mira"


@pytest.mark.parametrize(
    ("number", "message"),
    [("99", "found no entry #99; there are #1 to #7"), ("x", "found 'x'"), ("0", "from 1 up")],
)
def test_show_of_what_is_not_there_says_what_is(
    endurance: Any, watch: Path, number: str, message: str
) -> None:
    said = endurance("log", "show", number, watch)
    assert (said.status, said.out) == (2, "")
    assert message in said.err


def test_show_without_a_journal_says_so(endurance: Any, tern: Path) -> None:
    said = endurance("log", "show", "1", tern)
    assert (said.status, "the journal has no entries yet" in said.err) == (2, True)


def test_show_tells_an_entry_that_was_changed_behind_our_back(
    endurance: Any, watch: Path, tmp_path: Path
) -> None:
    (journal,) = tmp_path.rglob("*.journal")
    content = journal.read_bytes()
    assert content.count(b"o2-1 valve stiff") == 1
    journal.write_bytes(content.replace(b"o2-1 valve stiff", b"o2-1 valve loose"))
    document = endurance("log", "show", "3", "--json", watch).document
    assert (document["fits"], document["why"]) == (
        False,
        "it is not what was written: content and hash do not fit",
    )
    assert "content and hash do not fit" in endurance("log", "show", "3", watch).out


def test_verify_says_up_to_where_the_journal_can_be_relied_on(
    endurance: Any, watch: Path, tmp_path: Path
) -> None:
    (journal,) = tmp_path.rglob("*.journal")
    journal.write_bytes(journal.read_bytes().replace(b"o2-1 valve stiff", b"o2-1 valve loose"))
    said = endurance("log", "verify", watch)
    assert said.status == 1
    assert said.out.startswith("entry 3: it is not what was written")
    assert "DAMAGED, 7 entries read; the chain of #1 to #2 fits (head 2:" in said.out


def test_a_rewritten_journal_is_not_called_reliable_by_its_own_chain(endurance: Any, watch: Path) -> None:
    head = endurance("log", "verify", "--json", watch).document["head"]["hash"]
    said = endurance("log", "verify", "--head", f"3:{head}", watch)
    assert said.status == 1
    assert said.out.startswith("entry 3: it is not the one that was noted")
    assert "rely on none, compare with another copy" in said.out
    assert "#1 to #7" not in said.out
    cut = endurance("log", "verify", "--head", f"9:{head}", watch)
    assert cut.out.startswith("entry 8: missing; entry 9 was noted as the last")
    assert "the chain of #1 to #7 fits" in cut.out
