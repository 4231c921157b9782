"""A diagnostic log that a user can send: what the program did, without anything of the customer's.

Only the program's own words and numbers are written. Text that is handed to a message as an
argument (a path, a name, an error's sentence, a line from a device) is replaced by its kind and
length, unless the program vouches for it with `plain`. Of an error its type, number and the way
through the code are kept, not its sentence. It rotates, so that it never fills a disk.
"""

from __future__ import annotations

import enum
import logging
import os
import platform
import re
import sys
import threading
import traceback
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from importlib import metadata
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType
from typing import IO, Any

import platformdirs

from gaugebench import __version__
from gaugebench.errors import RecordError

LOGGERS = ("gaugebench", "gaugebench_drivers")
NAME = "gaugebench.log"
MAX_BYTES = 512 * 1024
KEPT = 3
"""Older files beside the newest."""
_LIBRARIES = ("numpy", "h5py", "pandas", "pyarrow", "pyserial", "PySide6_Essentials", "pyqtgraph")
# The last such folder counts: a folder above it may bear the same name, and tell whose it is.
_OURS = re.compile(r"^(?:.*[/\\])?((?:gaugebench|gaugebench_drivers|site-packages)[/\\].*)$")
_QUOTED = re.compile(r"“[^”]*”|\"[^\"]*\"|'[^']*'")
_PATH = re.compile(r"(?<![\w/])(?:[A-Za-z]:[\\/]|~?/|\\\\)(?!dev/)\S*")

log = logging.getLogger(__name__)


class Plain(str):
    """Text that the program or a library wrote itself; made by `plain`."""

    __slots__ = ()


def plain(text: str) -> Plain:
    """Vouch that `text` holds nothing of the customer's; quotations and paths are still cut out."""
    return Plain(_PATH.sub("‹path›", _QUOTED.sub("‹quoted›", text)))


class _Withheld:
    def __init__(self, value: object) -> None:
        size = f", {len(value)}" if isinstance(value, str | bytes) else ""
        self._text = f"‹{type(value).__name__}{size}›"

    def __repr__(self) -> str:
        return self._text


def shown(value: object) -> object:
    """`value` as it may stand in the log: numbers and the program's own words pass."""
    if value is None or isinstance(value, bool | int | float | Plain):
        return value
    if isinstance(value, enum.Enum):
        return value.name
    if isinstance(value, type):
        return value.__qualname__
    if isinstance(value, BaseException):
        return _kind(value)
    return _Withheld(value)


def _kind(error: BaseException) -> str:
    number = getattr(error, "errno", None)
    name = f"{type(error).__module__}.{type(error).__qualname__}".removeprefix("builtins.")
    return f"{name} [{number}]" if isinstance(number, int) else name


def way(error: BaseException) -> list[str]:
    """Where an error came from: file within the program, line, function; causes first."""
    cause = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
    lines = [*way(cause), "which led to"] if cause is not None else []
    for frame in traceback.extract_tb(error.__traceback__):
        match = _OURS.search(frame.filename)
        file = match[1] if match else Path(frame.filename).name
        lines.append(f"  {file}:{frame.lineno} in {frame.name}")
    return [*lines, _kind(error)]


class Redacting(logging.Formatter):
    """Writes a record without any text that came from outside."""

    def format(self, record: logging.LogRecord) -> str:
        """One line, and the way of the error below it."""
        arguments: Any = record.args
        if isinstance(arguments, Mapping):
            arguments = {key: shown(value) for key, value in arguments.items()}
        elif arguments:
            arguments = tuple(shown(value) for value in arguments)
        words = str(record.msg) % arguments if arguments else str(record.msg)
        when = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        lines = [f"{when} {record.levelname} {record.name} [{record.threadName}] {words}"]
        if record.exc_info and record.exc_info[1] is not None:
            lines += way(record.exc_info[1])
        return "\n".join(line.replace("\n", " ") for line in lines)


class _Rotating(RotatingFileHandler):
    """Readable by its owner alone; a log that cannot be written says so once and then gives up."""

    def _open(self) -> IO[Any]:  # type: ignore[override]  # narrower in the stubs than in use
        return open(  # the built-in, because only it takes an opener; the handler closes it
            self.baseFilename,
            self.mode,
            encoding=self.encoding,
            opener=lambda path, flags: os.open(path, flags, 0o600),
        )

    def handleError(self, _record: logging.LogRecord) -> None:  # noqa: N802  # logging's name
        error = sys.exc_info()[1]
        stop()
        if sys.stderr is not None:
            sys.stderr.write(f"The diagnostic log cannot be written and has ended: {error}.\n")


def folder() -> Path | None:
    """Where the log lives on this system, or None where there is no home to put it in."""
    try:
        return Path(platformdirs.user_log_dir("gaugebench", appauthor=False))
    except RuntimeError:
        return None


_state: list[Callable[[], None]] = []
"""What undoes `start`, last first."""


def start(where: Path | None = None) -> Path | None:
    """Begin the log in `where` or in `folder()`; its path, or None where none can be written.

    Never raises for a place that cannot be written: a measurement does not wait for its log.
    Errors that end the program or a thread are noted on their way. A second start changes nothing.
    """
    home = where or folder()
    if home is None or _state:
        return None if home is None else home / NAME
    path = home / NAME
    try:
        home.mkdir(mode=0o700, parents=True, exist_ok=True)
        handler = _Rotating(path, maxBytes=MAX_BYTES, backupCount=KEPT, encoding="utf-8")
    except OSError:
        return None
    handler.setFormatter(Redacting())
    for name in LOGGERS:
        logger = logging.getLogger(name)
        _undo_later(logger.setLevel, logger.level)
        _undo_later(logger.removeHandler, handler)
        logger.setLevel(logging.INFO)
        logger.addHandler(handler)
    _undo_later(setattr, sys, "excepthook", sys.excepthook)
    _undo_later(setattr, threading, "excepthook", threading.excepthook)
    sys.excepthook = _noting(sys.excepthook)
    threading.excepthook = _noting_thread(threading.excepthook)
    _state.append(handler.close)
    log.info("started: %s", plain("; ".join(facts())))
    return path


def stop() -> None:
    """End the log and put everything back as it was."""
    while _state:
        _state.pop()()


def _undo_later(function: Callable[..., object], *arguments: object) -> None:
    def undo() -> None:
        function(*arguments)

    _state.append(undo)


Hook = Callable[[type[BaseException], BaseException, TracebackType | None], object]


def _noting(before: Hook) -> Hook:
    def hook(kind: type[BaseException], error: BaseException, at: TracebackType | None) -> None:
        log.critical("the program ended by an error", exc_info=(kind, error, at))
        before(kind, error, at)

    return hook


def _noting_thread(
    before: Callable[[threading.ExceptHookArgs], object],
) -> Callable[[threading.ExceptHookArgs], object]:
    def hook(what: threading.ExceptHookArgs) -> None:
        if what.exc_value is not None:
            log.critical(
                "a thread ended by an error",
                exc_info=(what.exc_type, what.exc_value, what.exc_traceback),
            )
        before(what)

    return hook


def facts() -> list[str]:
    """What runs here: versions and system. No user, host, or file name."""
    packages = {}
    for name in _LIBRARIES:
        try:
            packages[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            packages[name] = "absent"
    drivers = sorted(entry.name for entry in metadata.entry_points(group="gaugebench.drivers"))
    return [
        f"gaugebench {__version__}{' frozen' if getattr(sys, 'frozen', False) else ''}",
        f"Python {platform.python_version()}",
        f"{platform.system()} {platform.release()} {platform.machine()}",
        f"session {os.environ.get('XDG_SESSION_TYPE', '-')}",
        *(f"{name} {version}" for name, version in packages.items()),
        f"drivers {' '.join(drivers)}",
    ]


def gather(target: Path, where: Path | None = None) -> Path:
    """Put the log's files, oldest first, into one text file to be sent, its owner's alone.

    Raises `RecordError` where `target` exists or cannot be written.
    """
    home = where or folder()
    names = [f"{NAME}.{n}" for n in range(KEPT, 0, -1)] + [NAME]
    parts = ["\n".join(facts())]
    if home is not None:
        files = [home / name for name in names]
        parts += [file.read_text(encoding="utf-8") for file in files if file.is_file()]
    try:
        target.touch(mode=0o600, exist_ok=False)
        with target.open("w", encoding="utf-8") as out:
            out.write("\n\n".join(parts))
    except OSError as fault:
        raise RecordError(
            f"The log could not be put in “{target}” ({fault.strerror}); choose another place."
        ) from fault
    return target
