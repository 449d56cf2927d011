"""``endurance log export``: the whole journal for others, verifiable, and inert whatever opens it."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import unicodedata
from pathlib import Path
from typing import Any

import pytest

HOSTILE = (
    '=HYPERLINK("http://x.y","go")',
    "+1+1",
    "-2+3",
    "@SUM(A1:A9)",
    "\t=1+1",
    " =1+1",
    "\uff1d1+1",
    "a\x1b[2Jb\x07\x9b31m",
    "left\u202eright\u2066",
    "<script>x</script> [go](javascript:x) `code` | cell",
    "&#8238; &lt;b&gt; www.x.y me@x.y http://x.y",
    'quote " comma , semicolon ; line\nend',
    "~~struck~~ **bold** $x$",
)


@pytest.fixture
def hostile(endurance: Any, tern: Path) -> Path:
    """A journal full of texts that want to act."""
    for text in HOSTILE:
        assert endurance("log", "add", f"--note={text}", "--operator", f"={text}"[:150], tern).status == 0
    assert endurance("log", "correct", "1", "--note", HOSTILE[9], tern).status == 0
    return tern


def _exported(endurance: Any, tern: Path, form: str, out: Path) -> str:
    said = endurance("log", "export", "--form", form, "--out", out, tern)
    assert said.status == 0, said.err
    text = out.read_bytes().decode()
    assert endurance("log", "export", "--form", form, tern).out == text
    return text


def _acting(text: str) -> list[str]:
    return [each for each in text if unicodedata.category(each) in ("Cc", "Cf", "Cs", "Zl", "Zp")]


def test_json_lines_carry_all_that_the_chain_is_verified_by(
    endurance: Any, hostile: Path, tmp_path: Path
) -> None:
    text = _exported(endurance, hostile, "jsonl", tmp_path / "log.jsonl")
    about, *entries = [json.loads(line) for line in text.splitlines()]
    previous = about["genesis"]
    # By the recipe alone, without a line of the program.
    for number, entry in enumerate(entries, 1):
        message = b"".join(
            b"%d:%b," % (len(field.encode()), field.encode()) for field in (about["tag"], *entry["hashed"])
        )
        fields = dict(zip(about["hashed"], entry["hashed"], strict=True))
        assert hashlib.sha256(message).hexdigest() == entry["hash"]
        assert (fields["sequence"], fields["previous_hash"]) == (str(number), previous)
        assert json.loads(fields["body"]) == entry["body"]
        previous = entry["hash"]
    head = endurance("log", "verify", "--json", hostile).document["head"]
    assert about["head"] == head == {"count": len(HOSTILE) + 1, "hash": previous}


def test_nothing_in_an_export_acts_on_a_terminal(endurance: Any, hostile: Path, tmp_path: Path) -> None:
    for form, ends in (("jsonl", {"\n"}), ("csv", {"\r", "\n", "\t"}), ("markdown", {"\n"})):
        text = _exported(endurance, hostile, form, tmp_path / f"log.{form}")
        assert set(_acting(text)) <= ends, form
    for line in (tmp_path / "log.csv").read_bytes().split(b"\r\n"):
        assert b"\r" not in line


def test_no_cell_of_the_csv_is_a_formula(endurance: Any, hostile: Path, tmp_path: Path) -> None:
    text = _exported(endurance, hostile, "csv", tmp_path / "log.csv")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert len(rows) == len(HOSTILE) + 1
    # What OWASP names (ASVS 5.0, 1.2.10, and its page on CSV injection), also behind blanks.
    acting = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
    for row in rows:
        for name, cell in row.items():
            assert not cell.lstrip(" ").startswith(acting), (name, cell)
    assert rows[1]["text"] == "'+1+1"
    assert rows[11]["text"] == HOSTILE[11]
    assert rows[0]["standing"] == f"CORRECTED by #{len(rows)}"


def test_nothing_in_the_markdown_is_markup(endurance: Any, hostile: Path, tmp_path: Path) -> None:
    text = _exported(endurance, hostile, "markdown", tmp_path / "log.md")
    lines = [line for line in text.splitlines() if line.startswith("|")][2:]
    assert len(lines) == len(HOSTILE) + 1
    for line in lines:
        plain = line.replace("\\\\", "").replace("~~", "").replace("**", "")
        bare = [
            character
            for before, character in zip(" " + plain, plain, strict=False)
            if character in "`*_{}[]<>#~&!:@$" and before != "\\"
        ]
        # Our own: the colons behind the words of a correction.
        assert bare in ([], [":", ":"]), line
        assert sum(plain[at] == "|" and plain[at - 1] != "\\" for at in range(len(plain))) == 8, line
    assert "www\\.x.y" in text
    struck = next(line for line in lines if "~~" in line)
    assert "**CORRECTED by \\#14:**" in struck
    assert struck.index("it said: ~~=HYPERLINK") > struck.index("CORRECTED")


def test_an_export_is_for_its_owner_alone_and_overwrites_nothing(
    endurance: Any, hostile: Path, tmp_path: Path
) -> None:
    out = tmp_path / "log.csv"
    said = endurance("log", "export", "--form", "csv", "--out", out, hostile)
    assert f"{len(HOSTILE) + 1} entries exported, head {len(HOSTILE) + 1}:" in said.out
    assert out.stat().st_mode & 0o777 == 0o600
    before = out.read_bytes()
    again = endurance("log", "export", "--out", out, hostile)
    assert (again.status, "is there already; name a new file" in again.err) == (2, True)
    assert out.read_bytes() == before


@pytest.mark.parametrize("place", ["nowhere/log.csv", "/dev/full/x"])
def test_an_export_that_cannot_be_written_says_so_and_leaves_nothing(
    endurance: Any, hostile: Path, tmp_path: Path, place: str
) -> None:
    said = endurance("log", "export", "--out", tmp_path / place, hostile)
    assert (said.status, said.out) == (2, "")
    assert "cannot be written" in said.err
    assert "name a file elsewhere" in said.err


def test_an_export_needs_a_journal_and_all_of_it(endurance: Any, tern: Path) -> None:
    missing = endurance("log", "export", tern)
    assert (missing.status, "there is no journal" in missing.err) == (2, True)
    endurance("log", "add", "--note", "x", tern)
    past = endurance("log", "export", "--as-of", "T+1h", tern)
    assert (past.status, "--as-of: the whole journal is exported" in past.err) == (2, True)
    assert endurance("log", "export", "--form", "yaml", tern).status == 2


def test_the_watch_stands_in_every_form(endurance: Any, tern: Path, tmp_path: Path) -> None:
    endurance("log", "add", "--note", "x", "--when", "T+20h", tern)
    for form in ("jsonl", "csv", "markdown"):
        assert "third" in _exported(endurance, tern, form, tmp_path / form)
