"""What says that nothing in sight was measured on a machine."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from gaugebench.desk.words import tr


class SimulatedBanner(QLabel):
    """Hidden where nothing is simulated."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("simulated", True)  # noqa: FBT003 - Qt takes it so
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)

    def show_state(self, *, is_simulated: bool, shows_simulated: bool) -> None:
        """is_simulated: the kit that is open. shows_simulated: what stands in sight."""
        self.setVisible(is_simulated or shows_simulated)
        self.setText(
            tr("SIMULATED: nothing here was measured on a machine")
            if shows_simulated
            else tr("The kit that is open is SIMULATED; what is shown here is not")
        )
