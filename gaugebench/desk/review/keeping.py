"""Keeps marks and figures in a trace file, and a stretch of a trace as a trace of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from gaugebench.desk.notice import Notice
from gaugebench.desk.review.opened import Opened
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.model.mark import Mark


class Keeper:
    """Asks where to, where that is not known; writes off the window's thread."""

    def __init__(self, parent: QWidget, workers: Workers, notice: Notice) -> None:
        self.parent, self.workers, self.notice = parent, workers, notice

    def save(self, opened: Opened, marks: tuple[Mark, ...], then: Callable[[Opened], None]) -> None:
        """Save marks and figures; a trace that came from a text file becomes a trace file.

        then: told the trace as it stands afterwards.
        """
        if opened.path is not None and opened.path.suffix == ".h5":
            path = opened.path
            self.workers.run(
                lambda: _save(path, opened, marks), lambda _: then(opened), self.notice.say
            )
            return
        name = opened.path.name.split(".")[0] if opened.path is not None else "trace"
        target = self._ask((opened.path or Path.home() / name).with_name(f"{name}.h5"))
        if target is None:
            return

        def write() -> Opened:
            from gaugebench.store.tracefile import write_trace

            made = write_trace(replace(opened.trace, marks=marks), target)
            _save(made, opened, marks)
            return replace(opened, path=made)

        self.workers.run(write, then, self.notice.say)

    def save_stretch(self, opened: Opened, start_s: float, end_s: float) -> None:
        """Write the samples between two instants as a trace of their own."""
        name = f"{opened.title.split('.')[0]} {start_s:.0f}-{end_s:.0f} s.h5"
        target = self._ask((opened.path or Path.home() / name).with_name(name))
        if target is None:
            return

        def write() -> Path:
            from gaugebench.store.tracefile import write_trace

            part = opened.between(start_s, end_s)
            marks = tuple(m for m in opened.marks if start_s <= m.time_s < end_s)
            return write_trace(replace(part, marks=marks), target)

        self.workers.run(write, lambda _: self.notice.clear(), self.notice.say)

    def _ask(self, proposed: Path) -> Path | None:
        chosen, _ = QFileDialog.getSaveFileName(
            self.parent, tr("Save as a trace file"), str(proposed), "HDF5 (*.h5)"
        )
        return Path(chosen).with_suffix(".h5") if chosen else None


def _save(path: Path, opened: Opened, marks: tuple[Mark, ...]) -> None:
    from gaugebench.store.tracefile import save_findings

    save_findings(path, opened.figures, marks)
