"""A kit being put together: plain data that may not be whole yet. No Qt."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from gaugebench.desk.hookup.fitting import Fitting
from gaugebench.desk.hookup.ranges import Stated
from gaugebench.desk.hookup.toml import as_data
from gaugebench.desk.words import tr
from gaugebench.errors import KitError, UnitError
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension, parse

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit

USUAL_ROLES = ("pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control")
"""What a new source's inputs are taken for, in the usual order of the ports, until changed."""
_OF_THE_PORT = ("role", "control_port", "alarm")
"""What belongs to the port and goes with it where two channels change ports; the rest is the
transducer's, its hose's and its wire's."""


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
    _most: dict[str, str] = field(default_factory=dict)

    @staticmethod
    def of(kit: Kit) -> Draft:
        """A draft that begins with a kit. Every source has its name, stated or usual."""
        data = as_data(kit)
        data["source"] = [
            {"name": entry.name, **source, "channel": list(source["channel"])}
            for entry, source in zip(kit.source, data["source"], strict=True)
        ]
        made = Draft(data)
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

    def placed(self) -> list[tuple[Place, Channel]]:
        """Every channel that can be understood; what is wrong with the others is in `fault`."""
        places = self.places
        if not places:
            return []
        from gaugebench.model.kit import ChannelEntry

        found = []
        for place in places:
            try:
                entry = ChannelEntry.model_validate(self.channel(place))
            except (ValueError, UnitError):
                continue
            found.append((place, entry.to_channel()))
        return found

    def set(self, place: Place, key: str, value: object) -> None:
        """Set a key of a channel; an empty value takes the key away."""
        channel = self.channel(place)
        if value in ("", None):
            channel.pop(key, None)
        else:
            channel[key] = value
        self.check()

    def drop(self, place: Place, keys: Collection[str]) -> None:
        """Take keys of a channel away, without looking at the kit yet."""
        for key in keys:
            self.channel(place).pop(key, None)

    def most_text(self, place: Place) -> str:
        """The most that a port can see by the machine's sheet, as typed; it is not the kit's."""
        return self._most.get(self._port_key(place), "")

    def set_most(self, place: Place, text: str) -> None:
        """State the most that a port can see."""
        self._most[self._port_key(place)] = text

    def stated(self, place: Place, highest_pa: float | None) -> Stated:
        """What is stated of a port beyond its transducer. What cannot be read counts as unsaid."""
        try:
            most = parse(self.most_text(place), Dimension.PRESSURE)
        except UnitError:
            most = None
        fitting = Fitting.of(str(self.channel(place).get("fitting", "")))
        return Stated(highest_pa, most, fitting.rating_pa)

    def add_source(
        self, driver: str, options: Mapping[str, Any], inputs: int, *, simulated: bool = False
    ) -> None:
        """Add a source with so many inputs, P1, P2, …; simulated: it is not on a machine."""
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
        if not self.data["source"]:
            self.data.pop("simulated", None)  # of the sources that were there before
        if simulated:
            self.data["simulated"] = True
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
        """Take a source away with its channels; a kit without sources is no practice kit either."""
        del self.data["source"][index]
        if not self.data["source"]:
            self.data.pop("simulated", None)
        self.check()

    def exchange(self, one: Place, other: Place) -> None:
        """Exchange the ports of two channels: role, control port and alarm change places."""
        first, second = self.channel(one), self.channel(other)
        for key in _OF_THE_PORT:
            mine, yours = first.pop(key, None), second.pop(key, None)
            if yours is not None:
                first[key] = yours
            if mine is not None:
                second[key] = mine
        self.check()

    def find_role(self, role: str) -> Place | None:
        """The channel that plays a role."""
        return next((p for p in self.places if self.channel(p).get("role") == role), None)

    def move(self, place: Place, by: int) -> Place:
        """Move a channel among those of its source; where it is then."""
        channels = self.data["source"][place.source]["channel"]
        target = min(max(place.channel + by, 0), len(channels) - 1)
        channels.insert(target, channels.pop(place.channel))
        self.check()
        return Place(place.source, target)

    def _port_key(self, place: Place) -> str:
        """A port by its role, so that what it can see stays with the port and not the wire."""
        channel = self.channel(place)
        source = self.data["source"][place.source]["name"]
        return str(channel.get("role") or f"{source}/{channel.get('input')}")
