"""The pane beside the picture: figures, marks, cursors, settings, roles."""

from __future__ import annotations

from PySide6.QtWidgets import QScrollArea, QTabWidget

from gaugebench.desk.review.analysis import AnalysisPane
from gaugebench.desk.review.cursors import CursorPane
from gaugebench.desk.review.marklist import MarkList
from gaugebench.desk.review.rolesform import RolesForm
from gaugebench.desk.review.settingsform import SettingsForm
from gaugebench.desk.words import tr


class SidePane(QTabWidget):
    """Five leaves."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(tr("What is known of the trace"))
        self.tabBar().setProperty("narrow", True)  # noqa: FBT003 - Qt takes it so
        self.analysis = AnalysisPane()
        self.marks = MarkList()
        self.cursors = CursorPane()
        self.settings = SettingsForm()
        self.addTab(self.analysis, tr("Figures"))
        self.addTab(self.marks, tr("Marks"))
        self.addTab(self.cursors, tr("Cursors"))
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(self.settings)
        self.addTab(area, tr("Settings"))
        self.roles = RolesForm()
        roles = QScrollArea()
        roles.setWidgetResizable(True)
        roles.setWidget(self.roles)
        self.addTab(roles, tr("Roles"))
