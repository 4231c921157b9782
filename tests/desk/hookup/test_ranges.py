"""What may be screwed on where. Which port can see how much: common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest

from gaugebench.desk.hookup.ranges import Stated, Verdict, check, known_pressure
from gaugebench.desk.hookup.rest import Rest, zero_of
from gaugebench.desk.shown import Shown
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain
from gaugebench.model.role import ControlPort, Role

BAR = 1e5
HIGHEST = 350 * BAR


def _channel(
    role: str,
    top_bar: float | None,
    port: ControlPort = ControlPort.UNKNOWN,
    proof_pa: float | None = None,
    burst_pa: float | None = None,
) -> Channel:
    chain = Chain() if top_bar is None else Chain(range_low=0.0, range_high=top_bar * BAR)
    return Channel(
        "P",
        Role(role),
        chain=chain,
        control_port=port,
        transducer=Transducer(proof_pa=proof_pa, burst_pa=burst_pa),
    )


@pytest.mark.parametrize(
    ("channel", "verdict"),
    [
        (_channel("pump1.main", 600), Verdict.GOOD),
        (_channel("pump1.main", 400), Verdict.CARE),
        (_channel("pump1.main", 60), Verdict.STOP),
        (_channel("pump1.main", 250, proof_pa=500 * BAR), Verdict.CARE),
        (_channel("pump1.main", 250, proof_pa=500 * BAR, burst_pa=300 * BAR), Verdict.STOP),
        (_channel("pump1.control", 60, ControlPort.SERVO), Verdict.STOP),
        (_channel("pump1.control", 60, ControlPort.UNKNOWN), Verdict.STOP),
        (_channel("pump1.control", 60, ControlPort.REGULATED), Verdict.UNKNOWN),
        (_channel("pump1.control", 60, ControlPort.REGULATED, proof_pa=HIGHEST), Verdict.CARE),
        (_channel("pump1.main", 600, proof_pa=500 * BAR), Verdict.UNKNOWN),
        (_channel("pump1.main", 600, proof_pa=900 * BAR, burst_pa=700 * BAR), Verdict.UNKNOWN),
        (_channel("pump1.control", 60, ControlPort.SIGNAL), Verdict.GOOD),
        (_channel("pilot", 60), Verdict.GOOD),
        (_channel("load_sense", 60), Verdict.STOP),
        (_channel("pilot", None), Verdict.UNKNOWN),
    ],
)
def test_verdicts(channel: Channel, verdict: Verdict) -> None:
    found = check(channel, Stated(HIGHEST), Shown())
    assert found.verdict is verdict, found.words
    assert found.words.startswith("STOP") == (verdict is Verdict.STOP)


def test_nothing_is_allowed_while_the_highest_relief_is_not_known() -> None:
    assert check(_channel("pump1.main", 600), Stated(), Shown()).verdict is Verdict.UNKNOWN


@pytest.mark.parametrize(
    ("stated", "verdict"),
    [
        (Stated(HIGHEST, port_pa=45 * BAR), Verdict.CARE),
        (Stated(HIGHEST, port_pa=40 * BAR), Verdict.GOOD),
        (Stated(None, port_pa=40 * BAR), Verdict.GOOD),
        (Stated(HIGHEST, port_pa=70 * BAR), Verdict.STOP),
        (Stated(HIGHEST, port_pa=40 * BAR, hose_pa=30 * BAR), Verdict.STOP),
        (Stated(HIGHEST, port_pa=40 * BAR, hose_pa=400 * BAR), Verdict.GOOD),
    ],
)
def test_the_sheet_says_what_a_port_sees_and_the_hose_counts_too(
    stated: Stated, verdict: Verdict
) -> None:
    found = check(_channel("pump1.control", 54, ControlPort.REGULATED), stated, Shown())
    assert found.verdict is verdict, found.words
    assert found.may_be_fitted == (verdict in {Verdict.GOOD, Verdict.CARE})
    assert found.most_pa == stated.port_pa


def test_the_words_are_in_the_unit_shown() -> None:
    assert "870 psi" in check(_channel("pump1.main", 60), Stated(HIGHEST), Shown("psi")).words


@pytest.mark.parametrize(
    ("reading", "said"),
    [(101.0, "+1.0 %"), (10.1, "factor of 0.1"), (99_000.0, "factor of 1000"), (60.0, "−40.0 %")],
)
def test_a_known_pressure_tells_the_scale(reading: float, said: str) -> None:
    assert said in known_pressure(reading * BAR, 100 * BAR, Shown())


def test_a_zero_is_taken_on_top_of_the_one_before() -> None:
    channel = Channel("P", chain=Chain(range_low=0.0, range_high=600 * BAR, zero=0.5 * BAR))
    zero, words = zero_of(channel, Rest(-0.8 * BAR, 100.0, 600), Shown())
    assert zero == pytest.approx(-0.3 * BAR)
    assert "−0.8 bar" in words


@pytest.mark.parametrize(
    ("rest", "said"),
    [
        (Rest(30 * BAR, 100.0, 600), "too far from zero"),
        (Rest(0.1 * BAR, 100.0, 3), "too few samples"),
        (Rest(np.nan, np.nan, 0), "too few samples"),
    ],
)
def test_no_zero_is_taken_of_a_pressure_or_of_nothing(rest: Rest, said: str) -> None:
    channel = Channel("P", chain=Chain(range_low=0.0, range_high=600 * BAR))
    zero, words = zero_of(channel, rest, Shown())
    assert zero is None
    assert said in words
