"""One channel's particulars: role, transducer, zero."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QFormLayout, QLineEdit, QWidget

from gaugebench.desk.hookup.draft import Draft, Place
from gaugebench.desk.words import tr
from gaugebench.model.conditioning import Wiring
from gaugebench.model.role import ControlPort
from gaugebench.quantity import Reference

ROLES = (
    "", "pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control", "load_sense",
    "travel_pilot.left", "travel_pilot.right", "return.pressure", "case.pressure",
    "case_drain.flow", "psv.pressure", "psv.current", "engine.speed", "oil.temperature",
)  # fmt: skip
_TEXTS: tuple[tuple[str, str, str], ...] = (
    ("input", "Input", "P1"),
    ("unit", "Unit", "V, mA, bar, rpm …"),
    ("scale", "One count is", "1"),
    ("low", "Range from", "0 bar"),
    ("high", "Range to", "600 bar"),
    ("proof", "Proof", "1200 bar"),
    ("burst", "Burst", "2000 bar"),
    ("accuracy_pct_fs", "Accuracy, %", "0.5"),
    ("serial", "Serial", ""),
    ("calibrated_on", "Calibrated on", "2026-03-31"),
    ("zero", "Zero", "0 bar"),
    ("fitting", "Fitting", "adapter, hose bore and length"),
)
_CHOICES: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("role", "Measures", ROLES),
    ("control_port", "Control port", tuple(p.value for p in ControlPort)),
    ("signal", "Signal", tuple(w.value for w in Wiring)),
    ("reference", "Reference", tuple(r.value for r in Reference)),
)
_NUMBERS = {"scale", "accuracy_pct_fs"}
_DEFAULTS = {"control_port": "unknown", "signal": "direct", "reference": "gauge"}


class ChannelForm(QWidget):
    """A form over one channel of a draft; what is entered is in the draft at once."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._draft: Draft | None = None
        self._place: Place | None = None
        self.lines: dict[str, QLineEdit] = {}
        self.boxes: dict[str, QComboBox] = {}
        form = QFormLayout(self)
        form.setContentsMargins(0, 0, 0, 0)
        for key, title, choices in _CHOICES:
            box = QComboBox()
            box.addItems([c if c else tr("no role") for c in choices])
            box.setAccessibleName(tr(title))
            box.activated.connect(lambda _=0, k=key: self._chosen(k))
            self.boxes[key] = box
            form.addRow(tr(title), box)
        for key, title, example in _TEXTS:
            line = QLineEdit()
            line.setPlaceholderText(example)
            line.setAccessibleName(tr(title))
            line.editingFinished.connect(lambda k=key: self._typed(k))
            self.lines[key] = line
            form.addRow(tr(title), line)

    def show_channel(self, draft: Draft, place: Place | None) -> None:
        """Show a channel, or none."""
        self._draft, self._place = draft, place
        self.setEnabled(place is not None)
        data: dict[str, Any] = draft.channel(place) if place is not None else {}
        ends = data.get("range") or ("", "")
        for key, line in self.lines.items():
            value = {"low": ends[0], "high": ends[1]}.get(key, data.get(key, ""))
            line.setText(str(value))
        for key, box in self.boxes.items():
            text = str(data.get(key, _DEFAULTS.get(key, "")))
            box.setCurrentIndex(max(box.findText(text), 0))

    def _chosen(self, key: str) -> None:
        if self._draft is None or self._place is None:
            return
        box = self.boxes[key]
        text = "" if key == "role" and box.currentIndex() == 0 else box.currentText()
        self._draft.set(self._place, key, "" if text == _DEFAULTS.get(key) else text)
        self.changed.emit()

    def _typed(self, key: str) -> None:
        if self._draft is None or self._place is None:
            return
        text = self.lines[key].text().strip()
        value: object = text
        if key in {"low", "high"}:
            ends = [self.lines[end].text().strip() for end in ("low", "high")]
            key, value = "range", (ends if all(ends) else "")
        elif key in _NUMBERS and text:
            value = text.replace(",", ".")  # checked by the kit, which names what is no number
        before = self._draft.channel(self._place).get(key, "")
        if before != value and list(before) != value:
            self._draft.set(self._place, key, value)
            self.changed.emit()
