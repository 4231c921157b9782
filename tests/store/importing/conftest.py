"""Reading a few lines of text as a trace."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gaugebench.errors import ImportChoiceNeeded
from gaugebench.model.trace import Trace
from gaugebench.store.opening import open_trace

Read = Callable[..., Trace]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Call with text or bytes, and flags."""

    def reading(content: str | bytes, **flags: Any) -> Trace:
        path = tmp_path / "log.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return open_trace(path, **flags)

    return reading


@pytest.fixture
def asked(read: Read) -> Callable[..., str]:
    """Call with text and flags: what is asked, in one sentence."""

    def asking(content: str | bytes, **flags: Any) -> str:
        with pytest.raises(ImportChoiceNeeded) as caught:
            read(content, **flags)
        return str(caught.value)

    return asking


@pytest.fixture
def columns() -> Callable[[Trace], dict[str, tuple[list[float], list[float], str]]]:
    """A trace as {name: (times, raw values, unit)}."""

    def of(trace: Trace) -> dict[str, tuple[list[float], list[float], str]]:
        found = {}
        for s in trace.series:
            assert s.raw is not None
            found[s.channel.name] = (s.times.tolist(), s.raw.tolist(), s.channel.raw_unit)
        return found

    return of
