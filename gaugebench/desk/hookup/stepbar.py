"""The steps of a hook-up along the top: which there are, which is in sight, which are done."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QSizePolicy, QToolButton, QWidget

from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.words import tr


class StepBar(QWidget):
    """One button a step; any may be pressed at any time."""

    chosen = Signal(object)
    """The `Stage` that is wanted."""

    def __init__(self) -> None:
        super().__init__()
        self.buttons: dict[Stage, QToolButton] = {}
        self._marks: dict[Stage, str] = {}
        group = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for stage in Stage:
            made = QToolButton()
            made.setCheckable(True)
            made.setProperty("narrow", True)  # noqa: FBT003 - Qt takes it so
            made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            made.clicked.connect(lambda _=False, s=stage: self.chosen.emit(s))
            group.addButton(made)
            row.addWidget(made, 1)
            self.buttons[stage] = made
            self.mark(stage, "")
        self.buttons[Stage.KIT].setChecked(True)

    @property
    def current(self) -> Stage:
        """The step in sight."""
        return next(s for s, b in self.buttons.items() if b.isChecked())

    def show_stage(self, stage: Stage) -> None:
        """Another step is in sight."""
        self.buttons[stage].setChecked(True)

    def mark(self, stage: Stage, mark: str) -> None:
        """Show how a step stands: `✓`, `STOP`, or nothing."""
        if self._marks.get(stage) == mark:
            return
        self._marks[stage] = mark
        number = list(Stage).index(stage) + 1
        text = f"{number}  {tr(stage.value)}"
        self.buttons[stage].setText(f"{text}  {mark}" if mark else text)
        said = {"✓": tr("done")}.get(mark, mark)
        self.buttons[stage].setAccessibleName(
            tr("Step {number}: {what}", number=number, what=tr(stage.value))
            + f", {said}".rstrip(", ")
        )
