"""A record without a window, for the command line and for scripts."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from gaugebench.analyse.settings import Settings
from gaugebench.errors import RecordError
from gaugebench.model.kit import read_kit
from gaugebench.session.session import Session

TELL_EVERY_S = 5.0


@contextmanager
def stopped_by_signal(stop: threading.Event | None = None) -> Iterator[threading.Event]:
    """An event that Ctrl+C or a polite kill sets, where this is the main thread."""
    stop = stop or threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield stop
        return

    def ask(_number: int, _frame: FrameType | None) -> None:
        stop.set()

    before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield stop
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def record_to(
    kit_file: Path,
    out: Path,
    seconds: float | None,
    say: Callable[[str], None],
    stop: threading.Event | None = None,
    settings: Settings | None = None,
) -> Path:
    """Record the kit to `out` until `seconds` have passed, Ctrl+C or `stop`; the path it became.

    A taken name gets a number. Raises `KitError`, `SourceError`, `RecordError`.
    """
    if out.suffix != ".h5":
        raise RecordError(f"A trace is an .h5 file; “{out.name}” is not.")
    session = Session(read_kit(kit_file), out.parent, pretrigger_s=0.0, settings=settings)
    session.open()
    try:
        session.start_recording(name=out.stem)
        say("Recording; stop with Ctrl+C.")
        began = session.now_s()
        with stopped_by_signal(stop) as ended:
            while not ended.is_set():
                left = TELL_EVERY_S
                if seconds is not None:
                    left = min(left, began + seconds - session.now_s())
                if left <= 0 or ended.wait(left):
                    break
                _tell(session, say)
        path = session.stop_recording()
    finally:
        session.close()
    say(f"Wrote {path}.")
    return path


def _tell(session: Session, say: Callable[[str], None]) -> None:
    state = session.record_state
    if state is not None:
        say(
            f"{state.seconds:.0f} s, {state.samples} samples"
            + (f"; {state.trouble}" if state.trouble else "")
        )
