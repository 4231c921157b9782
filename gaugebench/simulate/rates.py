"""How fast everything in the machine changes: the right-hand side of its equations.

The state is one flat list of floats; `rates` gives its derivative and the part of the Jacobian on
the diagonal, which is what makes the pressures stiff. It is a closure over plain floats because
that is what pure Python evaluates fastest.

State, by index: main pressures (0, 1), strokes (2, 3), the pressures the cut-offs feel (4, 5),
control signals (6, 7), regulated control pressures (8, 9), relief openings (10, 11), the sum of
mains that the torque limit feels (12), pilot pressure (13), engine speed in rad/s (14), governor
torque (15); then for each function spool (−1 to 1), position, speed, pressure at A, pressure at B.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, pi, sqrt, tanh

from gaugebench.simulate.plant import BAR, Control, Motion, Plant

P, S, FELT, SIGNAL, REGULATED, RELIEF, SUM, PILOT, TURN, GOVERNOR, FUNCTIONS = (
    0, 2, 4, 6, 8, 10, 12, 13, 14, 15, 16,
)  # fmt: skip
WIDTH = 5
"""State entries of one function."""
SMOOTH_PA = 2e5
"""Below this difference of pressure an orifice's flow turns laminar."""
SPOOL_LAG_S = 0.035
RESIDUAL = 5.5 * BAR
LEVER_DEAD, LEVER_FULL, SPOOL_FULL = 6 * BAR, 30 * BAR, 26 * BAR


@dataclass(slots=True)
class Demand:
    """What the operator asks for: one lever value (−1 to 1) a function; engine speed in rpm."""

    levers: list[float]
    no_load_rpm: float
    cut_off: bool = True
    active: Sequence[int] = ()
    """The functions that move or are asked to; the others stand locked behind their spools."""


Rates = Callable[[list[float], Demand, list[float]], list[float]]
"""(state, demand, diagonal to be filled) → derivative."""


def orifice(conductance: float, difference: float) -> float:
    """Flow, m³/s, through an orifice of `conductance` = Cd·A·√(2/ρ), turning laminar near zero.

    Above `SMOOTH_PA` this is Cd·A·√(2Δp/ρ) within 1 % from 5 times that difference.
    """
    return conductance * difference / sqrt(sqrt(difference * difference + SMOOTH_PA * SMOOTH_PA))


def rates_of(plant: Plant, celsius: float) -> Rates:
    """The equations of `plant` with its oil at `celsius`."""
    oil, control, return_pa = plant.oil, plant.control, plant.return_pa
    thinness = 30.0 / oil.viscosity(celsius)
    pumps, reliefs, cuts = plant.pumps, plant.reliefs, plant.cutoffs
    unit_flow = [p.displacement / (2 * pi) for p in pumps]
    leak = [p.leak * thinness for p in pumps]
    gallery = [p.gallery for p in pumps]
    relief_flow = [r.rated_flow / sqrt(r.crack * (1 + r.override)) for r in reliefs]
    relief_span = [r.crack * r.override for r in reliefs]
    none = [s.none for s in plant.strokings]
    reach = [s.full - s.none for s in plant.strokings]
    sense_orifice = 50e-3 / 60 / sqrt(30 * BAR)
    negative, foot = control is Control.NEGATIVE, plant.foot_pa
    engine, pilot = plant.engine, plant.pilot
    pilot_unit = pilot.displacement / (2 * pi)
    pilot_slope = pilot.displacement * engine.high_idle / 60 / (pilot.crack * pilot.override)
    pilot_leak = pilot.leak * thinness
    torque_product = plant.torque_nm * 2 * pi / pumps[0].displacement
    functions = plant.functions
    feeds = [f.feeds for f in functions]
    stiff = oil.stiffness

    def rates(x: list[float], demand: Demand, diagonal: list[float]) -> list[float]:
        dx = [0.0] * len(x)
        levers, active = demand.levers, demand.active
        pilot_pa, turn = x[PILOT], x[TURN]
        inlet = [0.0, 0.0]
        inlet_slope = [0.0, 0.0]
        opening = [1.0, 1.0]
        asked = [0.0, 0.0]
        for k in active:
            f = functions[k]
            at = FUNCTIONS + WIDTH * k
            lever, spool, place, speed, pa, pb = levers[k], *x[at : at + WIDTH]
            size = abs(lever)
            secondary = min(pilot_pa, LEVER_DEAD + size * (LEVER_FULL - LEVER_DEAD))
            goal = max(0.0, min(1.0, (secondary - LEVER_DEAD) / (SPOOL_FULL - LEVER_DEAD)))
            goal = goal if lever >= 0 else -goal
            dx[at] = (goal - spool) / SPOOL_LAG_S
            diagonal[at] = -1 / SPOOL_LAG_S
            drive = pa if spool >= 0 else pb
            width = abs(spool)
            into, into_slope = 0.0, 0.0
            for i in (0, 1):
                feed = feeds[k][i]
                if feed:
                    opening[i] *= max(0.0, 1 - width * 1.1)
                    asked[i] = max(asked[i], size)
                    difference = x[P + i] - drive
                    if difference > 0:  # the load check lets nothing back
                        flow = orifice(f.inlet * width * feed, difference)
                        into += flow
                        slope = flow / difference
                        into_slope += slope
                        inlet[i] += flow
                        inlet_slope[i] += slope
            back = pb if spool >= 0 else pa
            out = orifice(f.outlet * width, back - return_pa)
            out_slope = abs(out / (back - return_pa)) if back != return_pa else 0.0
            a_in, b_in = (into, -out) if spool >= 0 else (-out, into)
            a_slope, b_slope = (into_slope, out_slope) if spool >= 0 else (out_slope, into_slope)
            over_a = max(0.0, pa - f.port_a) * PORT_SLOPE
            over_b = max(0.0, pb - f.port_b) * PORT_SLOPE
            if f.motion is Motion.CYLINDER:
                a_volume = f.dead + f.area_a * max(place, 0.0)
                b_volume = f.dead + f.area_b * max(f.stroke - place, 0.0)
                a_back = b_back = 0.0
            else:
                a_volume = b_volume = f.dead
                a_back, b_back = over_b, over_a
            a_fill = max(0.0, -pa) * FILL_SLOPE
            b_fill = max(0.0, -pb) * FILL_SLOPE
            gain = stiff(pa) / a_volume
            dx[at + 3] = gain * (a_in - over_a + a_back + a_fill - f.area_a * speed)
            diagonal[at + 3] = -gain * (
                a_slope + (PORT_SLOPE if over_a else 0.0) + (FILL_SLOPE if a_fill else 0.0)
            )
            gain = stiff(pb) / b_volume
            dx[at + 4] = gain * (b_in - over_b + b_back + b_fill + f.area_b * speed)
            diagonal[at + 4] = -gain * (
                b_slope + (PORT_SLOPE if over_b else 0.0) + (FILL_SLOPE if b_fill else 0.0)
            )
            grip = tanh(speed / SLOW)
            force = pa * f.area_a - pb * f.area_b - f.load - f.friction * grip
            damping = f.friction / SLOW * (1 - grip * grip)
            beyond = min(place, 0.0) or max(place - f.stroke, 0.0)
            if beyond:
                stop = STOP_RATE * STOP_RATE * f.mass
                force -= stop * beyond + STOP_DAMPING * STOP_RATE * f.mass * speed
                damping += STOP_DAMPING * STOP_RATE * f.mass
            dx[at + 1] = speed
            dx[at + 2] = force / f.mass
            diagonal[at + 2] = -damping / f.mass

        load_torque = engine.friction_nm + pilot_unit * max(pilot_pa, 0.0) / 0.9
        share_torque = torque_product / max(x[SUM], 1 * BAR)
        for i in (0, 1):
            pump, cut = pumps[i], cuts[i]
            main = x[P + i]
            felt = x[FELT + i]
            stroke = x[S + i]
            above = main if main > 1.0 else 1.0
            root = sqrt(above)
            passing = relief_flow[i] * x[RELIEF + i]
            bypass_k = plant.centre * opening[i]
            if negative:
                head = above
                sense = (
                    above
                    * bypass_k
                    * bypass_k
                    / (bypass_k * bypass_k + sense_orifice * sense_orifice)
                )
                bypass = sense_orifice * sqrt(sense)
            else:
                head = main - foot if main > foot + 1.0 else 1.0
                bypass = orifice(bypass_k, head)
            delivered = stroke * unit_flow[i] * turn
            gain = stiff(main) / gallery[i]
            dx[P + i] = gain * (delivered - leak[i] * main - passing * root - bypass - inlet[i])
            diagonal[P + i] = -gain * (
                leak[i] + 0.5 * passing * root / above + bypass / head + inlet_slope[i]
            )
            load_torque += stroke * unit_flow[i] * main / pump.mechanical + pump.friction_nm

            goal = (main - reliefs[i].crack) / relief_span[i]
            dx[RELIEF + i] = (max(0.0, min(1.6, goal)) - x[RELIEF + i]) / reliefs[i].lag_s
            diagonal[RELIEF + i] = -1 / reliefs[i].lag_s

            dx[FELT + i] = (main - felt) / cut.lag_s
            diagonal[FELT + i] = -1 / cut.lag_s
            allowed = share_torque
            if demand.cut_off:
                leading = main + cut.lead_s * (main - felt) / cut.lag_s
                allowed = min(allowed, 1 - (leading - cut.start) / cut.band)
            allowed = max(0.0, min(1.0, allowed))

            if negative:
                wanted = sense
                limit = none[i] + reach[i] * (1 - allowed)
                lag = 0.012
                passed = max(x[SIGNAL + i], limit)
                stroking = 1 - (x[REGULATED + i] - none[i]) / reach[i]
            else:
                wanted = RESIDUAL
                if asked[i]:
                    wanted = min(pilot_pa, LEVER_DEAD + asked[i] * (LEVER_FULL - LEVER_DEAD))
                limit = none[i] + reach[i] * allowed
                lag = 0.020
                passed = min(x[SIGNAL + i], limit)
                stroking = (x[REGULATED + i] - none[i]) / reach[i]
            dx[SIGNAL + i] = (wanted - x[SIGNAL + i]) / lag
            diagonal[SIGNAL + i] = -1 / lag
            dx[REGULATED + i] = (passed - x[REGULATED + i]) / plant.strokings[i].lag_s
            diagonal[REGULATED + i] = -1 / plant.strokings[i].lag_s
            stroking = max(pump.least_stroke, min(1.0, stroking))
            lag = pump.up_s if stroking > stroke else pump.down_s
            dx[S + i] = (stroking - stroke) / lag
            diagonal[S + i] = -1 / lag

        dx[SUM] = (x[P] + x[P + 1] - x[SUM]) / plant.torque_lag_s
        diagonal[SUM] = -1 / plant.torque_lag_s
        over = max(0.0, pilot_pa - pilot.crack) * pilot_slope
        gain = stiff(pilot_pa) / pilot.volume
        dx[PILOT] = gain * (pilot_unit * turn - pilot_leak * pilot_pa - over)
        diagonal[PILOT] = -gain * (pilot_leak + (pilot_slope if over else 0.0))
        no_load = demand.no_load_rpm * pi / 30
        asked_torque = engine.torque_nm * (no_load - turn) / (engine.droop * no_load)
        dx[GOVERNOR] = (max(0.0, min(engine.torque_nm, asked_torque)) - x[GOVERNOR]) / engine.lag_s
        diagonal[GOVERNOR] = -1 / engine.lag_s
        dx[TURN] = (x[GOVERNOR] - load_torque) / engine.inertia
        return dx

    return rates


PORT_SLOPE = 200e-3 / 60 / (20 * BAR)
"""A direct-acting port relief: 200 L/min at 20 bar above its crack, in m³/s a Pa."""
FILL_SLOPE = 200e-3 / 60 / (1 * BAR)
"""Anti-cavitation check from the return line."""
SLOW = 0.01
"""Speed, m/s or rad/s, at which dry friction has taken hold."""
STOP_RATE, STOP_DAMPING = 300.0, 1.2
ENDLESS = inf
