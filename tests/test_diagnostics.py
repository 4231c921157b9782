"""The diagnostic log: the program's words and none of the customer's, bounded, never in the way."""

from __future__ import annotations

import ast
import logging
import re
import stat
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from gaugebench import diagnostics
from gaugebench.errors import RecordError, UnitError
from gaugebench.model.mark import MarkKind
from gaugebench.quantity import Dimension, parse

ROOT = Path(__file__).parents[1]
SECRETS = ("Smith & Sons", "SN-48151", "/home/jürgen/Smith/visit.h5", "Quarry Road 8")


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A log that has been started here."""
    assert diagnostics.start(tmp_path / "state") == tmp_path / "state" / diagnostics.NAME
    yield tmp_path / "state"
    diagnostics.stop()


def written(folder: Path) -> str:
    return "".join(p.read_text(encoding="utf-8") for p in folder.iterdir())


def fail(secret: str) -> None:
    raise ValueError(f"bad customer {secret}")


def test_no_text_that_was_handed_over_reaches_the_log(folder: Path) -> None:
    log = logging.getLogger("gaugebench.some.room")
    for secret in SECRETS:
        log.warning("could not read %s", secret)
        log.warning("could not read %(name)s", {"name": secret})
        log.warning("could not read %r", Path(secret))
        log.warning("could not read %s", [secret])
        log.warning("could not read %s", secret.encode())
        log.warning("refused: %s", ValueError(secret))
        try:
            fail(secret)
        except ValueError:
            log.exception("no reading")
    text = written(folder)
    assert text.count("could not read") == 5 * len(SECRETS)
    assert not [secret for secret in SECRETS if secret in text or ascii(secret)[1:-1] in text]


def test_numbers_kinds_and_the_way_of_an_error_are_kept(folder: Path) -> None:
    log = logging.getLogger("gaugebench.some.room")
    try:
        Path("/nowhere/at/all").read_bytes()
    except OSError:
        log.exception("%d of %.1f at %s", 3, 4.5, MarkKind.PEAK)
    text = written(folder)
    assert "3 of 4.5 at PEAK\n" in text
    assert "FileNotFoundError [2]\n" in text
    assert "test_diagnostics.py:" in text
    assert "/nowhere" not in text


def test_a_way_through_the_program_is_told_within_it(folder: Path) -> None:
    try:
        parse("Smith", Dimension.PRESSURE)
    except UnitError:
        logging.getLogger("gaugebench").exception("no number")
    text = written(folder)
    assert re.search(r"^  gaugebench.quantity\.py:\d+ in parse$", text, re.MULTILINE)
    assert "Smith" not in text
    assert str(ROOT) not in text


def test_folders_above_the_program_are_not_told_whatever_they_are_called() -> None:
    code = compile("1 / 0", "/home/Smith/gaugebench/Smith/gaugebench/desk/window.py", "exec")
    with pytest.raises(ZeroDivisionError) as caught:
        exec(code)  # noqa: S102 - our own line, so that it comes from a file of that name
    assert diagnostics.way(caught.value)[-2].startswith("  gaugebench/desk/window.py:1")


def test_a_cause_is_shown_before_what_it_led_to(folder: Path) -> None:
    try:
        try:
            fail("x")
        except ValueError as fault:
            raise RecordError("Smith's disk is full.") from fault
    except RecordError:
        logging.getLogger("gaugebench").exception("stopped")
    lines = written(folder)
    assert lines.index("ValueError") < lines.index("which led to") < lines.index("RecordError")
    assert "Smith" not in lines


def test_what_the_program_vouches_for_passes_without_quotations_and_paths(folder: Path) -> None:
    said = diagnostics.plain("no plugin 'Smith' in /home/smith/x nor C:\\Smith, /dev/ttyUSB0 lost")
    logging.getLogger("gaugebench.desk").warning("%s", said)
    assert "no plugin ‹quoted› in ‹path› nor ‹path› /dev/ttyUSB0 lost" in written(folder)


def test_an_error_that_ends_the_program_or_a_thread_is_noted(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    passed_on: list[object] = []
    diagnostics.stop()
    monkeypatch.setattr(sys, "excepthook", lambda *about: passed_on.append(about[0]))
    monkeypatch.setattr(threading, "excepthook", lambda what: passed_on.append(what.exc_type))
    diagnostics.start(folder)
    thread = threading.Thread(target=fail, args=("Smith",))
    thread.start()
    thread.join()
    error = ValueError("Smith")
    sys.excepthook(ValueError, error, None)
    assert passed_on == [ValueError, ValueError]
    text = written(folder)
    assert "a thread ended by an error" in text
    assert "the program ended by an error" in text
    assert "Smith" not in text


def test_it_rotates_and_keeps_a_bounded_amount(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = logging.getLogger("gaugebench")
    for number in range(30_000):
        log.info("a line of some length that fills the file, number %d, and then some", number)
    sizes = [path.stat().st_size for path in folder.iterdir()]
    assert len(sizes) == diagnostics.KEPT + 1
    assert max(sizes) <= diagnostics.MAX_BYTES


def test_only_its_owner_can_read_it(folder: Path) -> None:
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / diagnostics.NAME).stat().st_mode) == 0o600


def test_a_place_that_cannot_be_written_gives_no_log_and_no_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert diagnostics.start(tmp_path / "file" / "below") is None


def test_no_home_gives_no_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("XDG_STATE_HOME", raising=False)
    monkeypatch.setattr("os.path.expanduser", lambda path: path)  # what it does without a home
    assert diagnostics.start() is None
    assert list(tmp_path.iterdir()) == []


def test_stopping_puts_everything_back(tmp_path: Path) -> None:
    before = (sys.excepthook, threading.excepthook, logging.getLogger("gaugebench").handlers[:])
    diagnostics.start(tmp_path)
    diagnostics.stop()
    assert (sys.excepthook, threading.excepthook) == before[:2]
    assert logging.getLogger("gaugebench").handlers == before[2]


def test_one_file_to_send_holds_what_runs_here_and_the_log(folder: Path, tmp_path: Path) -> None:
    logging.getLogger("gaugebench").warning("seen %d", 7)
    sent = diagnostics.gather(tmp_path / "to send.txt", folder).read_text(encoding="utf-8")
    assert sent.startswith("gaugebench ")
    assert "numpy " in sent
    assert "seen 7" in sent
    with pytest.raises(RecordError, match=r"“.*to send\.txt”"):
        diagnostics.gather(tmp_path / "to send.txt", folder)


def test_what_is_sent_holds_every_older_file_the_oldest_first(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    diagnostics.stop()
    monkeypatch.setattr(diagnostics, "MAX_BYTES", 200)
    diagnostics.start(folder)
    for number in range(12):
        logging.getLogger("gaugebench").info(
            "number %d of a dozen, and words to fill a file", number
        )
    sent = diagnostics.gather(tmp_path / "log.txt", folder).read_text(encoding="utf-8")
    seen = [int(n) for n in re.findall(r"number (\d+) of a dozen", sent)]
    assert len(list(folder.iterdir())) == diagnostics.KEPT + 1
    assert len(seen) > diagnostics.KEPT
    assert seen == list(range(seen[0], 12))


def test_no_message_in_the_program_is_put_together_from_values() -> None:
    """`log.info(f"…{name}")` would let text pass as the program's own; it must be an argument."""
    rooms = ("gaugebench", "drivers/gaugebench_drivers")
    loose = [
        f"{path.name}:{getattr(node, 'lineno', 0)}"
        for room in rooms
        for path in (ROOT / room).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if is_loose(node)
    ]
    assert loose == []
    assert is_loose(ast.parse("log.info(f'{name}')").body[0].value)  # type: ignore[attr-defined]


def is_loose(node: ast.AST) -> bool:
    if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
        return False
    name, owner = node.func.attr, ast.unparse(node.func.value)
    is_log = owner.endswith(("log", "logger")) or owner.startswith("logging")
    if not is_log or name not in {"debug", "info", "warning", "error", "exception", "critical"}:
        return False
    return not (node.args and isinstance(node.args[0], ast.Constant))
