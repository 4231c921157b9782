"""Which channel plays which role, for traces that do not say it themselves."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QFormLayout, QLabel, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.names import role_title
from gaugebench.desk.words import tr
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace
from gaugebench.quantity import Dimension

OFFERED = (
    "pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control", "load_sense",
    "travel_pilot.left", "travel_pilot.right", "return.pressure", "case.pressure",
    "psv.pressure", "psv.current", "case_drain.flow", "engine.speed", "oil.temperature",
)  # fmt: skip


def offered(dimension: Dimension) -> list[Role]:
    """The roles that a channel of this kind can play."""
    return [role for role in map(Role, OFFERED) if role.dimension is dimension]


class RolesForm(QWidget):
    """One row for each channel that can play a role."""

    apply = Signal(object)
    """Take the figures with these roles: channel name to `Role`, None for none."""

    def __init__(self) -> None:
        super().__init__()
        self.boxes: dict[str, QComboBox] = {}
        self._rows = QWidget()
        hint = QLabel(tr("Say what each channel measures; figures need a main pressure."))
        hint.setWordWrap(True)
        self.apply_button = button(tr("Use these roles"), tr("Take figures with these roles"))
        self.apply_button.clicked.connect(self._apply)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addWidget(hint)
        self._column.addWidget(self._rows)
        self._column.addWidget(self.apply_button)
        self._column.addStretch(1)

    def show_trace(self, trace: Trace) -> None:
        """Offer the channels of a trace."""
        self.boxes = {}
        rows = QWidget()
        form = QFormLayout(rows)
        form.setContentsMargins(0, 0, 0, 0)
        for series in trace.series:
            channel = series.channel
            roles = offered(channel.dimension)
            if not roles:
                continue
            box = QComboBox()
            box.setAccessibleName(tr("Role of {channel}", channel=channel.name))
            box.addItem(tr("no role"), None)
            for role in roles:
                box.addItem(role_title(role), role.name)
            now = channel.role.name if channel.role is not None else None
            box.setCurrentIndex(max(box.findData(now), 0))
            self.boxes[channel.name] = box
            form.addRow(channel.name, box)
        self._column.replaceWidget(self._rows, rows)
        self._rows.deleteLater()
        self._rows = rows
        self.apply_button.setEnabled(bool(self.boxes))

    def _apply(self) -> None:
        chosen: dict[str, Role | None] = {}
        for name, box in self.boxes.items():
            data = box.currentData()
            chosen[name] = Role(str(data)) if data is not None else None
        self.apply.emit(chosen)
