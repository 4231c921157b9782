"""Run as a program: looks into trace files and tells what each cost.

    hostile_files.py FILE...

Prints one JSON object a file: what was said (empty where it opened), what the check of it said
first, the processor time in s and the growth of the peak of memory in MB.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from gaugebench.errors import TraceError
from gaugebench.store.tracefile import TraceFile
from gaugebench.store.verify import verify


def _memory_kb(which: str) -> int:
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.partition(f"{which}:")[2].split()[0])


def main() -> None:
    """Open, read whole and verify each."""
    for name in sys.argv[1:]:
        path = Path(name)
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # the peak begins anew
        before, began = _memory_kb("VmRSS"), time.process_time()
        said = ""
        try:
            TraceFile(path).trace()
        except TraceError as fault:
            said = str(fault)
        checked = verify(path)
        told = {
            "name": path.stem,
            "said": said,
            "checked": checked[0] if checked else "",
            "cpu_s": time.process_time() - began,
            "grown_mb": (_memory_kb("VmHWM") - before) / 1024,
        }
        print(json.dumps(told), flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
