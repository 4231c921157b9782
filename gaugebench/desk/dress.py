"""A theme put on the application: palette, and the sizes that a glove needs."""

from __future__ import annotations

from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

from gaugebench.desk.scale import touch
from gaugebench.desk.theme import Theme

_ROLES = QPalette.ColorRole
_SHEET = """
QWidget {{ color: {text}; }}
QToolTip {{ color: {text}; background: {panel}; border: 1px solid {line}; padding: 4px; }}
QMainWindow, QDialog {{ background: {window}; }}
QTabBar::tab {{ min-height: {touch}px; min-width: {wide}px; padding: 0 18px; margin: 0 2px;
  background: {window}; border: {border}px solid {line}; border-bottom: none; font-weight: 600; }}
QTabBar[narrow="true"]::tab {{ padding: 0 8px; min-width: {touch}px; }}
QTabBar::tab:selected {{ background: {accent}; color: {on_accent}; }}
QTabBar::tab:focus {{ text-decoration: underline; }}
QTabBar::scroller {{ width: {twice}px; }}
QTabBar QToolButton {{ min-width: 0; min-height: 0; padding: 0; }}
QTabWidget::pane {{ border: none; border-top: 3px solid {accent}; }}
QComboBox {{ min-height: {inner}px; min-width: {touch}px; background: {panel};
  border: {border}px solid {line}; padding: 2px 8px; }}
QComboBox::drop-down {{ border: none; width: 32px; }}
QComboBox::down-arrow {{ width: 14px; height: 8px;
  background: qconicalgradient(cx:0.5, cy:1, angle:0, stop:0 {panel}, stop:0.175 {panel},
  stop:0.177 {text}, stop:0.323 {text}, stop:0.325 {panel}, stop:1 {panel}); }}
QComboBox::down-arrow:disabled {{ background: {line}; height: 2px; }}
QLineEdit {{ placeholder-text-color: {hint}; }}
QComboBox QLineEdit {{ min-height: 0; border: none; padding: 0; background: transparent; }}
QPushButton, QToolButton, QLineEdit {{
  min-height: {inner}px; background: {panel}; border: {border}px solid {line};
  padding: 2px 12px; }}
QPushButton, QToolButton {{ min-width: {inner}px; font-weight: 600; }}
QPushButton[narrow="true"], QToolButton[narrow="true"] {{ padding: 2px 4px; }}
QPushButton:hover, QToolButton:hover {{ border-color: {accent}; }}
QPushButton:checked, QToolButton:checked {{ background: {accent}; color: {on_accent}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {span}; color: {text}; }}
QPushButton:disabled, QToolButton:disabled, QComboBox:disabled {{ color: {muted};
  border-style: dashed; }}
QPushButton[urgent="true"] {{ background: {alarm}; color: {on_alarm}; border-color: {alarm}; }}
QPushButton[urgent="true"]:disabled {{ background: {panel}; color: {muted};
  border-color: {line}; }}
QPushButton:focus, QToolButton:focus, QLineEdit:focus, QComboBox:focus,
QTableView:focus, QListView:focus, QTreeView:focus, QGraphicsView:focus, QPlainTextEdit:focus {{
  border: 3px solid {accent}; }}
QPushButton:checked:focus, QToolButton:checked:focus {{ border: 3px solid {text}; }}
QComboBox QAbstractItemView::item, QListView::item, QTreeView::item {{ min-height: {touch}px; }}
QListView[quiet="true"]::item {{ min-height: 30px; }}
QTableView, QListView, QTreeView, QPlainTextEdit {{ background: {panel};
  border: {border}px solid {line}; gridline-color: {grid}; alternate-background-color: {window};
  selection-background-color: {span}; selection-color: {text}; }}
QHeaderView::section {{ background: {window}; color: {text}; padding: 6px; border: none;
  border-bottom: 2px solid {line}; font-weight: 600; }}
QMenuBar::item {{ padding: {menu}px 12px; }}
QMenuBar::item:selected {{ background: {accent}; color: {on_accent}; }}
QMenu {{ background: {panel}; border: 1px solid {line}; }}
QMenu::item {{ min-height: {touch}px; padding: 0 32px; }}
QMenu::item:selected {{ background: {accent}; color: {on_accent}; }}
QMenu::item:disabled {{ color: {muted}; }}
QCheckBox, QRadioButton {{ min-height: {touch}px; spacing: 10px; }}
QCheckBox::indicator, QRadioButton::indicator, QListView::indicator {{ width: 20px; height: 20px;
  border: 3px solid {text}; background: {panel}; }}
QRadioButton::indicator {{ border-radius: 13px; }}
QCheckBox::indicator:checked, QRadioButton::indicator:checked, QListView::indicator:checked {{
  background: qradialgradient(cx:0.5, cy:0.5, radius:0.5, fx:0.5, fy:0.5, stop:0 {accent},
  stop:0.78 {accent}, stop:0.8 {panel}, stop:1 {panel}); }}
QCheckBox::indicator:disabled, QListView::indicator:disabled {{ border-color: {muted}; }}
QCheckBox:focus {{ border: 2px solid {accent}; }}
QSlider {{ min-height: {touch}px; }}
QScrollBar {{ background: {window}; border: none; }}
QScrollBar:vertical {{ width: 26px; }}
QScrollBar:horizontal {{ height: 26px; }}
QScrollBar::handle {{ background: {line}; margin: 4px; }}
QScrollBar::handle:vertical {{ min-height: {touch}px; }}
QScrollBar::handle:horizontal {{ min-width: {touch}px; }}
QScrollBar::handle:hover {{ background: {accent}; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: none; }}
QLabel[muted="true"] {{ color: {muted}; }}
QLabel[trouble="true"] {{ background: {alarm}; color: {on_alarm}; padding: 6px 12px;
  font-weight: 700; }}
QLabel[go="true"] {{ background: {accent}; color: {on_accent}; padding: 4px 12px;
  font-weight: 800; }}
QLabel[simulated="true"] {{ background: {simulated}; color: {on_simulated}; padding: 4px 12px;
  font-weight: 800; }}
QLabel[heading="true"] {{ font-weight: 700; font-size: 14pt; }}
QFrame[card="true"] {{ background: {panel}; border: {border}px solid {line}; }}
QSplitter::handle {{ background: {line}; }}
"""


def palette(theme: Theme) -> QPalette:
    """The palette of a theme."""
    made = QPalette()
    for role, colour in (
        (_ROLES.Window, theme.window),
        (_ROLES.WindowText, theme.text),
        (_ROLES.Base, theme.panel),
        (_ROLES.AlternateBase, theme.window),
        (_ROLES.Text, theme.text),
        (_ROLES.Button, theme.panel),
        (_ROLES.ButtonText, theme.text),
        (_ROLES.ToolTipBase, theme.panel),
        (_ROLES.ToolTipText, theme.text),
        (_ROLES.PlaceholderText, theme.hint),
        (_ROLES.Highlight, theme.accent),
        (_ROLES.HighlightedText, theme.on_accent),
        (_ROLES.Link, theme.accent),
    ):
        made.setColor(role, QColor(colour))
    for role in (_ROLES.WindowText, _ROLES.Text, _ROLES.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, role, QColor(theme.muted))
    return made


def sheet(theme: Theme) -> str:
    """The style sheet of a theme, with sizes for this screen."""
    size = touch()
    return _SHEET.format(
        **{name: getattr(theme, name) for name in theme.__slots__},
        touch=size,
        inner=size - 2 * (2 + theme.border_px),
        wide=size,
        twice=2 * size,
        menu=max(4, (size - 24) // 2),
        border=theme.border_px,
    )


def wear(app: QApplication, theme: Theme) -> None:
    """Put a theme on every window of the application."""
    app.setPalette(palette(theme))
    app.setStyleSheet(sheet(theme))
