"""A driver's options as a form: what it is about in the language spoken, what is wrong in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QFormLayout, QLabel, QLineEdit
from pytestqt.qtbot import QtBot

from gaugebench.acquire.registry import all_drivers
from gaugebench.desk.hookup.optionform import OptionForm
from gaugebench.desk.words import catalogue, speak
from gaugebench.driver import Driver
from gaugebench.errors import KitError


def _driver(name: str) -> Driver[Any]:
    return next(d for d in all_drivers() if d.name == name)


@pytest.fixture
def german() -> Iterator[None]:
    speak("de")
    yield
    speak("en")


def _choices(annotation: Any) -> list[str]:
    found = [str(a) for a in get_args(annotation)] if get_origin(annotation) is Literal else []
    return found + [c for part in get_args(annotation) for c in _choices(part)]


def test_every_driver_of_ours_is_told_in_german() -> None:
    german = catalogue("de")
    for driver in all_drivers():
        assert driver.summary in german, driver.name
        for name, info in driver.options.model_fields.items():
            assert name.replace("_", " ") in german, (driver.name, name)
            assert info.description in german, (driver.name, name)
            for choice in _choices(info.annotation):
                is_word = len(choice) > 2 and choice.isalpha()
                assert not is_word or {choice, f"{name}: {choice}"} & set(german), choice


@pytest.mark.usefixtures("german")
def test_the_form_speaks_german(qtbot: QtBot) -> None:
    form = OptionForm(_driver("text-lines").options, ["/dev/ttyUSB0"])
    qtbot.addWidget(form)
    layout = form.layout()
    assert isinstance(layout, QFormLayout)
    label = layout.labelForField(form.fields["parity"])
    assert isinstance(label, QLabel)
    assert label.text() == "Parität"
    box = form.fields["parity"]
    assert isinstance(box, QComboBox)
    assert [box.itemText(n) for n in range(box.count())] == ["keine", "gerade", "ungerade"]
    assert form.values() == {"port": "/dev/ttyUSB0"}
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Down)
    assert form.values()["parity"] == "even"  # what is handed to the driver is its own word


def test_what_is_missing_or_wrong_is_said_by_name(qtbot: QtBot) -> None:
    form = OptionForm(_driver("text-lines").options, [])
    qtbot.addWidget(form)
    with pytest.raises(KitError, match=r"^port is needed: fill it in\.$"):
        form.values()
    port = form.fields["port"]
    assert isinstance(port, QComboBox)
    port.setEditText("COM7")
    every = form.fields["query_every_s"]
    assert isinstance(every, QLineEdit)
    QTest.keyClicks(every, "often")
    with pytest.raises(KitError, match="query every s: "):
        form.values()


def test_an_option_that_is_a_list_of_tables_is_for_the_kit_file(qtbot: QtBot) -> None:
    form = OptionForm(_driver("modbus-rtu").options, ["COM7"])
    qtbot.addWidget(form)
    assert not form.fields["device"].isEnabled()
    with pytest.raises(KitError, match="kit file"):
        form.values()
