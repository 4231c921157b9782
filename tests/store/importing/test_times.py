"""Time columns: dates and their order, clocks, coarse and repeated stamps, several rates."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from gaugebench.errors import TraceError
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Trace
from gaugebench.quantity import Dimension

Read = Callable[..., Trace]


def _stamped(*stamps: str) -> str:
    return "time,P1 [bar]\n" + "".join(f"{s},{n}\n" for n, s in enumerate(stamps))


# --- day and month


@pytest.mark.parametrize(
    ("stamps", "started"),
    [
        (("11/03/2025 08:00:00", "20/03/2025 08:00:00"), "2025-03-11T08:00:00"),
        (("03/14/2025 08:00:00", "03/14/2025 08:00:01"), "2025-03-14T08:00:00"),
        (("05.04.2025 08:00:00", "05.04.2025 08:00:01"), "2025-04-05T08:00:00"),
        (("2025-04-05 08:00:00", "2025-04-05 08:00:01"), "2025-04-05T08:00:00"),
        (("2025/04/05 08:00:00", "2025/04/05 08:00:01"), "2025-04-05T08:00:00"),
        (("25/03/25 08:00:00", "25/03/25 08:00:01"), "2025-03-25T08:00:00"),
        (("3/14/2025 11:59:59 AM", "3/14/2025 12:00:00 PM"), "2025-03-14T11:59:59"),
        (("14-03-2025 08:00", "14-03-2025 08:01"), "2025-03-14T08:00:00"),
    ],
)
def test_the_order_of_a_date_is_that_which_fits_all(
    read: Read, stamps: tuple[str, ...], started: str
) -> None:
    trace = read(_stamped(*stamps))
    assert trace.started == datetime.fromisoformat(started)
    assert "The file does not state its time zone." in trace.remarks
    assert len(trace.series[0]) == len(stamps)


@pytest.mark.parametrize(
    "stamps",
    [
        ("03/04/2025 08:00:00", "03/04/2025 08:00:01"),
        ("3-4-2025 08:00:00", "3-4-2025 08:00:01"),
        ("12/12/2025 08:00:00", "01/02/2026 08:00:01"),
        ("03/04/25 08:00:00", "03/04/25 08:00:01"),
        ("03/04/2025 08:00:00 AM", "03/04/2025 08:00:01 AM"),
    ],
)
def test_a_date_that_fits_both_orders_is_asked(
    asked: Callable[..., str], read: Read, stamps: tuple[str, ...]
) -> None:
    said = asked(_stamped(*stamps))
    assert "--date-order dmy" in said
    assert "dmy: " in said
    assert "mdy: " in said
    day_first = read(_stamped(*stamps), date_order="dmy").started
    month_first = read(_stamped(*stamps), date_order="mdy").started
    assert day_first is not None
    assert month_first is not None
    assert (day_first.day, day_first.month) == (month_first.month, month_first.day)


def test_a_date_far_down_settles_the_order(read: Read) -> None:
    early = [f"03/04/2025 {h:02}:{m:02}:00" for h in range(24) for m in range(60)] * 9
    text = _stamped(*early, "13/04/2025 00:00:00")
    assert len(text) > 300_000
    assert read(text).started == datetime(2025, 4, 3)  # noqa: DTZ001 - the file states no zone


def test_dates_that_change_their_order_are_refused(read: Read) -> None:
    with pytest.raises(TraceError, match="fit neither order"):
        read(_stamped("25/03/2025 08:00:00", "03/25/2025 08:00:01"))


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("2025-04-05T08:00:00.5Z", "2025-04-05T08:00:01.5Z"),
        ("2025-04-05 10:00:00.5+02:00", "2025-04-05 10:00:01.5+02:00"),
        ("2025-04-05 03:00:00.500-0500", "2025-04-05 03:00:01.500-0500"),
        ("2025-04-05 08:00:00.5 UTC", "2025-04-05 08:00:01.5 UTC"),
    ],
)
def test_a_stated_zone_is_kept(read: Read, first: str, second: str) -> None:
    trace = read(_stamped(first, second))
    assert trace.started == datetime(2025, 4, 5, 8, 0, 0, 500_000, UTC)
    assert trace.series[0].times.tolist() == [0.0, 1.0]


def test_a_date_apart_from_its_clock(read: Read) -> None:
    text = "Date;Time;P1 [bar]\n05.04.2025;23:59:59,5;1\n06.04.2025;00:00:00,0;2\n"
    trace = read(text)
    assert trace.started == datetime(2025, 4, 5, 23, 59, 59, 500_000)  # noqa: DTZ001
    assert trace.series[0].times.tolist() == [0.0, 0.5]


@pytest.mark.parametrize(
    ("heading", "cells", "flags", "started"),
    [
        ("Date [days]", ("45751.3333333333", "45751.3333449074"), {}, "2025-04-04T08:00:00"),
        ("Date", ("45751.3333333333", "45751.3333449074"), {"time_unit": "days"},
         "2025-04-04T08:00:00"),
        ("timestamp", ("1743753600", "1743753601"), {"time_unit": "epoch-s"},
         "2025-04-04T08:00:00+00:00"),
        ("timestamp", ("1743753600000", "1743753601000"), {"time_unit": "epoch-ms"},
         "2025-04-04T08:00:00+00:00"),
    ],
)  # fmt: skip
def test_days_of_a_spreadsheet_and_seconds_of_a_computer(
    read: Read, heading: str, cells: tuple[str, str], flags: dict[str, Any], started: str
) -> None:
    trace = read(f"{heading};P1 [bar]\n{cells[0]};1\n{cells[1]};2\n", **flags)
    assert trace.started == datetime.fromisoformat(started)
    np.testing.assert_allclose(trace.series[0].times, [0.0, 1.0], atol=2e-4)


@pytest.mark.parametrize(
    ("text", "flag"),
    [
        ("t,P1 [bar]\n0.00,1\n0.01,2\n", "--time-unit s"),
        ("Date,P1 [bar]\n45751.25,1\n45751.26,2\n", "--time-unit days"),
        ("timestamp,P1 [bar]\n1743753600,1\n1743753601,2\n", "--time-unit epoch-s"),
        ("timestamp,P1 [bar]\n1743753600000,1\n1743753601000,2\n", "--time-unit epoch-ms"),
        ("Sample,P1 [bar]\n1,1\n2,2\n", "--rate 100"),
    ],
)
def test_a_time_without_a_unit_is_asked(asked: Callable[..., str], text: str, flag: str) -> None:
    assert flag in asked(text)


def test_everything_is_asked_at_once(asked: Callable[..., str]) -> None:
    said = asked("t;P1;P2\n1;173,900;2\n2;173,901;3\n")
    for flag in ("--decimal ,", "--time-unit s", "--unit-of P1=bar", "--unit-of P2=bar"):
        assert flag in said


def test_a_counter_at_a_stated_rate(read: Read) -> None:
    (series,) = read("Sample;P1 [bar]\n10;1\n11;2\n13;3\n", rate_hz=100).series
    assert series.times.tolist() == [0.1, 0.11, 0.13]


# --- stamps coarser than the rows, and true duplicates


def _spread(read: Read, text: str) -> list[float]:
    trace = read(text)
    (series,) = trace.series
    assert (series.quality & Quality.TIME_ESTIMATED).all()
    assert any("estimated" in r for r in trace.remarks)
    found: list[float] = np.round(series.times, 6).tolist()
    return found


def test_rows_that_share_a_second_are_spread_in_it(read: Read) -> None:
    values = (187.4, 187.6, 187.5, 187.9, 188.0, 188.2, 188.1)
    stamps = ["08:00:00"] * 4 + ["08:00:01"] * 3
    text = "time,P1 [bar]\n" + "".join(f"{s},{v}\n" for s, v in zip(stamps, values, strict=True))
    assert _spread(read, text) == [0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5]
    raw = read(text).series[0].raw
    assert raw is not None
    assert raw.tolist() == list(values)


def test_a_first_second_that_was_entered_late(read: Read) -> None:
    stamps = ["08:00:00"] * 2 + ["08:00:01"] * 4 + ["08:00:02"] * 4
    text = "time;P1 [bar]\n" + "".join(f"{s};{n}\n" for n, s in enumerate(stamps))
    steps = np.diff(_spread(read, text))
    assert steps.tolist() == [0.25] * 9


def test_stamps_of_tenths_and_of_minutes_are_spread_too(read: Read) -> None:
    tenths = [f"08:00:0{n // 10}.{n % 10}" for n in range(20) for _ in range(5)]
    assert np.diff(_spread(read, _stamped(*tenths))).tolist() == pytest.approx([0.02] * 99)
    minutes = [f"05.04.2025 08:{n:02}" for n in range(5) for _ in range(6)]
    assert np.diff(_spread(read, _stamped(*minutes))).tolist() == pytest.approx([10.0] * 29)


def test_many_rows_a_second_over_many_blocks(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    from gaugebench.store.importing import text as module

    monkeypatch.setattr(module, "BLOCK_BYTES", 1000)
    stamps = [f"08:{n // 60:02}:{n % 60:02}" for n in range(200) for _ in range(10)]
    steps = np.diff(_spread(read, _stamped(*stamps)))
    assert steps.tolist() == pytest.approx([0.1] * 1999)


def test_true_duplicates_are_counted_and_offered_for_removal(read: Read) -> None:
    text = "time [s],P1 [bar]\n0,1\n0,1\n1,2\n1,3\n2,3\n2,3\n2,3\n"
    kept = read(text)
    assert len(kept.series[0]) == 7
    assert any("3 rows repeat" in r and "drop_duplicates" in r for r in kept.remarks)
    dropped = read(text, drop_duplicates=True)
    assert dropped.series[0].times.tolist() == [0.0, 1.0, 1.0, 2.0]


# --- clocks that turn over, rows out of order, restarts


def test_midnight_and_the_full_hour(read: Read) -> None:
    assert read(_stamped("23:59:59", "00:00:00", "00:00:01")).series[0].times.tolist() == [0, 1, 2]
    text = "time;P1 [bar]\n59:59,5;1\n00:00,0;2\n00:00,5;3\n"
    assert read(text).series[0].times.tolist() == [3599.5, 3600.0, 3600.5]


def test_late_rows_are_put_in_their_place(read: Read) -> None:
    order = [0, 1, 2, 4, 3, 5, 9, 7, 8, 6, 10]
    trace = read("time [s],P1 [bar]\n" + "".join(f"{n},{n}\n" for n in order))
    assert trace.series[0].raw is not None
    assert trace.series[0].raw.tolist() == sorted(order)
    assert any("came late" in r for r in trace.remarks)


@pytest.mark.parametrize("block", [200, 777, 1 << 20])
def test_a_logger_that_starts_anew_makes_a_segment(
    read: Read, monkeypatch: pytest.MonkeyPatch, block: int
) -> None:
    from gaugebench.store.importing import text as module

    monkeypatch.setattr(module, "BLOCK_BYTES", block)
    rows = [*range(100), *range(80), *range(3)]
    trace = read("time [s],P1 [bar]\n" + "".join(f"{n},{n}\n" for n in rows))
    (series,) = trace.series
    assert series.raw is not None
    assert series.raw.tolist() == rows
    assert series.times.tolist() == [float(n) for n in range(183)]
    assert [g.start_s for g in trace.gaps] == [99.0, 179.0]
    assert any("began anew 2 times" in r for r in trace.remarks)


def test_missing_rows_are_a_gap(read: Read) -> None:
    times = [n / 100 for n in range(100) if not 40 <= n < 47]
    trace = read("time [s],P1 [bar]\n" + "".join(f"{t},1\n" for t in times))
    (gap,) = trace.gaps
    assert (gap.start_s, gap.end_s, gap.lost) == (0.39, 0.47, 7)
    after = trace.series[0].quality == Quality.AFTER_GAP
    assert trace.series[0].times[after].tolist() == [0.47]


# --- several rates in one file

RATES = (
    "time [s],P1 [bar],T [°C],rpm\n"
    "0.00,187.4,51.0,1850\n0.01,187.5,,\n0.02,187.5,,\n0.03,187.6,,1848\n"
)


def test_empty_is_no_sample_and_each_series_has_its_own_times(read: Read) -> None:
    pressure, oil, speed = read(RATES).series
    assert pressure.times.tolist() == [0.0, 0.01, 0.02, 0.03]
    assert (oil.times.tolist(), oil.values.tolist()) == ([0.0], [51.0])
    assert (speed.times.tolist(), speed.values.tolist()) == ([0.0, 0.03], [1850.0, 1848.0])
    assert speed.channel.dimension is Dimension.SPEED
    assert len({pressure.stream, oil.stream, speed.stream}) == 3


def test_rows_that_take_turns(read: Read) -> None:
    rows = "".join(f"{n / 10},{n},\n{n / 10 + 0.05:.2f},,{n}\n" for n in range(10))
    first, second = read("time [s],P1 [bar],P2 [bar]\n" + rows).series
    assert first.times.tolist() == [n / 10 for n in range(10)]
    assert second.times.tolist() == pytest.approx([n / 10 + 0.05 for n in range(10)])


def test_a_hole_in_a_full_column_is_a_missing_sample_not_a_rate(read: Read) -> None:
    rows = "".join(f"{n},{'' if n == 5 else n},{n}\n" for n in range(20))
    first, second = read("time [s],P1 [bar],P2 [bar]\n" + rows).series
    assert first.stream == second.stream
    assert np.isnan(first.values[5])
    assert first.quality[5] == Quality.MISSING
    assert not second.quality.any()


def test_a_word_in_a_slow_column_is_a_missing_sample(read: Read) -> None:
    rows = "".join(f"{n},{n},{'' if n % 4 else 'ovf' if n == 8 else n}\n" for n in range(20))
    _, slow = read("time [s],P1 [bar],T [°C]\n" + rows).series
    assert slow.times.tolist() == [0.0, 4.0, 8.0, 12.0, 16.0]
    assert slow.quality.tolist() == [0, 0, Quality.MISSING, 0, 0]


def test_a_slow_column_whose_first_sample_comes_late(read: Read) -> None:
    rows = "".join(f"{n},{n},{n if n and n % 7 == 0 else ''}\n" for n in range(30))
    _, slow = read("time [s],P1 [bar],T [°C]\n" + rows).series
    assert slow.times.tolist() == [7.0, 14.0, 21.0, 28.0]
