"""silx, a general-purpose viewer of NeXus files, finds the default plot of a trace."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from gaugebench.model.channel import Channel
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.store.tracefile import write_trace

pytestmark = [
    pytest.mark.tools,
    # silx's own use of numpy and h5py is not ours to mend.
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]


def test_silx_recognises_the_default_plot(tmp_path: Path) -> None:
    # By name, so that types are checked alike with and without it.
    silx, nxdata = import_module("silx.io"), import_module("silx.io.nxdata")
    times = np.arange(500) / 100
    series = tuple(
        Series(
            Channel(str(Role.main(pump)), Role.main(pump)),
            times,
            3e7 + pump * 1e5 * np.sin(times),
            np.zeros(len(times), dtype=np.uint16),
        )
        for pump in (1, 2)
    )
    path = write_trace(Trace(series), tmp_path / "trace.h5")
    with silx.open(str(path)) as file:
        plot = nxdata.get_default(file, validate=True)
        assert plot is not None
        assert plot.is_valid
        assert plot.signal_is_1d
        assert np.allclose(plot.signal[()], series[0].values)
        assert np.allclose(plot.axes[0][()], times)
        assert len(plot.auxiliary_signals) == 1
        assert np.allclose(plot.auxiliary_signals[0][()], series[1].values)
