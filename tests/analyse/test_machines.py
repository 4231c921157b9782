"""A few machines that nobody tuned for, in each run; the bench draws many more.

What is true of them comes from inside the simulated machine.
"""

from __future__ import annotations

import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.simulate.script import run
from tests.bench.fresh_machines import draw
from tests.bench.score_table import ScoreTable

FITTED = ("relief_crack.pressure_pa",)
"""Whose spread over many machines the bench shows; a few tell nothing of it."""


@pytest.mark.timeout(300)
def test_figures_of_a_few_machines() -> None:
    """A light travel, a boost stage, a lever part-way, a servo port and a low torque limit."""
    table = ScoreTable()
    for number in (220, 222, 224, 225, 232):
        drawn = draw(number)
        trace, truth = run(drawn.script)
        table.take(drawn.name, truth, as_json(analyse(trace)))
    assert table.wrong_count == []
    for name, row in table.rows.items():
        assert row.false == [], name
        if name not in FITTED:
            assert row.due, name
            assert row.missed == [], name
            assert row.within == 1.0, (name, sorted(row.errors)[-3:])
