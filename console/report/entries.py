"""Journal entries as lines of plain text.

A correction stands on a line of its own, and the entry that it corrects says so with both texts; nothing is
hidden. Whatever stands in a journal's file is text here.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

from console.craft.plan import Plan, watch_at
from console.display import age_text, clean_text, elapsed_text, utc_text
from console.record.entry import Entry
from console.record.journal_corrections import Standing
from console.record.journal_stored import Stored

_INDENT = "       "
_UNTOLD = ("text", "procedure", "step", "reason", "corrects")
"""Keys of a body that the sentence tells."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Beside:
    """What is shown beside entries and does not stand in them."""

    plan: Plan | None = None
    """Whose watches are meant."""
    standings: Mapping[int, Standing] = field(default_factory=dict)
    """By sequence, how entries stand that were corrected."""

    def watch(self, entry: Entry) -> str | None:
        """Whose watch it was by the plan when it happened; None where the plan has none."""
        watch = None if self.plan is None else watch_at(self.plan.watches, entry.elapsed_s)
        return None if watch is None else watch.name


def entry_line(entry: Entry, beside: Beside) -> str:
    """One entry: sequence, when it happened, who, what; both times where it was written late."""
    late = f" [late, written {utc_text(entry.written_at)}]" if entry.is_late else ""
    head = (
        f"{entry.sequence:>5}  {elapsed_text(entry.elapsed_s)}  {utc_text(entry.happened_at)}  "
        f"{entry.kind.value}  {_who(entry, beside)}{late}: "
    )
    return head + said(entry, beside.standings.get(entry.sequence)).replace("\n", f"\n{_INDENT}")


def said(entry: Entry, standing: Standing | None) -> str:
    """What an entry says; where it was corrected, what is right, with the number, and then what it said."""
    sentence = clean_text(entry.sentence)
    if standing is None:
        return sentence
    return f"{standing.words}: {clean_text(standing.text)}; it said: {sentence}"


def entry_text(stored: Stored, beside: Beside) -> str:
    """All that is known of one entry, a line each."""
    entry = stored.entry
    standing = beside.standings.get(entry.sequence)
    lines = [f"entry #{entry.sequence}"]
    for label, text in _facts(stored, beside):
        lines.append(f"  {label:<11} {clean_text(text)}".replace("\n", "\n" + " " * 14))
    if standing is not None:
        lines.insert(1, f"  {standing.words}: {clean_text(standing.text)}".replace("\n", "\n" + " " * 14))
    return "\n".join(lines)


def _facts(stored: Stored, beside: Beside) -> list[tuple[str, str]]:
    entry = stored.entry
    late = ""
    if entry.is_late:
        late = f"  late: {age_text((entry.written_at - entry.happened_at).total_seconds())} after it happened"
    rest = {key: value for key, value in entry.body.items() if key not in _UNTOLD}
    facts = [
        ("kind", entry.kind.value),
        ("happened", f"{elapsed_text(entry.elapsed_s)}  {utc_text(entry.happened_at)}"),
        ("written", f"{utc_text(entry.written_at)}{late}"),
        ("operator", entry.operator or "nobody: written by the program"),
        ("position", entry.position or "not said"),
        ("watch", beside.watch(entry) or "none by the plan"),
        ("host", entry.host),
        ("said" if entry.sequence in beside.standings else "says", entry.sentence),
    ]
    facts += [
        (clean_text(key), _value_text(value)) for key, value in rest.items() if value not in ({}, [], "")
    ]
    return [
        *facts,
        ("id", entry.id),
        ("hash", f"{entry.hash}  {stored.fault or 'fits what is stored'}"),
        ("after", entry.previous_hash),
    ]


def _value_text(value: object) -> str:
    """A part of a body in one line: names with their values, else as JSON."""
    if isinstance(value, Mapping) and all(isinstance(item, str | int | float) for item in value.values()):
        return ", ".join(f"{key} {item}" for key, item in value.items())
    return json.dumps(value, ensure_ascii=False)


def _who(entry: Entry, beside: Beside) -> str:
    """Operator, position and watch; of what the program wrote itself, the host."""
    who = entry.operator or f"host {entry.host}"
    if entry.position:
        who += f" ({entry.position})"
    watch = beside.watch(entry)
    return clean_text(who if watch is None else f"{who}, watch {watch}").replace("\n", " ")
