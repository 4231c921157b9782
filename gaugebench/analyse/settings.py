"""What a user may set about the analysis; the defaults need no touching."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Sense(StrEnum):
    """Which way the control pressure moves when the pump is brought to full stroke and back."""

    AUTO = "auto"
    """Inferred from the trace: the way the control pressure goes when its pump is loaded."""
    FALLING = "falling"
    """Falling control pressure de-strokes the pump."""
    RISING = "rising"
    """Rising control pressure de-strokes the pump."""


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings; they travel with the figures.

    settle_share: half-width of the settling band as a share of the settled value (0.02 is ± 2 %),
        above 0 and at most 0.2.
    control_sense: which way the control pressure de-strokes.
    smoothing_s: width (s) of the smoothing that takes pump ripple and noise out of a peak; None
        derives it from the ripple and the rise; 0 takes samples as they are.
    sync_share: half-width of the band of “pumps in sync” as a share of the higher settled pressure.
    """

    settle_share: float = 0.02
    control_sense: Sense = Sense.AUTO
    smoothing_s: float | None = None
    sync_share: float = 0.03

    def __post_init__(self) -> None:
        if not 0 < self.settle_share <= 0.2:
            raise ValueError("the share for settling is above 0 and at most 0.2")
        if not 0 < self.sync_share <= 0.5:
            raise ValueError("the band of sync is above 0 and at most 0.5")
        if self.smoothing_s is not None and not 0 <= self.smoothing_s <= 1:
            raise ValueError("the smoothing is 0 to 1 s")

    def as_mapping(self) -> dict[str, float | str]:
        """The settings as they are kept beside the figures."""
        return {
            "settle_share": self.settle_share,
            "control_sense": self.control_sense.value,
            "smoothing_s": "auto" if self.smoothing_s is None else self.smoothing_s,
            "sync_share": self.sync_share,
        }

    @staticmethod
    def from_mapping(kept: Mapping[str, float | str]) -> Settings:
        """The settings as figures keep them; what they do not name stands at its default.

        Raises `ValueError` where one is not what it can be.
        """
        usual = Settings().as_mapping()
        said = {**usual, **{name: kept[name] for name in usual if name in kept}}
        smoothing = said["smoothing_s"]
        return Settings(
            settle_share=float(said["settle_share"]),
            control_sense=Sense(str(said["control_sense"])),
            smoothing_s=None if smoothing == "auto" else float(smoothing),
            sync_share=float(said["sync_share"]),
        )
