"""The log to send: Qt's words are in it and nothing of the customer's; one command saves it."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QMessageLogContext, QtMsgType
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from gaugebench import diagnostics
from gaugebench.desk.app import _log_qt
from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow

CUSTOMER = "Smith and Sons"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("HOME", str(tmp_path))
    assert diagnostics.start() is not None
    yield tmp_path
    diagnostics.stop()


def _save(window: DeskWindow, target: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    window.menus.actions["log"].trigger()
    return target.read_text(encoding="utf-8") if target.is_file() else ""


def test_the_log_is_saved_from_the_menu_without_anything_of_the_customer(
    home: Path, qtbot: QtBot, memory: Memory, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = DeskWindow(memory)
    qtbot.addWidget(window)
    window.show()
    said = f"QFont: no such face in '{CUSTOMER}' at /home/{CUSTOMER.split()[0]}/x, 3 tried"
    _log_qt(QtMsgType.QtWarningMsg, QMessageLogContext(), said)
    logging.getLogger("gaugebench.desk").warning("could not read %s", home / CUSTOMER)
    text = _save(window, home / "to send.txt", monkeypatch)
    assert "QFont: no such face in ‹quoted›" in text
    assert "3 tried" in text
    assert "could not read" in text
    assert "numpy " in text
    assert "Smith" not in text
    assert str(home) not in text
    assert "to send.txt" in window.hookup.notice.text
    again = _save(window, home / "to send.txt", monkeypatch)  # the dialog asked before replacing
    assert len(again) >= len(text)
    assert _save(window, home / "nowhere" / "x.txt", monkeypatch) == ""
    assert "choose another place" in window.hookup.notice.text
    window.close()
