"""What the desk remembers from one start to the next."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

MOST_RECENT = 8


class Memory:
    """Units, theme, language, recent files, the window's place."""

    def __init__(self, settings: QSettings | None = None) -> None:
        # The format is named, so that a test's own is kept to.
        self._settings = settings or QSettings(
            QSettings.defaultFormat(), QSettings.Scope.UserScope, "Gaugebench", "Gaugebench"
        )

    def text(self, key: str, fallback: str) -> str:
        """A remembered word."""
        return str(self._settings.value(key, fallback))

    def keep(self, key: str, value: str) -> None:
        """Remember a word."""
        self._settings.setValue(key, value)

    @property
    def recent(self) -> list[Path]:
        """Traces opened lately, newest first."""
        return self._paths("recent")

    def opened(self, path: Path) -> None:
        """A trace was opened."""
        self._keep_path("recent", path)

    @property
    def kits(self) -> list[Path]:
        """Kit files used lately, newest first."""
        return self._paths("kits")

    def kit_used(self, path: Path) -> None:
        """A kit file was opened or saved."""
        self._keep_path("kits", path)

    def _paths(self, key: str) -> list[Path]:
        found = self._settings.value(key)
        # A list of one comes back as a word from some stores.
        names = found if isinstance(found, list) else [found] if found else []
        return [Path(str(name)) for name in names]

    def _keep_path(self, key: str, path: Path) -> None:
        newest = [path.resolve(), *(p for p in self._paths(key) if p != path.resolve())]
        self._settings.setValue(key, [str(p) for p in newest[:MOST_RECENT]])

    def keep_place(self, geometry: QByteArray) -> None:
        """Remember where the window was."""
        self._settings.setValue("place", geometry)

    @property
    def place(self) -> QByteArray | None:
        """Where the window was."""
        found = self._settings.value("place")
        return found if isinstance(found, QByteArray) else None
