"""A whole journal for somebody else: as JSON Lines that can be verified, as CSV, as Markdown.

Nothing in an entry acts on whatever opens the file: no control characters, no turned text direction, no
formula in a spreadsheet, no markup.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping

from console.display import clean_text, elapsed_text, utc_text
from console.instants import format_utc
from console.record.chain import FIELDS, Head
from console.record.entry import Entry
from console.record.journal_stored import Stored
from console.report.entries import Beside
from console.report.entries_document import listed_document

FORMAT = 1
"""Of the lines of JSON."""

_CSV_COLUMNS = (
    "sequence",
    "happened_at",
    "elapsed",
    "written_at",
    "late",
    "kind",
    "operator",
    "position",
    "watch",
    "host",
    "text",
    "standing",
    "corrected_text",
    "body",
    "id",
    "previous_hash",
    "hash",
)
_ACTS_FIRST = tuple("=+-@\t\r\n\0\uff1d\uff0b\uff0d\uff20|%")
"""What a spreadsheet takes for the beginning of a formula (OWASP ASVS 5.0, 1.2.10, and its page on CSV
injection: also the full-width forms; bar and percent: what old ones take for a call of another program)."""
_MARKUP = re.compile(r"([\\`*_{}\[\]<>|#~&!:@$])")
"""What acts in Markdown (CommonMark 0.31, 2.4), with what makes links and characters out of plain text."""


def json_lines(
    stored: Iterable[Stored], meta: Mapping[str, str], head: Head, beside: Beside
) -> Iterator[str]:
    """A line of what the journal is, then a line an entry with the very texts that its hash was made from.

    To verify: the SHA-256 of the tag and of ``hashed``, each as a netstring, is ``hash``; the twelfth of them
    is the hash of the line before, in the first entry ``genesis``. Pure ASCII.
    """
    about = {
        "format": FORMAT,
        "journal_format": int(meta["format"]),
        "scenario": meta["scenario"],
        "epoch": meta["epoch"],
        "genesis": meta["genesis"],
        "head": {"count": head.count, "hash": head.hash},
        "tag": f"endurance journal {meta['format']} entry",
        "hashed": list(FIELDS),
    }
    yield json.dumps(about, allow_nan=False)
    for each in stored:
        document = {**listed_document(each.entry, beside), "hashed": list(each.fields)}
        yield json.dumps(document, allow_nan=False)


def csv_lines(stored: Iterable[Stored], beside: Beside) -> Iterator[str]:
    """RFC 4180 with every field quoted, without the ends of lines."""
    yield ",".join(_quoted(name) for name in _CSV_COLUMNS)
    for each in stored:
        yield ",".join(_quoted(field) for field in _csv_fields(each.entry, beside))


def _csv_fields(entry: Entry, beside: Beside) -> tuple[str, ...]:
    standing = beside.standings.get(entry.sequence)
    return (
        str(entry.sequence),
        format_utc(entry.happened_at),
        elapsed_text(entry.elapsed_s),
        format_utc(entry.written_at),
        "late" if entry.is_late else "",
        entry.kind.value,
        _inert_cell(entry.operator),
        _inert_cell(entry.position),
        _inert_cell(beside.watch(entry) or ""),
        _inert_cell(entry.host),
        _inert_cell(entry.sentence),
        "" if standing is None else standing.words,
        "" if standing is None else _inert_cell(standing.text),
        json.dumps(dict(entry.body), allow_nan=False),
        _inert_cell(entry.id),
        entry.previous_hash,
        entry.hash,
    )


def _inert_cell(text: str) -> str:
    r"""Text that no spreadsheet reckons with: a quote before what would begin a formula, spaces or not.

    >>> _inert_cell("=1+1"), _inert_cell(" @SUM(A1)"), _inert_cell("a-1")
    ("'=1+1", "' @SUM(A1)", 'a-1')
    """
    clean = clean_text(text)
    is_active = clean.startswith(_ACTS_FIRST) or clean.lstrip().startswith(_ACTS_FIRST)
    return f"'{clean}" if is_active else clean


def _quoted(field: str) -> str:
    return '"' + field.replace('"', '""') + '"'


def markdown_lines(stored: Iterable[Stored], title: str, head: Head, beside: Beside) -> Iterator[str]:
    """A table, oldest first; what was corrected is struck through beside the new text."""
    yield f"# {inert_markdown(title)}"
    yield ""
    yield f"{head.count} entries, head `{head.count}:{head.hash}`"
    yield ""
    yield "| # | happened | UTC | kind | who | watch | says |"
    yield "| ---: | --- | --- | --- | --- | --- | --- |"
    for each in stored:
        entry = each.entry
        who = entry.operator + (f" ({entry.position})" if entry.position else "") or f"host {entry.host}"
        written = f" (late, written {utc_text(entry.written_at)})" if entry.is_late else ""
        cells = (
            str(entry.sequence),
            inert_markdown(elapsed_text(entry.elapsed_s)),
            inert_markdown(utc_text(entry.happened_at) + written),
            entry.kind.value,
            inert_markdown(who),
            inert_markdown(beside.watch(entry) or ""),
            _said(entry, beside),
        )
        yield f"| {' | '.join(cells)} |"


def _said(entry: Entry, beside: Beside) -> str:
    standing, sentence = beside.standings.get(entry.sequence), inert_markdown(entry.sentence)
    if standing is None:
        return sentence
    struck = f"~~{sentence}~~" if sentence else "(no text)"
    return f"**{inert_markdown(standing.words)}:** {inert_markdown(standing.text)}; it said: {struck}"


def inert_markdown(text: str) -> str:
    r"""Text in which nothing is Markdown, links that make themselves included, in one line.

    >>> inert_markdown("see https://x.y | <b> &#8238;")
    'see https\\://x.y \\| \\<b\\> \\&\\#8238;'
    """
    one_line = " ".join(clean_text(text).split())
    return re.sub(r"(?i)\bwww\.", r"www\\.", _MARKUP.sub(r"\\\1", one_line))
