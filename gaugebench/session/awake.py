"""Keeping the computer awake while a record runs, where the platform allows it.

Nothing here is relied on: where the computer sleeps all the same, the session clock has gone on
and the record shows a gap.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from typing import Protocol

WHY = "recording pressures"
# SetThreadExecutionState: continuous, and the system is needed (learn: Win32 winbase, from memory).
_ES_CONTINUOUS = 0x80000000
_ES_SYSTEM_REQUIRED = 0x00000001


class _Holder(Protocol):
    """A process that keeps the computer awake as long as it lives."""

    def terminate(self) -> None:
        """Ask it to end."""

    def wait(self, timeout: float | None = None) -> int:
        """Wait for its end."""


Start = Callable[[Sequence[str]], _Holder]


def holding_command(platform: str, find: Callable[[str], str | None]) -> list[str] | None:
    """The command whose life keeps the computer awake, or None where there is none.

    systemd-inhibit asks the login manager over D-Bus; caffeinate is part of macOS.
    """
    if platform == "darwin" and (found := find("caffeinate")):
        return [found, "-i", "-s"]
    if platform.startswith("linux") and (found := find("systemd-inhibit")):
        pause = find("sleep")
        if pause:
            return [
                found, "--what=idle:sleep:handle-lid-switch", "--who=Gaugebench", f"--why={WHY}",
                "--mode=block", pause, "infinity",
            ]  # fmt: skip
    return None


class Awake:
    """Asks the computer not to sleep between `begin` and `end`; `words` says what came of it."""

    def __init__(
        self,
        platform: str = sys.platform,
        find: Callable[[str], str | None] = shutil.which,
        start: Start | None = None,
    ) -> None:
        self._platform = platform
        self._find = find
        self._start = start or _start
        self._holder: _Holder | None = None
        self.words = ""

    def begin(self) -> None:
        """Ask. Never raises: a record matters more than the wish to stay awake."""
        if self._platform == "win32":
            self.words = _windows(_ES_CONTINUOUS | _ES_SYSTEM_REQUIRED)
            return
        command = holding_command(self._platform, self._find)
        if command is None:
            self.words = "This system offers no way to keep it awake; turn its sleep off by hand."
            return
        try:
            self._holder = self._start(command)
            self.words = "The computer is asked to stay awake."
        except OSError as fault:
            self.words = f"The computer could not be asked to stay awake: {fault.strerror}."

    def end(self) -> None:
        """Let it sleep again. May be called twice."""
        if self._platform == "win32":
            _windows(_ES_CONTINUOUS)
        holder, self._holder = self._holder, None
        if holder is not None:
            holder.terminate()
            holder.wait(5.0)
        self.words = ""


def _start(command: Sequence[str]) -> _Holder:
    return subprocess.Popen(  # noqa: S603 - a fixed command, found on the path
        list(command),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,  # Ctrl+C is for the record, which then ends this
    )


def _windows(state: int) -> str:
    import ctypes

    # Typed for Windows only, hence by name.
    system = getattr(ctypes, "windll").kernel32  # noqa: B009
    asked = system.SetThreadExecutionState(state)
    return "The computer is asked to stay awake." if asked else "Windows refused to stay awake."
