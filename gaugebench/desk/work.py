"""Work off the window's thread: files, imports, analysis, sealing a record."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from PySide6.QtCore import QObject, Signal, Slot

from gaugebench.desk.words import told
from gaugebench.errors import GaugebenchError

T = TypeVar("T")
_Done = Callable[[], None]


class Workers(QObject):
    """A few threads for work that takes time; results come back on the window's thread.

    A `GaugebenchError` is handed to `failed` as a sentence. Anything else is a fault of the program
    and is raised on the window's thread.
    """

    _arrived = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(max_workers=2, thread_name_prefix="gaugebench-desk")
        self._open = True
        self.busy = 0
        self._aside = 0
        self._arrived.connect(self._deliver)

    def run(
        self,
        job: Callable[[], T],
        then: Callable[[T], None],
        failed: Callable[[str], None],
        *,
        is_aside: bool = False,
    ) -> None:
        """Do `job` on another thread, then call `then` or `failed` on this one.

        is_aside: a look at something that is looked at again anyway; nobody waits for it.
        """
        self.busy += 1
        self._aside += is_aside
        future = self._pool.submit(job)
        future.add_done_callback(lambda done: self._hand_back(done, then, failed, is_aside))

    @property
    def is_waited_for(self) -> bool:
        """Whether something is being done whose end somebody waits for."""
        return self.busy > self._aside

    def close(self) -> None:
        """Wait for what is running and end the threads; nothing is delivered any more."""
        self._open = False
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _hand_back(
        self,
        done: Future[T],
        then: Callable[[T], None],
        failed: Callable[[str], None],
        is_aside: bool,
    ) -> None:
        if done.cancelled() or not self._open:
            return

        def deliver() -> None:
            self._aside -= is_aside
            fault = done.exception()
            if fault is None:
                then(done.result())
            elif isinstance(fault, GaugebenchError):
                failed(told(fault))
            else:
                raise fault

        self._arrived.emit(deliver)

    @Slot(object)
    def _deliver(self, deliver: _Done) -> None:
        self.busy -= 1
        if self._open:
            deliver()
