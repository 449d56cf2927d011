"""Brings what a history holds to the disk, beside the tick, never in its way, and tells what hinders it."""

from __future__ import annotations

import threading
from collections.abc import Callable

from console.record import history_file
from console.record.history_blocks import Progress, SavedTrackError, progress_of, restored
from console.record.history_file import HistoryDamagedError
from console.record.history_held import Held
from console.record.history_store import DISK_ERRORS, HistoryStore, Saved

SAVE_EVERY_S = 10.0
"""What a sudden end can cost at most, on a disk that takes writes; a failed saving is tried again so soon."""
SAVE_AFTER = 100_000
"""Readings and marks after which saving does not wait for that."""
CLOSING_S = 5.0
"""How long closing waits for a disk that hangs."""


class Keeper:
    """Saves one history to one store.

    Args:
        held: what is to be saved.
        store: where to; nobody else uses it.
        monotonic: seconds of a clock that never steps.
    """

    def __init__(self, held: Held, store: HistoryStore, monotonic: Callable[[], float]) -> None:
        self.trouble = ""
        self._held = held
        self._store = store
        self._monotonic = monotonic
        self._saving = threading.Lock()
        self._thread: threading.Thread | None = None
        self._progress: dict[str, Progress] = {}
        self._saved_marks: dict[str, str] = {}
        self._saved_changes = 0
        self._adopted: str | None = None
        """The identity of the file that the progress is about."""
        self._is_over = False
        self._tried_s = monotonic()

    @property
    def is_writer(self) -> bool:
        """Whether this process is the one that writes."""
        return self._store.is_writer

    def begin(self) -> None:
        """Read what is on disk, as the one who writes from now on where that may be."""
        with self._saving:
            try:
                identity = self._store.ready()
                self._adopt(identity)
            except DISK_ERRORS as error:
                self._tell(error)
                if not self._is_over and not self._store.is_writer:
                    self._read_all_the_same()

    def nudge(self) -> None:
        """Save beside the caller if that is due; returns at once."""
        if self._is_over or not self._store.writes or (self._thread is not None and self._thread.is_alive()):
            return
        waiting = self._held.changes - self._saved_changes
        is_time = self._monotonic() - self._tried_s >= SAVE_EVERY_S
        has_much = waiting >= SAVE_AFTER and not self.trouble and self._store.is_writer
        if has_much or (is_time and (waiting or self.trouble or not self._store.is_writer)):
            self._thread = threading.Thread(target=self._work, name="history", daemon=True)
            self._thread.start()

    def save(self) -> None:
        """Save now; what stands in the way is told in ``trouble``."""
        with self._saving:
            self._save()

    def close(self) -> None:
        """Save what is left and let go of the file; waits little for a disk that hangs."""
        if not self._saving.acquire(timeout=CLOSING_S):
            return
        try:
            self._save()
            self._is_over = True
            self._store.close()
        finally:
            self._saving.release()

    def _work(self) -> None:
        try:
            self.save()
        except Exception as error:  # noqa: BLE001  a thread's end: readings go on in memory, and it is told
            self.trouble = (
                f"{self._store.path}: readings are kept in memory only ({type(error).__name__}: {error})"
            )

    def _save(self) -> None:
        if self._is_over or not self._store.writes:
            return
        self._tried_s = self._monotonic()
        try:
            identity = self._store.ready()
            if identity is not None:
                if identity != self._adopted:
                    self._adopt(identity)
                self._write()
            self.trouble = ""
        except DISK_ERRORS as error:
            self._tell(error)

    def _write(self) -> None:
        batch, progress, changes = self._held.batch(self._progress, self._saved_marks)
        if not batch.is_empty:
            self._store.write(batch)
        self._progress = progress
        self._saved_marks.update(batch.marks)
        self._saved_changes = changes

    def _adopt(self, identity: str | None) -> None:
        """Go on from the file; one that has nothing yet gets all that is held."""
        saved = self._store.load(self._held.channels)
        self._progress, self._saved_marks = self._taken_over(saved), dict(saved.marks)
        self._adopted = identity

    def _taken_over(self, saved: Saved) -> dict[str, Progress]:
        try:
            tracks = {name: restored(track) for name, track in saved.tracks.items()}
        except SavedTrackError:
            raise HistoryDamagedError(f"{self._store.path}: {history_file.DAMAGED}") from None
        progress = {name: progress_of(track) for name, track in tracks.items()}
        self._held.adopt(tracks, saved.marks)
        return progress

    def _read_all_the_same(self) -> None:
        """A disk that cannot be written may still be read."""
        try:
            self._taken_over(self._store.load(self._held.channels))
        except DISK_ERRORS as error:
            self._tell(error)

    def _tell(self, error: Exception) -> None:
        if history_file.is_damage(error):
            self._is_over = True
            self._store.close()
            self.trouble = f"{self._store.path}: {history_file.DAMAGED}"
        else:
            self.trouble = history_file.told(self._store.path, error)
