"""What a kit file says of devices on an RS-485 line: where their values are, how to ask."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaugebench.wire.modbus import MAX_REGISTERS, NumberType, Order, Table
from gaugebench_drivers.naming import no_doubles
from gaugebench_drivers.serial_port import SerialOptions


class RegisterValue(BaseModel):
    """One `[[source.options.device.value]]`: where an input of the kit is found."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    input: str = Field(description="the kit's name for the input")
    register_: int = Field(
        alias="register", ge=0, le=65535, description="its first register, counted from 0"
    )
    type: NumberType = Field(NumberType.INT16, description="how the number is written")
    order: Order = Field(Order.ABCD, description="order of the bytes, A the highest")
    scale: float = Field(1.0, description="what 1 in the register means in the channel's unit")


class ModbusDevice(BaseModel):
    """One `[[source.options.device]]`: a device on the line."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str = Field(min_length=1, description="what it is called in streams and messages")
    address: int = Field(ge=1, le=247, description="its address on the line")
    table: Table = Field(Table.HOLDING, description="holding or input registers")
    poll_hz: float = Field(10.0, gt=0, le=1000, description="how often to ask it, 1/s")
    timeout_s: float = Field(0.2, gt=0, le=5, description="how long to wait for its answer, s")
    value: tuple[RegisterValue, ...] = Field(min_length=1, description="the values it holds")

    @property
    def span(self) -> tuple[int, int]:
        """First register and count of the request that covers all values."""
        first = min(v.register_ for v in self.value)
        return first, max(v.register_ + v.type.registers for v in self.value) - first

    @model_validator(mode="after")
    def _fits(self) -> ModbusDevice:
        if self.span[1] > MAX_REGISTERS:
            raise ValueError(
                f"the values of “{self.name}” lie {self.span[1]} registers apart; one request "
                f"covers {MAX_REGISTERS}, so list it as two devices"
            )
        taken: dict[int, str] = {}
        for value in self.value:
            for register in range(value.register_, value.register_ + value.type.registers):
                if register in taken:
                    raise ValueError(
                        f"“{value.input}” and “{taken[register]}” both lie on register {register}"
                    )
                taken[register] = value.input
        return self


class ModbusOptions(SerialOptions):
    """Options of `modbus-rtu`."""

    device: tuple[ModbusDevice, ...] = Field(min_length=1, description="the devices on the line")
    retries: int = Field(1, ge=0, le=5, description="how often to ask again after a damaged answer")

    @model_validator(mode="after")
    def _no_doubles(self) -> ModbusOptions:
        no_doubles("device", [d.name for d in self.device])
        no_doubles("input", [v.input for d in self.device for v in d.value])
        return self
