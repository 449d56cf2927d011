"""What corrections make of the entries that they name. Pure. Nothing is erased: both texts are shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from console.record.entry import Entry, EntryKind
from console.record.steps import withdrawn_sequences


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """How an entry that was corrected stands now."""

    is_withdrawn: bool
    """Whether it did not happen: a step counts no longer."""
    by: tuple[int, ...]
    """The corrections that hold, in their order."""
    text: str
    """What is right, or why it was withdrawn, by the newest of them."""

    @property
    def words(self) -> str:
        """The word for it, with the numbers of the corrections: never style alone."""
        word = "WITHDRAWN" if self.is_withdrawn else "CORRECTED"
        return f"{word} by {', '.join(f'#{number}' for number in self.by)}"


def standings(entries: Sequence[Entry]) -> Mapping[int, Standing]:
    """By sequence, every entry that a correction names which was not itself withdrawn.

    Args:
        entries: all corrections of a journal, in its order; other entries among them do no harm.
    """
    gone = withdrawn_sequences(entries)
    of: dict[int, list[Entry]] = {}
    for entry in entries:
        corrected = entry.body.get("corrects")
        holds = entry.kind is EntryKind.CORRECTION and entry.sequence not in gone
        if holds and isinstance(corrected, int):
            of.setdefault(corrected, []).append(entry)
    return {sequence: _standing(sequence, of, sequence in gone) for sequence in of}


def _standing(sequence: int, of: Mapping[int, Sequence[Entry]], is_withdrawn: bool) -> Standing:
    by: list[int] = []
    text, named = "", [sequence]
    # A correction may be corrected in turn; each names one before it, so this comes to an end.
    while named:
        newer = [correction for number in named for correction in of.get(number, ())]
        newer.sort(key=lambda correction: correction.sequence)
        by += [correction.sequence for correction in newer]
        text = newer[-1].text if newer else text
        named = [newer[-1].sequence] if newer else []
    return Standing(is_withdrawn=is_withdrawn, by=tuple(by), text=text)
