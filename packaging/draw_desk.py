"""Draw the pictures of the desk in packaging/pictures, each place as the demonstration leaves it.

    python packaging/draw_desk.py

The worksheet is that of the practice visit, in the middle of its work. Run it after a change of how
the desk looks, on a machine that does nothing else, and commit what it draws. It takes about two
minutes.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

PICTURES = Path(__file__).resolve().parent / "pictures"
OF_THE_DEMO = {
    "desk live.png": "live.png",
    "desk loading.png": "review.png",
    "desk side by side.png": "side.png",
    "desk hook-up.png": "hook-up.png",
}
SHARE = 0.5
"""How far the pictured visit has got."""


def draw_demo(folder: Path) -> None:
    """The places that the demonstration visits."""
    from gaugebench.demo import run_demo
    from gaugebench.store.opening import open_trace

    run_demo(folder, headless=True, say=lambda _: None)
    # The demonstration reads a board in real time: on a busy machine rows are lost, and it shows.
    (trace,) = folder.glob("*.h5")
    if gaps := open_trace(trace).gaps:
        raise SystemExit(
            f"The record of the demonstration has {len(gaps)} gaps, as this machine is busy; draw "
            "again when it is not."
        )
    for made, kept in OF_THE_DEMO.items():
        shutil.copy(folder / made, PICTURES / kept)


def draw_worksheet(folder: Path) -> None:
    """The worksheet of a visit half done: a job is its lines, so the later ones are left off."""
    from gaugebench.desk.app import application
    from gaugebench.desk.picture import save
    from gaugebench.desk.window import DeskWindow
    from gaugebench.report.visit import visit

    whole = visit(folder / "whole", datetime(2026, 5, 12, 8, 0, tzinfo=UTC))
    lines = whole.read_bytes().splitlines(keepends=True)
    half = folder / "job.jsonl"
    half.write_bytes(b"".join(lines[: int(SHARE * len(lines))]))
    app = application()
    window = DeskWindow()
    window.resize(1600, 900)
    window.tabs.setCurrentWidget(window.worksheet)
    window.show()
    if not window.worksheet.resume(half):
        raise SystemExit("The job of the practice visit does not open.")
    for _ in range(20):
        app.processEvents()
    save(window, PICTURES / "worksheet.png")
    window.close()
    app.processEvents()


def main() -> int:
    """Draw all of them, with settings and data of their own."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
            os.environ[name] = str(folder / name)
        draw_demo(folder / "demo")
        draw_worksheet(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
