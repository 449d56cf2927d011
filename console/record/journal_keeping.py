"""The journal of a board: what cannot be written is kept, in order, and written when the disk is back.

Only what is on the disk is ever returned as an entry. What is kept lives in memory alone: whoever ends the
program must tell the operator what was not saved.
"""

from __future__ import annotations

import threading
from typing import Any

from console.errors import JournalError
from console.record.admission import EntryRefusedError, admit
from console.record.database import disk_trouble
from console.record.entry import Draft, Entry
from console.record.journal import Journal
from console.record.journal_kept import Kept, NotYetSavedError


class KeepingJournal(Journal):
    """A journal that is opened for as long as a board runs."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self._kept = Kept()
        """A whole that is replaced, so that the screen may read it while a write takes its time."""
        self._keeping = threading.RLock()

    def append(self, draft: Draft) -> Entry:
        """Write an entry, behind all that is kept; it is safe on the disk when this returns.

        Raises:
            NotYetSavedError: the journal cannot be written; the draft is kept.
            EntryRefusedError: it can never be an entry of this journal; nothing is kept.
        """
        admit(draft)
        with self._keeping:
            if all(draft.id != kept.id for kept in self._kept.drafts):
                self._set(drafts=(*self._kept.drafts, draft))
            written = {entry.id: entry for entry in self.write_kept()}
            if draft.id in written:
                return written[draft.id]
            for refused, why in self._kept.refused:
                if refused.id == draft.id:
                    self._set(refused=tuple(each for each in self._kept.refused if each[0] is not refused))
                    raise EntryRefusedError(why)
            raise NotYetSavedError(self._kept.trouble)

    def write_kept(self) -> tuple[Entry, ...]:
        """Write what is kept, as far as that is possible now, and find out whether anything is in the way."""
        written: list[Entry] = []
        with self._keeping:
            while self._kept.drafts:
                draft, *rest = self._kept.drafts
                try:
                    written.append(super().append(draft))
                except EntryRefusedError as error:
                    self._set(drafts=tuple(rest), refused=(*self._kept.refused, (draft, str(error))))
                except JournalError as error:
                    self._set(trouble=self._cause_first(str(error)))
                    return tuple(written)
                else:
                    self._set(drafts=tuple(rest))
            self._set(trouble=self._cause_first(disk_trouble(self.path)))
            return tuple(written)

    def kept(self) -> Kept:
        """What waits to be written."""
        return self._kept

    def _cause_first(self, trouble: str) -> str:
        """The path behind the cause: on a narrow board the end of a long line is cut off."""
        cause = trouble.removeprefix(f"{self.path}: ")
        return f"{cause} ({self.path})" if cause != trouble else trouble

    def _set(
        self,
        *,
        drafts: tuple[Draft, ...] | None = None,
        trouble: str | None = None,
        refused: tuple[tuple[Draft, str], ...] | None = None,
    ) -> None:
        before = self._kept
        self._kept = Kept(
            drafts=before.drafts if drafts is None else drafts,
            trouble=before.trouble if trouble is None else trouble,
            refused=before.refused if refused is None else refused,
        )
