"""Step 6: pressure released, read at every test port, and only then the kit is let go."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.parts import heading, said, show_trouble
from gaugebench.desk.hookup.release import PortState, Release
from gaugebench.desk.hookup.stepwise import Stepwise
from gaugebench.desk.words import tr
from gaugebench.procedure import rules

_GUARDED = {"read", "eyes", "caps"}
"""Steps that need every test port to be near zero."""


class ReleasePage(QWidget):
    """The release, one step at a time, held back by what the ports read."""

    otherwise = Signal(bool)
    """The person says that the ports that do not count were proved in another way, or takes it
    back."""

    def __init__(self) -> None:
        super().__init__()
        self._release: Release | None = None
        done = tr("Every port has its cap again. Let the kit go.")
        self.steps = Stepwise(rules.steps("release"), tr("Release"), done)
        self.verdict = said()
        self.proved = button(
            tr("Proved another way"),
            tr("The ports that do not count were proved with a gauge of their own"),
            is_switch=True,
        )
        self.zero_button = button(
            tr("Read zeros again"), tr("Read the zeros after the work; none is taken off")
        )
        self.zeros = said()
        self.disconnect_button = button(tr("Let go"), tr("Close the kit"))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 6, 0)
        column.addWidget(heading(tr("Before anything is unscrewed")))
        for part in (self.steps, self.verdict, self.proved):
            column.addWidget(part)
        column.addWidget(said(tr(rules.deference())))
        column.addStretch(1)
        for part in (self.zero_button, self.zeros, self.disconnect_button):
            column.addWidget(part)
        self.proved.toggled.connect(self._proved)
        self.steps.changed.connect(self._guard)
        self.show_release(None)

    @property
    def is_proved(self) -> bool:
        """Whether every port is near zero, or was proved otherwise; never while one holds."""
        found = self._release
        return found is not None and (
            found.is_released or (self.proved.isChecked() and _may_be_proved(found))
        )

    def show_release(self, found: Release | None) -> None:
        """What the ports read; None where no kit is open."""
        self._release = found
        self.verdict.setText(found.words if found else tr("No kit is open, so nothing is read."))
        show_trouble(self.verdict, is_trouble=found is not None and not found.is_released)
        if self.proved.isChecked() and not (found is not None and _may_be_proved(found)):
            self.proved.setChecked(False)
        self._guard()

    def _proved(self, is_on: bool) -> None:
        self.otherwise.emit(is_on)
        self._guard()

    def _guard(self) -> None:
        step = self.steps.list.current
        is_guarded = step is not None and step.key in _GUARDED
        is_held = is_guarded and not self.is_proved
        found = self._release
        may = is_guarded and found is not None and _may_be_proved(found)
        self.proved.setVisible(may)
        self.steps.hold_back(
            tr("Not before every test port is near zero; the table says which is not.")
            if is_held
            else ""
        )


def _may_be_proved(found: Release) -> bool:
    """Whether what is left to prove is only what the kit cannot tell; a held pressure is none."""
    left = [p for p in found.ports if p is not None and not p.counts]
    return bool(left) and all(p.state is not PortState.HOLDS for p in left)
