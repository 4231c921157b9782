"""A kit being put together: plain data that may not be whole yet. No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from gaugebench.desk.hookup.toml import as_data
from gaugebench.desk.words import tr
from gaugebench.errors import KitError

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit

USUAL_ROLES = ("pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control")
"""What a new source's inputs are taken for, in the usual order of the ports, until changed."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a channel is: which source, and which of its channels."""

    source: int
    channel: int


@dataclass(slots=True)
class Draft:
    """The kit as it stands. `fault`: why it is no kit yet, empty where it is one."""

    data: dict[str, Any] = field(default_factory=lambda: {"schema": 1, "name": "kit", "source": []})
    fault: str = ""
    kit: Kit | None = None

    @staticmethod
    def of(kit: Kit) -> Draft:
        """A draft that begins with a kit."""
        made = Draft(as_data(kit))
        made.check()
        return made

    def check(self) -> None:
        """Say anew whether it is a kit."""
        if not self.data["source"]:
            self.kit, self.fault = None, tr("It has no source.")
            return
        from gaugebench.model.kit import kit_from  # pydantic costs a tenth of the start-up

        try:
            self.kit, self.fault = kit_from(self.data), ""
        except KitError as fault:
            self.kit, self.fault = None, str(fault)

    @property
    def places(self) -> list[Place]:
        """Every channel, in the order of the test ports."""
        return [
            Place(s, c)
            for s, source in enumerate(self.data["source"])
            for c in range(len(source["channel"]))
        ]

    def channel(self, place: Place) -> dict[str, Any]:
        """A channel's data."""
        found: dict[str, Any] = self.data["source"][place.source]["channel"][place.channel]
        return found

    def set(self, place: Place, key: str, value: object) -> None:
        """Set a key of a channel; an empty value takes the key away."""
        channel = self.channel(place)
        if value in ("", None):
            channel.pop(key, None)
        else:
            channel[key] = value
        self.check()

    def add_source(self, driver: str, options: Mapping[str, Any], inputs: int) -> None:
        """Add a source with so many inputs, P1, P2, …"""
        taken = {str(s["name"]) for s in self.data["source"]}
        number = next(n for n in range(1, 1000) if f"source {n}" not in taken)
        used = {str(self.channel(p).get("role")) for p in self.places}
        free = [r for r in USUAL_ROLES if r not in used]
        channels = []
        for place in range(inputs):
            channel: dict[str, Any] = {"input": f"P{place + 1}", "unit": "bar"}
            if place < len(free):
                channel["role"] = free[place]
            channels.append(channel)
        self.data["source"].append(
            {
                "driver": driver,
                "name": f"source {number}",
                "options": dict(options),
                "channel": channels,
            }
        )
        self.check()

    def remove_source(self, index: int) -> None:
        """Take a source away with its channels."""
        del self.data["source"][index]
        self.check()

    def move(self, place: Place, by: int) -> Place:
        """Move a channel among those of its source; where it is then."""
        channels = self.data["source"][place.source]["channel"]
        target = min(max(place.channel + by, 0), len(channels) - 1)
        channels.insert(target, channels.pop(place.channel))
        self.check()
        return Place(place.source, target)
