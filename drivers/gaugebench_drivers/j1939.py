"""Driver `j1939`: what the machine's own controllers broadcast, engine speed first of all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaugebench.driver import Batch, Clock, Driver, Input, Reading, Reject, Source, Stream
from gaugebench.wire.can_signal import KNOWN_SPNS, Spn, j1939_id
from gaugebench_drivers.can_line import NEEDS, CanLine, CanOptions, open_can
from gaugebench_drivers.naming import grouped, no_doubles

TOO_SHORT = "too short"


class SpnEntry(BaseModel):
    """One `[[source.options.spn]]`: a parameter by its number, or described in full."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    input: str = Field(description="the kit's name for the input")
    spn: int | None = Field(
        None, ge=1, description="its number; 190, 110, 175 and 1638 need no description"
    )
    source: int | None = Field(
        None, ge=0, le=253, description="address of the controller; none: whoever sends it first"
    )
    pgn: int | None = Field(None, ge=0, le=0x3FFFF, description="the group it is sent in")
    byte: int | None = Field(None, ge=1, le=8, description="its first byte, from 1")
    bit: int = Field(1, ge=1, le=8, description="its first bit in that byte, from 1")
    bits: int = Field(16, ge=1, le=32, description="how many bits it has")
    step: float = Field(1.0, description="what one bit means in the unit")
    offset: float = Field(0.0, description="what a raw 0 means in the unit")
    unit: str = Field("", description="its unit")

    @model_validator(mode="after")
    def _described(self) -> SpnEntry:
        if self.pgn is None and self.spn not in KNOWN_SPNS:
            known = ", ".join(map(str, KNOWN_SPNS))
            raise ValueError(
                f"“{self.input}” needs pgn and byte, or an spn that is known ({known})"
            )
        if self.pgn is not None and self.byte is None:
            raise ValueError(f"“{self.input}” needs the byte at which it begins")
        if self.byte is not None and 8 * (self.byte - 1) + self.bit - 1 + self.bits > 64:
            raise ValueError(f"“{self.input}” reaches beyond the eighth byte")
        return self

    def parameter(self) -> Spn:
        """The parameter as it lies in its frame."""
        if self.pgn is None or self.byte is None:
            return KNOWN_SPNS[self.spn or 0]
        return Spn(
            self.pgn, self.byte, self.bits, self.step, self.offset, self.unit, first_bit=self.bit
        )


class J1939Options(CanOptions):
    """Options of `j1939`."""

    spn: tuple[SpnEntry, ...] = Field(min_length=1, description="the parameters wanted")

    @model_validator(mode="after")
    def _no_doubles(self) -> J1939Options:
        no_doubles("input", [s.input for s in self.spn])
        return self


class _Group:
    """The parameters that one frame carries: a stream."""

    def __init__(self, pgn: int, source: int | None) -> None:
        self.pgn = pgn
        self.source = source
        self.entries: list[SpnEntry] = []
        self.rows: list[list[float]] = []
        self.arrival: list[float] = []


class J1939Source(Source):
    """An open bus."""

    def __init__(self, options: J1939Options, line: CanLine) -> None:
        self._line = line
        groups: dict[tuple[int, int | None], _Group] = {}
        for entry in options.spn:
            key = (entry.parameter().pgn, entry.source)
            groups.setdefault(key, _Group(*key)).entries.append(entry)
        self._groups = list(groups.values())
        self._streams = tuple(
            Stream(
                f"{g.pgn}" if g.source is None else f"{g.pgn} from {g.source}",
                tuple(Input(e.input, e.parameter().unit) for e in g.entries),
            )
            for g in self._groups
        )

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream for each group and controller."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """The rows that arrived; see `Source.read`. Other traffic on the bus is passed over."""
        frames, rejects = self._line.receive(timeout_s)
        bad = list(rejects)
        for frame, arrival in frames:
            if not frame.extended:
                continue
            parts = j1939_id(frame.identifier)
            for group in self._groups:
                if group.pgn != parts.pgn or group.source not in (None, parts.source):
                    continue
                if group.source is None:  # two controllers must not be mixed in one stream
                    group.source = parts.source
                try:
                    row = [e.parameter().value(frame.data) for e in group.entries]
                except ValueError:
                    bad.append(Reject(TOO_SHORT, frame.data, arrival))
                    continue
                group.rows.append(row)
                group.arrival.append(arrival)
        return Reading([b for n in range(len(self._groups)) if (b := self._batch(n))], bad)

    def close(self) -> Reading:
        """Let go of the bus."""
        self._line.close()
        return Reading()

    def _batch(self, number: int) -> Batch | None:
        group = self._groups[number]
        if not group.rows:
            return None
        batch = Batch(number, np.array(group.rows), np.array(group.arrival))
        group.rows, group.arrival = [], []
        return batch


class J1939(Driver[J1939Options]):
    """SAE J1939 listener."""

    name = "j1939"
    summary = "engine speed and temperatures from the machine's own CAN bus (SAE J1939)"
    options = J1939Options
    needs = NEEDS

    def open(self, options: J1939Options, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the bus; nothing is ever sent. Raises `SourceError`."""
        grouped(inputs, [[entry.input for entry in options.spn]], "is not among the parameters")
        return J1939Source(options, open_can(options, clock, listen_only=True))


DRIVER = J1939()
