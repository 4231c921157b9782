"""A header line that the user names is heeded; a logger that started anew is told."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from gaugebench.errors import TraceError
from gaugebench.model.trace import Gap, Trace

Read = Callable[..., Trace]
Columns = Callable[[Trace], dict[str, tuple[list[float], list[float], str]]]
ROWS = "0.0,100,1850\n0.1,101,1851\n0.2,102,1852\n"
TWO_HEADERS = (
    f"made,by,hand\nt [s],pump1.main [bar],rpm [rpm]\nt [s],pump2.main [bar],n [rpm]\n{ROWS}"
)


@pytest.mark.parametrize(("line", "names"), [(2, ["pump1.main", "rpm"]), (3, ["pump2.main", "n"])])
def test_the_header_is_in_the_line_that_is_said(
    read: Read, columns: Columns, line: int, names: list[str]
) -> None:
    found = columns(read(TWO_HEADERS, header_line=line))
    assert list(found) == names
    times, values, unit = found[names[0]]
    assert (times, values, unit) == ([0.0, 0.1, 0.2], [100.0, 101.0, 102.0], "bar")


def test_no_header_at_all_can_be_said(read: Read, columns: Columns) -> None:
    units = {"column 2": "bar", "column 3": "rpm"}
    roles = {"column 2": "pump1.main"}
    trace = read(
        ROWS, header_line=0, time_column="column 1", time_unit="s", units=units, roles=roles
    )
    assert {name: values for name, (_, values, _) in columns(trace).items()} == {
        "column 2": [100.0, 101.0, 102.0],
        "column 3": [1850.0, 1851.0, 1852.0],
    }


def test_a_header_below_the_rows_is_refused(read: Read) -> None:
    with pytest.raises(TraceError, match=r"log.csv has no numbers below line 7\."):
        read(f"{TWO_HEADERS}t,p,n\n", header_line=7)


def _log(times: list[float]) -> str:
    return "t [s],pump1.main [bar]\n" + "".join(f"{t:.3f},{n}\n" for n, t in enumerate(times))


@pytest.mark.parametrize("late", [False, True])
def test_a_logger_that_started_anew_goes_on_a_step_later(
    read: Read, columns: Columns, late: bool
) -> None:
    """With a row that came late just before: that one is put in its place, and no restart."""
    first = [n / 100 for n in range(300)]
    if late:
        first[298] = 2.965
    trace = read(_log([*first, *(n / 100 for n in range(200))]))
    times, values, _ = columns(trace)["pump1.main"]
    last = max(first)
    (gap,) = trace.gaps
    assert gap == Gap("main", last, gap.end_s, None, "the logger started anew; pause unknown")
    assert gap.end_s == pytest.approx(last + 0.01)
    assert len(times) == 500
    assert np.diff(times).min() > 0
    np.testing.assert_allclose(times[300:], last + 0.01 + np.arange(200) / 100)
    assert values[295:] == [295, 296, *((298, 297) if late else (297, 298)), *range(299, 500)]


def test_days_that_count_from_nought_begin_at_nought(read: Read, columns: Columns) -> None:
    text = "t,pump1.main [bar]\n" + "".join(f"{n / 86400:.10f},{n}\n" for n in range(3))
    times, _, _ = columns(read(text, time_unit="days"))["pump1.main"]
    assert times == pytest.approx([0.0, 1.0, 2.0], abs=2e-5)
