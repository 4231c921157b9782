"""The practice machine's cab and screws: levers, engine, switches; pins and screws to turn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.live.byhand import ENDS, HELD
from gaugebench.desk.live.lever import FULL, Lever
from gaugebench.desk.live.work import Work
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.model.job import Hands
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    from gaugebench.simulate.source import MachineSource

STEPS = (-90, -30, 30, 90)
"""How far a screw is turned at a time, degrees; in is positive."""


class CabPane(QWidget):
    """What the operator has under his hands. Out of reach while hands are in, but the engine."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._machine: MachineSource | None = None
        self.note = QLabel(
            tr("HANDS IN: the lever lock is on. Switch to under load in the Worksheet.")
        )
        self.note.setWordWrap(True)
        self.note.hide()
        self.hint = QLabel(tr("Hold a lever to push it; it springs back when it is let go."))
        self.hint.setWordWrap(True)
        self.levers = {
            name: Lever(tr(name), (tr(left), tr(right)), theme)
            for name, (left, right) in ENDS.items()
        }
        self.stay = QCheckBox(tr("Levers stay where they are put"))
        self.engine = {
            "off": button(tr("Stopped"), tr("Stop the engine"), is_switch=True),
            "low": button(tr("Low idle"), tr("Engine at low idle"), is_switch=True),
            "high": button(tr("High idle"), tr("Engine at high idle"), is_switch=True),
        }
        self._group = QButtonGroup(self)
        for each in self.engine.values():
            each.setProperty("narrow", True)  # noqa: FBT003 - Qt takes it so
            self._group.addButton(each)
        self.switches = {
            "cut-off": QCheckBox(tr("Cut-off test switch: cancelled")),
            "boost": QCheckBox(tr("Power boost")),
            "travel speed": QCheckBox(tr("High travel speed")),
        }
        self.tank = QLabel()
        self._lay_out()
        for name, lever in self.levers.items():
            lever.valueChanged.connect(lambda value, n=name: self._push(n, value))
        self.stay.toggled.connect(self._stay)
        for key, each in self.engine.items():
            each.clicked.connect(lambda _=False, k=key: self._engine(k))
        for what, box in self.switches.items():
            box.toggled.connect(lambda on, w=what: self._switch(w, on))

    def show_machine(self, machine: MachineSource | None) -> None:
        """Take this machine's levers in hand, in neutral; engine and switches as they stand."""
        self._machine = machine
        for lever in self.levers.values():
            lever.let_go()
        if machine is None:
            return
        performance = machine.performance
        demand, engine = performance.machine.demand, performance.plant.engine
        is_low = demand.no_load_rpm < (engine.low_idle + engine.high_idle) / 2
        key = "off" if performance.is_off else "low" if is_low else "high"
        self.engine[key].setChecked(True)
        stands = {"cut-off": not demand.cut_off, "boost": demand.boost, "travel speed": demand.fast}
        for what, box in self.switches.items():
            box.blockSignals(True)  # noqa: FBT003 - Qt takes it so
            box.setChecked(stands[what])
            box.blockSignals(False)  # noqa: FBT003 - Qt takes it so

    def renew(self, work: Work | None, shown: Shown) -> None:
        """The tank's gauge, and what is out of reach in this state of the work."""
        if self._machine is None:
            return
        celsius = self._machine.performance.machine.reading().celsius
        self.tank.setText(
            tr("Tank gauge: {celsius}", celsius=shown.text(celsius, Dimension.TEMPERATURE, 0))
        )
        is_locked = work is not None and work.hands is Hands.IN
        self.note.setVisible(is_locked)
        for lever in self.levers.values():
            if is_locked and lever.value():
                lever.let_go()
            lever.setEnabled(not is_locked)

    def _push(self, name: str, value: int) -> None:
        if self._machine is not None and self._machine.hands is not None:
            self._machine.hands.lever(name, value / FULL)

    def _stay(self, on: bool) -> None:
        for lever in self.levers.values():
            lever.stays = on
            if not on:
                lever.let_go()

    def _engine(self, key: str) -> None:
        machine = self._machine
        if machine is not None and machine.hands is not None:
            engine = machine.performance.plant.engine
            speeds = {"off": 0.0, "low": engine.low_idle, "high": engine.high_idle}
            machine.hands.switch("engine", speeds[key])

    def _switch(self, what: str, on: bool) -> None:
        if self._machine is not None and self._machine.hands is not None:
            self._machine.hands.switch(what, float(not on if what == "cut-off" else on))

    def _lay_out(self) -> None:
        engine = QHBoxLayout()
        for each in self.engine.values():
            engine.addWidget(each, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 6, 8, 6)
        column.setSpacing(4)
        column.addWidget(self.note)
        column.addLayout(engine)
        for part in (*self.levers.values(), self.hint, self.stay, *self.switches.values()):
            column.addWidget(part)
        column.addWidget(self.tank)
        column.addStretch(1)


class ScrewPane(QWidget):
    """Screws and pins: hands in only. Turns are counted from how the machine was found."""

    def __init__(self) -> None:
        super().__init__()
        self._machine: MachineSource | None = None
        self._turned: dict[str, int] = {}
        self.note = QLabel()
        self.note.setWordWrap(True)
        self.screw = QComboBox()
        self.screw.setAccessibleName(tr("Screw"))
        self.steps: dict[int, QPushButton] = {}
        for degrees in STEPS:
            way = tr("inwards") if degrees > 0 else tr("outwards")
            says = tr("Turn the chosen screw {degrees}° {way}", degrees=abs(degrees), way=way)
            self.steps[degrees] = button(f"{abs(degrees)}° {way}", says)
        self.turned = QLabel()
        self.turned.setWordWrap(True)
        self.pins = {
            name: QCheckBox(tr("{function} held fast", function=tr(name).capitalize()))
            for name in HELD
        }
        self._lay_out()
        for degrees, each in self.steps.items():
            each.clicked.connect(lambda _=False, d=degrees: self._turn(d))
        for name, box in self.pins.items():
            box.toggled.connect(lambda on, n=name: self._pin(n, on))

    def show_machine(self, machine: MachineSource | None, *, is_known: bool = False) -> None:
        """Turn this machine's screws, none of which has been touched unless it is known."""
        self._machine = machine
        if is_known:
            return
        self._turned = {}
        self.screw.clear()
        for box in self.pins.values():
            box.blockSignals(True)  # noqa: FBT003 - Qt takes it so
            box.setChecked(False)
            box.blockSignals(False)  # noqa: FBT003 - Qt takes it so
        if machine is not None:
            from gaugebench.simulate.screws import SCREWS

            ports = [f"port {name} {side}" for name in ENDS for side in "ab"]
            for name in (*SCREWS, *ports):
                self.screw.addItem(_screw_title(name), name)
        self._tell()

    def renew(self, work: Work | None) -> None:
        """Out of reach under load: nobody is at the screws then."""
        is_away = work is not None and work.hands is Hands.UNDER_LOAD
        words = tr("SIMULATED machine. Every turn belongs in the Worksheet's log too.")
        if is_away:
            words = tr("UNDER LOAD: nobody is at the screws. Switch to hands in first.")
        if words != self.note.text():
            self.note.setText(words)
        for part in (*self.steps.values(), *self.pins.values()):
            part.setEnabled(not is_away)

    def _turn(self, degrees: int) -> None:
        machine, name = self._machine, self.screw.currentData()
        if machine is not None and machine.hands is not None and name:
            machine.hands.turn(name, degrees / 360)
            self._turned[name] = self._turned.get(name, 0) + degrees
            self._tell()

    def _pin(self, name: str, on: bool) -> None:
        if self._machine is not None and self._machine.hands is not None:
            self._machine.hands.pin(name, is_held=on)

    def _tell(self) -> None:
        parts = [
            tr("{screw}: {degrees}° {way}", screw=_screw_title(name), degrees=abs(total),
               way=tr("inwards") if total > 0 else tr("outwards"))
            for name, total in self._turned.items() if total
        ]  # fmt: skip
        self.turned.setText("\n".join(parts) or tr("No screw stands other than it was found."))

    def _lay_out(self) -> None:
        row = QGridLayout()
        for place, each in enumerate(self.steps.values()):
            row.addWidget(each, place // 2, place % 2)
        column = QVBoxLayout(self)
        column.addWidget(self.note)
        column.addWidget(self.screw)
        column.addLayout(row)
        column.addWidget(self.turned)
        for box in self.pins.values():
            column.addWidget(box)
        column.addStretch(1)


class Scrolled(QScrollArea):
    """A pane that scrolls where the screen is low."""

    def __init__(self, content: QWidget, says: str) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setAccessibleName(says)
        self.setWidget(content)


def _screw_title(name: str) -> str:
    """A screw by the name that a machine sheet gives it, for example “port travel left a”."""
    if name.startswith("port "):
        function, _, side = name.removeprefix("port ").rpartition(" ")
        return tr("port {function} {side}", function=tr(function), side=side)
    return tr(name)
