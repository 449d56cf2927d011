"""Text from outside in the journal: harmless, whole, or refused; never cut."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.display import clean_text
from console.errors import JournalError
from console.record.admission import MAX_TEXT_CHARACTERS
from console.record.entry import Draft, EntryKind
from console.record.journal import Journal

Make = Callable[..., Draft]

# Unicode 15, UAX #9 table 4 (Bidi_Control) and UAX #44 general category Zl and Zp; from memory.
BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
SEPARATORS = "\u2028\u2029"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b]0;owned\x07", "␛]0;owned␇"),
        ("\x00\x08\r\x7f", "␀␈␍␡"),
        ("\x9b31m", "<U+009B>31m"),
        ("\u202eevlav", "<U+202E>evlav"),
        ("\ud83d lone", "<U+D83D> lone"),
        ("one\r\ntwo\tthree\n", "one\ntwo\tthree\n"),
        ("[bold]µ ✓ 氧[/bold] é", "[bold]µ ✓ 氧[/bold] é"),
        ("👩\u200d🚀", "👩\u200d🚀"),
    ],
)
def test_what_would_act_is_shown_and_what_reads_stays(text: str, shown: str) -> None:
    assert clean_text(text) == shown


def test_every_control_character_there_is_becomes_visible() -> None:
    for code in range(0x110000):
        sign = chr(code)
        acts = unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"} or sign in BIDI + SEPARATORS
        if acts and sign not in "\n\t":
            assert clean_text(f"a{sign}b").isprintable(), hex(code)
        else:
            assert clean_text(sign) == sign, hex(code)


@given(st.text(st.characters()))
def test_making_text_harmless_twice_is_the_same_as_once(text: str) -> None:
    assert clean_text(clean_text(text)) == clean_text(text)


def test_operator_position_and_every_text_of_a_body_are_made_harmless(journal: Journal, draft: Make) -> None:
    bad = "x\x1b[2J\x00\u202ey\udc80"
    body = {"text": bad, "parts": [bad, {"more": bad}]}
    entry = journal.append(draft(operator=bad, position=bad, body=body))
    good = "x␛[2J␀<U+202E>y<U+DC80>"
    assert (entry.operator, entry.position) == (good, good)
    assert entry.body == {"text": good, "parts": [good, {"more": good}]}
    assert journal.entries() == (entry,)


def test_text_goes_on_behind_a_nul(journal: Journal, draft: Make) -> None:
    journal.append(draft(body={"text": "before\x00after"}))
    assert journal.entries()[0].text == "before␀after"


@pytest.mark.parametrize("length", [10_000, MAX_TEXT_CHARACTERS])
def test_a_long_note_is_kept_whole(journal: Journal, draft: Make, length: int) -> None:
    text = ("µ✓x\n" * length)[:length]
    journal.append(draft(body={"text": text}))
    assert journal.entries()[0].text == text


def test_a_note_over_the_limit_is_refused_with_both_numbers(journal: Journal, draft: Make) -> None:
    with pytest.raises(JournalError, match=r"body\.text: found 100,001 characters; write at most 100,000"):
        journal.append(draft(body={"text": "x" * 100_001}))
    assert journal.head().count == 0


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"body": {"text": "x", "parts": ["y" * 99_000] * 11}}, r"body: found 1,089,\d\d\d characters"),
        ({"body": {"text": " \n"}}, r"body\.text: found nothing"),
        ({"body": {"text": 7}}, r"body\.text: found 7"),
        ({"body": {"text": "x", "rate": float("nan")}}, r"body\.rate: found 'nan'"),
        ({"body": {"text": "x", "rate": float("inf")}}, r"body\.rate: found 'inf'"),
        ({"body": {"text": "x", "count": 10**400}}, r"body\.count: found '1000"),
        ({"body": {"text": "x", "when": {1, 2}}}, r"body\.when: found"),
        ({"body": {"text": "x", "raw": b"bytes"}}, r"body\.raw: found"),
        ({"body": {"text": "x", 7: "y"}}, r"body: found the key 7"),
        ({"body": {"text": "x", "k\x00": "y"}}, r"body: found the key 'k\\x00'"),
        ({"operator": "o" * 201}, r"operator: found 201 characters"),
        ({"position": "p" * 201}, r"position: found 201 characters"),
    ],
)
def test_what_cannot_be_kept_whole_is_refused(
    journal: Journal, draft: Make, changes: dict[str, Any], told: str
) -> None:
    with pytest.raises(JournalError, match=told):
        journal.append(draft(**changes))
    assert journal.head().count == 0


def test_a_body_nested_without_end_is_refused(journal: Journal, draft: Make) -> None:
    body: dict[str, Any] = {"text": "x"}
    body["again"] = body
    with pytest.raises(JournalError, match="more than 32 levels"):
        journal.append(draft(body=body))


@pytest.mark.parametrize("draft_id", ["", "two words", "tab\t", "nul\x00", "\u202eid", "x" * 201])
def test_an_id_that_is_no_plain_word_is_refused(journal: Journal, draft: Make, draft_id: str) -> None:
    with pytest.raises(JournalError, match="id: found"):
        journal.append(draft(draft_id))


def test_a_correction_that_only_withdraws_needs_no_text(journal: Journal, draft: Make) -> None:
    journal.append(draft("a"))
    body = {"corrects": 1, "withdrawn": True}
    assert journal.append(draft("b", kind=EntryKind.CORRECTION, body=body)).text == ""


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"procedure": "quiet-down"}, "found procedure 'quiet-down' and step None; write both"),
        ({"loads": {"radio": "dim"}}, r"body\.loads\.radio: found 'dim'; write on or standby or off"),
        ({"loads": {"radio": ["on"]}}, r"body\.loads\.radio: found"),
        ({"loads": "radio"}, r"body\.loads: found 'radio'; write names"),
        (
            {"stores": {"o2-1": "open"}},
            r"body\.stores\.o2-1: found 'open'; write feeding or spare or isolated or protected",
        ),
        ({"used_si": {"water-1": -2.0}}, r"body\.used_si\.water-1: found -2\.0; write the amount taken"),
        ({"used_si": {"water-1": True}}, r"body\.used_si\.water-1: found True"),
    ],
)
def test_a_step_that_could_not_be_read_back_is_refused(
    journal: Journal, draft: Make, body: dict[str, Any], told: str
) -> None:
    with pytest.raises(JournalError, match=told):
        journal.append(draft(kind=EntryKind.STEP, body={"text": "x", **body}))
    assert journal.head().count == 0
