"""One channel's particulars: port, signal, transducer, fitting."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from gaugebench.desk.hookup import fields
from gaugebench.desk.hookup.draft import Draft, Place
from gaugebench.desk.hookup.fields import Choice, Line, Part
from gaugebench.desk.hookup.fitting import Fitting
from gaugebench.desk.words import tr
from gaugebench.model.conditioning import Wiring
from gaugebench.quantity import Number


class ChannelForm(QWidget):
    """A form over one channel of a draft; what is entered is in the draft at once."""

    changed = Signal()
    trouble = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._draft: Draft | None = None
        self._place: Place | None = None
        self.lines: dict[str, QLineEdit] = {}
        self.boxes: dict[str, QComboBox] = {}
        self._choices = {choice.key: choice for choice in fields.choices()}
        self._parts: dict[Part, QWidget] = {}
        self._forms: dict[Part, QFormLayout] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 6, 0)
        self.which = QLabel()
        self.which.setWordWrap(True)
        column.addWidget(self.which)
        for part in Part:
            column.addWidget(self._part(part))
        column.addStretch(1)

    def show_parts(self, parts: Collection[Part]) -> None:
        """Show these parts of the form alone."""
        for part, widget in self._parts.items():
            widget.setVisible(part in parts)

    def show_channel(self, draft: Draft, place: Place | None, title: str = "") -> None:
        """Show a channel, or none. title: what it is called in the table."""
        self._draft, self._place = draft, place
        self.setEnabled(place is not None)
        self.which.setText(title or tr("Choose a port in the table to fill in its particulars."))
        data: dict[str, Any] = draft.channel(place) if place is not None else {}
        ends = data.get("range") or ("", "")
        fitting = Fitting.of(str(data.get("fitting", "")))
        known: dict[str, object] = {
            **data,
            "low": ends[0],
            "high": ends[1],
            "most": draft.most_text(place) if place is not None else "",
            **{key: getattr(fitting, key) for key in fields.FITTING},
        }
        for key, line in self.lines.items():
            line.setText(str(known.get(key, "")))
        for key, box in self.boxes.items():
            box.setCurrentIndex(max(box.findData(str(data.get(key, self._default(key)))), 0))
        self._show_what_matters(data)

    def _show_what_matters(self, data: dict[str, Any]) -> None:
        """A bridge's rows belong to a bridge, a control port to a control pressure."""
        signal = str(data.get("signal", self._default("signal")))
        form = self._forms[Part.SIGNAL]
        for key in fields.OF_BRIDGE:
            form.setRowVisible(self.lines[key], signal == Wiring.BRIDGE.value)
        form.setRowVisible(self.lines["supply"], signal in fields.FED)
        is_control = str(data.get("role", "")).endswith(".control")
        self._forms[Part.PORT].setRowVisible(self.boxes["control_port"], is_control)

    def _chosen(self, key: str) -> None:
        if self._draft is None or self._place is None:
            return
        value = str(self.boxes[key].currentData())
        if key == "signal":
            self._draft.drop(self._place, self._no_longer_said(value))
        self._draft.set(self._place, key, "" if value == self._default(key) else value)
        self._show_what_matters(self._draft.channel(self._place))
        self.changed.emit()

    def _no_longer_said(self, signal: str) -> set[str]:
        """What a channel cannot state with this signal, so that it is no fault in the kit."""
        gone = set() if signal == Wiring.BRIDGE.value else set(fields.OF_BRIDGE)
        return gone if signal in fields.FED else gone | {"supply"}

    def _typed(self, key: str) -> None:
        if self._draft is None or self._place is None:
            return
        text = self.lines[key].text().strip()
        value: object = text
        if key == "most":
            if text != self._draft.most_text(self._place):
                self._draft.set_most(self._place, text)
                self.changed.emit()
            return
        if key in fields.FITTING:
            fitting = Fitting(**{k: self.lines[k].text().strip() for k in fields.FITTING})
            if fitting.fault:
                self.trouble.emit(fitting.fault)
            key, value = "fitting", fitting.text
        elif key in {"low", "high"}:
            ends = [self.lines[end].text().strip() for end in ("low", "high")]
            key, value = "range", (ends if all(ends) else "")
        elif key in fields.NUMBERS and text:
            value = text.replace(",", ".")  # checked by the kit, which names what is no number
        if not _is_same(self._draft.channel(self._place).get(key, ""), value):
            self._draft.set(self._place, key, value)
            self.changed.emit()

    def _default(self, key: str) -> str:
        return self._choices[key].default

    def _part(self, part: Part) -> QWidget:
        box = QWidget()
        form = QFormLayout(box)
        form.setContentsMargins(0, 0, 0, 0)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
        heading = QLabel(tr(part.value))
        heading.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        form.addRow(heading)
        self._parts[part], self._forms[part] = box, form
        for choice in self._choices.values():
            if choice.part is part:
                form.addRow(tr(choice.title), self._box(choice))
        for line in fields.LINES:
            if line.part is part:
                form.addRow(tr(line.title), self._line(line))
        return box

    def _box(self, choice: Choice) -> QComboBox:
        box = QComboBox()
        for value, words in choice.choices:
            box.addItem(words, value)
        box.setMinimumContentsLength(12)
        box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        box.setAccessibleName(tr(choice.title))
        box.activated.connect(lambda _=0, k=choice.key: self._chosen(k))
        self.boxes[choice.key] = box
        return box

    def _line(self, line: Line) -> QLineEdit:
        made = QLineEdit()
        # An example must not be taken for what is stated.
        example = tr("e.g. {value}", value=Number(line.example))
        made.setPlaceholderText(tr(line.example) if line.is_said else example)
        made.setAccessibleName(tr(line.title))
        made.editingFinished.connect(lambda k=line.key: self._typed(k))
        self.lines[line.key] = made
        return made


def _is_same(before: object, now: object) -> bool:
    """Whether what is typed is what stands there: a range is a list or tuple, a date is text."""
    if isinstance(before, (list, tuple)) and isinstance(now, list):
        return [str(part) for part in before] == now
    return str(before) == str(now)
