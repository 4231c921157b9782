"""The kit that this window opened, and must close."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from gaugebench.desk.work import Workers
from gaugebench.errors import RecordError

if TYPE_CHECKING:
    from gaugebench.analyse.settings import Settings
    from gaugebench.model.kit import Kit
    from gaugebench.session.session import Session


def make_folder(folder: Path) -> None:
    """See that there is a folder for records, a new one its owner's alone. Raises `RecordError`."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as fault:
        raise RecordError(
            f"The folder {folder} for records cannot be made: {fault.strerror}; choose another."
        ) from fault


class KitLink(QObject):
    """Opens and closes sessions off the window's thread, one at a time."""

    opened = Signal(object)
    """A kit is open: its `Session`."""
    failed = Signal(object)
    """Why a kit could not be opened or closed, in a sentence."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.session: Session | None = None
        self.is_opening = False

    def open(self, workers: Workers, kit: Kit, folder: Path, settings: Settings | None) -> None:
        """Open a kit; the one that was open is closed first. Not while another is being opened."""
        from gaugebench.session.session import Session  # the heavy rooms, once they are needed

        old, self.session = self.session, None

        def job() -> Session:
            if old is not None:
                old.close()
            make_folder(folder)
            made = Session(kit, folder, settings=settings)
            made.open()
            return made

        self.is_opening = True
        workers.run(job, self._is_open, self._is_not)

    def close(self, workers: Workers) -> None:
        """Close the kit."""
        session, self.session = self.session, None
        if session is not None:
            workers.run(session.close, lambda _: None, self.failed.emit)

    def record_in(self, folder: Path) -> None:
        """Records of the kit that is open go there from now on."""
        if self.session is not None:
            self.session.folder = folder

    def end(self) -> None:
        """Close the kit now, on this thread; a record that runs is sealed."""
        session, self.session = self.session, None
        if session is not None:
            session.close()

    def _is_open(self, session: Session) -> None:
        self.is_opening, self.session = False, session
        self.opened.emit(session)

    def _is_not(self, sentence: str) -> None:
        self.is_opening = False
        self.failed.emit(sentence)
