"""The array types that the rooms exchange."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
U16 = NDArray[np.uint16]
Bools = NDArray[np.bool_]


def frozen(array: NDArray[Any]) -> NDArray[Any]:
    """The same array, marked read-only, so that shared samples cannot be changed by accident."""
    array.flags.writeable = False
    return array
