"""Readings that wait to be handed back, cut so that a restart stands before the rows after it."""

from __future__ import annotations

from collections import deque

from gaugebench.driver import Batch, Notice, Reading, Reject


class Pending:
    """Collects what was decoded, in its order, and hands it back a reading at a time."""

    def __init__(self) -> None:
        self._full: deque[Reading] = deque()
        self._batches: list[Batch] = []
        self._rejects: list[Reject] = []
        self._notices: list[Notice] = []

    def batch(self, batch: Batch) -> None:
        """Add rows."""
        if len(batch.raw):
            self._batches.append(batch)

    def reject(self, reject: Reject) -> None:
        """Add something unreadable."""
        self._rejects.append(reject)

    def notice(self, notice: Notice) -> None:
        """Add what the device said or did; the rows before it go into a reading of their own."""
        if self._batches:
            self._cut()
        self._notices.append(notice)

    def take(self) -> Reading:
        """The next reading; an empty one where nothing waits."""
        if not self._full:
            self._cut()
        return self._full.popleft()

    def take_all(self) -> Reading:
        """Everything in one reading, for closing."""
        self._cut()
        held = [self._full.popleft() for _ in range(len(self._full))]
        return Reading(
            tuple(b for r in held for b in r.batches),
            tuple(x for r in held for x in r.rejects),
            tuple(n for r in held for n in r.notices),
        )

    def __bool__(self) -> bool:
        return bool(self._full or self._batches or self._rejects or self._notices)

    def _cut(self) -> None:
        self._full.append(Reading(tuple(self._batches), tuple(self._rejects), tuple(self._notices)))
        self._batches, self._rejects, self._notices = [], [], []
