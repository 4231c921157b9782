"""The desk driven by the demonstration: a visit is recorded and reviewed, with pictures."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QCoreApplication

from gaugebench.desk.app import application, hear_qt
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.picture import save
from gaugebench.desk.window import DeskWindow
from gaugebench.errors import GaugebenchError
from gaugebench.model.trace import Particulars

PICTURES_AT = 0.62
"""The share of the visit after which the live place is pictured: a loading is in view."""
SETTLE_S = 0.3
LONGEST_WAIT_S = 120.0


class DeskTour:
    """One tour over an open session. Works with and without a screen."""

    def __init__(self, session: Feed, particulars: Particulars, name: str) -> None:
        hear_qt()
        self.app = application()
        self.session, self.particulars, self.name = session, particulars, name
        self.window = DeskWindow()
        self.window.resize(1600, 900)
        self.window.attach(session, particulars)
        self.window.tabs.setCurrentWidget(self.window.live)
        self.window.show()
        self._pictures: list[Path] = []

    def run(self, seconds: float, out: Path) -> Path:
        """Record for so long with the Live place in sight; the sealed trace's path."""
        self.session.start_recording(self.particulars, self.name)
        self._pump(seconds * PICTURES_AT)
        self._pictures.append(save(self.window, out / "desk live.png", 1.0))
        self._pump(seconds * (1 - PICTURES_AT))
        self.window.live.renew_state()
        sealed: list[Path] = []
        trouble: list[str] = []
        self.window.workers.run(self.session.stop_recording, sealed.append, trouble.append)
        self._until(lambda: bool(sealed or trouble))
        if trouble:
            raise GaugebenchError(trouble[0])
        self.window.detach()
        return sealed[0]

    def review(self, trace: Path, out: Path) -> list[Path]:
        """Open the trace in Review, step to a loading, lay the pumps side by side; picture each."""
        review = self.window.review
        self.window.open_trace(trace)
        self._until(lambda: review.opened is not None or bool(review.notice.text))
        if review.notice.text:
            raise GaugebenchError(review.notice.text)
        self._picture(out / "desk review.png")
        review.choose_loading(0)
        self._picture(out / "desk loading.png")
        for place, name in ((self.window.compare, "side by side"), (self.window.hookup, "hook-up")):
            self.window.tabs.setCurrentWidget(place)
            self._picture(out / f"desk {name}.png")
        self.window.tabs.setCurrentWidget(review)
        return self._pictures

    def _picture(self, path: Path) -> None:
        self._pump(SETTLE_S)
        self._pictures.append(save(self.window, path, 1.0))

    def stay_open(self) -> None:
        """Leave the window to the user until it is closed."""
        self.app.exec()

    def close(self) -> None:
        """Close the window."""
        self.window.close()
        QCoreApplication.processEvents()

    def _pump(self, seconds: float) -> None:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            QCoreApplication.processEvents()
            time.sleep(0.004)

    def _until(self, condition: Callable[[], bool]) -> None:
        end = time.monotonic() + LONGEST_WAIT_S
        while not condition():
            if time.monotonic() > end:
                raise GaugebenchError(
                    "The desk did not finish in time; close what else is running."
                )
            self._pump(0.02)
