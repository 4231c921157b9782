"""What a start loads: nothing that is dear and not needed for the first picture."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

START = """
import sys
from gaugebench.desk.app import application
app = application([])
from gaugebench.desk.window import DeskWindow
window = DeskWindow()
print(" ".join(sorted(sys.modules)))  # once it is shown, drivers are looked for on another thread
window.close()
"""
DEAR = {"pydantic", "pandas", "pyarrow", "pint", "pyqtgraph", "h5py", "reportlab", "scipy"}


def test_the_window_stands_before_anything_dear_is_loaded(tmp_path: Path) -> None:
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", START], env=environment, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.split())
    assert "gaugebench.desk.hookup.place" in loaded
    assert not DEAR & loaded
