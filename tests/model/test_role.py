from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.errors import UnitError
from gaugebench.model.role import Port, Role
from gaugebench.quantity import Dimension


@pytest.mark.parametrize(
    ("text", "pump", "port", "dimension"),
    [
        ("pump1.main", 1, Port.MAIN, Dimension.PRESSURE),
        (" pump12.control ", 12, Port.CONTROL, Dimension.PRESSURE),
        ("pilot", None, None, Dimension.PRESSURE),
        ("engine.speed", None, None, Dimension.SPEED),
        ("oil.temperature", None, None, Dimension.TEMPERATURE),
        ("case_drain.flow", None, None, Dimension.FLOW),
        ("psv.current", None, None, Dimension.CURRENT),
    ],
)
def test_parse(text: str, pump: int | None, port: Port | None, dimension: Dimension) -> None:
    role = Role.parse(text)
    assert (role.pump, role.port, role.dimension) == (pump, port, dimension)
    assert str(role) == text.strip()


@pytest.mark.parametrize("text", ["", "pump", "pump0.main", "pump1.case", "Pilot", "pump1.main2"])
def test_what_is_no_role_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="is not a role"):
        Role.parse(text)


@given(st.integers(1, 99))
def test_every_pump_has_its_roles(pump: int) -> None:
    assert Role.parse(str(Role.main(pump))) == Role.main(pump)
    assert Role.control(pump).pump == pump
