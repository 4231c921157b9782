"""The kits used lately, and where a kit is saved without being asked. No Qt but the memory's."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gaugebench.desk.hookup.toml import save_kit
from gaugebench.errors import KitError

if TYPE_CHECKING:
    from gaugebench.desk.memory import Memory
    from gaugebench.model.kit import Kit

_UNSAFE = '<>:"/\\|?*'


class Shelf:
    """Kits by their files, newest first."""

    def __init__(self, memory: Memory) -> None:
        self._memory = memory

    @property
    def kits(self) -> list[Path]:
        """The kits used lately that are still there."""
        return [path for path in self._memory.kits if path.is_file()]

    def used(self, path: Path) -> None:
        """A kit was opened or saved."""
        self._memory.kit_used(path)

    def save(self, kit: Kit, own: Path | None) -> Path:
        """Save a kit to its own file, or to one named after it beside the records; where it is.

        A file that is another kit's is never overwritten: a taken name gets a number. Raises
        `KitError`.
        """
        path = own or self._free(kit.name)
        try:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as fault:
            raise KitError(
                f"The folder {path.parent} for kits cannot be made: {fault.strerror}; choose"
                " another folder for records."
            ) from fault
        save_kit(kit, path)
        self.used(path)
        return path

    def _free(self, name: str) -> Path:
        folder = Path(self._memory.text("folder", str(Path.home() / "Gaugebench"))) / "kits"
        stem = "".join("_" if c in _UNSAFE else c for c in name).strip(" .") or "kit"
        numbered = (folder / f"{stem} ({n}).toml" for n in range(2, 1000))
        names = [folder / f"{stem}.toml", *numbered]
        return next(path for path in names if not path.exists())
