"""Driver `canopen-pressure`: process values that transmitters send as PDOs (CiA 301, CiA 404)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaugebench.driver import Batch, Clock, Driver, Input, Notice, Reading, Reject, Source, Stream
from gaugebench.wire.can_signal import (
    COB_NMT,
    COB_SYNC,
    cob_emergency,
    cob_heartbeat,
    cob_tpdo,
    typed_value,
)
from gaugebench.wire.slcan import CanFrame
from gaugebench_drivers.can_line import NEEDS, CanLine, CanOptions, open_can
from gaugebench_drivers.naming import grouped, no_doubles
from gaugebench_drivers.pending import Pending

TOO_SHORT = "too short"
START = 1


class PdoValue(BaseModel):
    """One `[[source.options.pdo.value]]`: where an input lies in the PDO."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    input: str = Field(description="the kit's name for the input")
    byte: int = Field(0, ge=0, le=7, description="its first byte, from 0")
    type: Literal["int8", "uint8", "int16", "uint16", "int32", "uint32", "float32"] = Field(
        "float32", description="how the number is written"
    )
    scale: float = Field(1.0, description="what 1 means in the channel's unit")


class Pdo(BaseModel):
    """One `[[source.options.pdo]]`: a PDO that a transmitter sends."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    node: int = Field(ge=1, le=127, description="the transmitter's node number")
    number: int = Field(1, ge=1, le=4, description="which of its PDOs, 1 to 4")
    cob_id: int | None = Field(
        None, ge=0x001, le=0x7FF, description="its identifier where it is not the usual one"
    )
    rate_hz: float | None = Field(None, gt=0, le=10_000, description="how often it comes, 1/s")
    value: tuple[PdoValue, ...] = Field(min_length=1, description="the values it carries")

    @property
    def identifier(self) -> int:
        """The identifier on the bus."""
        return cob_tpdo(self.node, self.number) if self.cob_id is None else self.cob_id


class CanopenOptions(CanOptions):
    """Options of `canopen-pressure`."""

    bitrate: int = Field(125_000, ge=10_000, le=1_000_000, description="speed of the bus, bit/s")
    pdo: tuple[Pdo, ...] = Field(min_length=1, description="the PDOs wanted")
    start: bool = Field(
        default=False, description="send the nodes into operation when opening (NMT start)"
    )
    sync_every_s: float | None = Field(
        None, ge=0.001, le=10, description="send SYNC this often, s; none: not at all"
    )

    @model_validator(mode="after")
    def _no_doubles(self) -> CanopenOptions:
        no_doubles("input", [v.input for p in self.pdo for v in p.value])
        no_doubles("identifier", [f"{p.identifier:03X}h" for p in self.pdo])
        return self


class CanopenSource(Source):
    """An open bus."""

    def __init__(
        self,
        options: CanopenOptions,
        groups: Sequence[tuple[Input, ...]],
        line: CanLine,
        clock: Clock,
    ) -> None:
        self._options = options
        self._line = line
        self._clock = clock
        self._pending = Pending()
        self._synced_s = -math.inf
        self._nodes = {p.node for p in options.pdo}
        self._streams = tuple(
            Stream(
                f"PDO {p.identifier:03X}h",
                group,
                p.rate_hz or (1 / options.sync_every_s if options.sync_every_s else None),
            )
            for p, group in zip(options.pdo, groups, strict=True)
        )
        if options.start:
            for node in sorted(self._nodes):
                self._line.send(CanFrame(COB_NMT, bytes([START, node])))

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream for each PDO."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """The rows that arrived; see `Source.read`. Other traffic on the bus is passed over."""
        if not self._pending:
            if self._options.sync_every_s is not None:
                timeout_s = min(timeout_s, self._sync(self._options.sync_every_s))
            frames, rejects = self._line.receive(timeout_s)
            for reject in rejects:
                self._pending.reject(reject)
            for frame, arrival in frames:
                if not frame.extended:
                    self._take(frame, arrival)
        return self._pending.take()

    def close(self) -> Reading:
        """Let go of the bus."""
        self._line.close()
        return self._pending.take_all()

    def _sync(self, every_s: float) -> float:
        now = self._clock.now()
        if now - self._synced_s >= every_s:
            self._line.send(CanFrame(COB_SYNC, b""))
            self._synced_s = now
        return max(0.0, self._synced_s + every_s - now)

    def _take(self, frame: CanFrame, arrival: float) -> None:
        for number, pdo in enumerate(self._options.pdo):
            if frame.identifier != pdo.identifier:
                continue
            try:
                row = [typed_value(frame.data, v.byte, v.type) * v.scale for v in pdo.value]
            except ValueError:
                self._pending.reject(Reject(TOO_SHORT, frame.data, arrival))
            else:
                self._pending.batch(Batch(number, np.array([row]), np.array([arrival])))
            return
        for node in self._nodes:
            if frame.identifier == cob_emergency(node) and len(frame.data) >= 2:
                code = int.from_bytes(frame.data[:2], "little")
                self._pending.notice(Notice(f"Node {node} reports fault {code:04X}h.", arrival))
            elif frame.identifier == cob_heartbeat(node) and frame.data == b"\x00":
                self._pending.notice(Notice(f"Node {node} started.", arrival, restarted=True))
                if self._options.start:
                    self._line.send(CanFrame(COB_NMT, bytes([START, node])))


class CanopenPressure(Driver[CanopenOptions]):
    """CANopen transmitters."""

    name = "canopen-pressure"
    summary = "pressure transmitters on CANopen that send their values as PDOs"
    options = CanopenOptions
    needs = NEEDS

    def open(self, options: CanopenOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the bus. Raises `SourceError`."""
        names = ([v.input for v in p.value] for p in options.pdo)
        groups = grouped(inputs, names, "is a value of no PDO")
        is_silent = not options.start and options.sync_every_s is None
        line = open_can(options, clock, listen_only=is_silent)
        return CanopenSource(options, groups, line, clock)


DRIVER = CanopenPressure()
