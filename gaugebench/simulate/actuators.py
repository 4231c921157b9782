"""Spools, cylinders and motors: how fast they change, and what they take from the pumps."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt, tanh

from gaugebench.simulate.layout import FUNCTIONS, PILOT, WIDTH, Demand, Link, P
from gaugebench.simulate.plant import BAR, Motion, Plant
from gaugebench.simulate.valves import (
    FILL_SLOPE,
    LEVER_DEAD,
    LEVER_FULL,
    PORT_SLOPE,
    SMOOTH_PA,
    SPOOL_FULL,
    SPOOL_LAG_S,
    SPOOL_OIL,
)

STOP_RATE, STOP_DAMPING = 300.0, 1.2
"""An end stop: the natural frequency of the mass on it, rad/s, and its damping."""
SLOW_CYLINDER, SLOW_MOTOR = 0.01, 1.0
"""Speed, m/s or rad/s, at which dry friction has taken hold."""

Move = Callable[[list[float], Demand, list[float], list[float], Link], None]


def actuators_of(plant: Plant) -> Move:
    """The equations of all functions: (state, demand, derivative, diagonal, link), filled in."""
    functions, return_pa = plant.functions, plant.return_pa
    stiff = plant.oil.stiffness_curve()
    smooth2 = SMOOTH_PA * SMOOTH_PA

    def move(
        x: list[float], demand: Demand, dx: list[float], diagonal: list[float], link: Link
    ) -> None:
        pilot_pa, thinness = x[PILOT], 30.0 / demand.nu
        supply = min(1.0, pilot_pa / LEVER_FULL) if pilot_pa > BAR else 0.03
        spool_rate = supply / (SPOOL_LAG_S * (1 + demand.nu / 400.0))
        at = FUNCTIONS - WIDTH
        for k in demand.active:
            f = functions[k]
            at += WIDTH
            lever = demand.levers[k]
            spool, place, speed, pa, pb = x[at : at + WIDTH]
            size = abs(lever)
            secondary = min(pilot_pa, LEVER_DEAD + size * (LEVER_FULL - LEVER_DEAD))
            goal = max(0.0, min(1.0, (secondary - LEVER_DEAD) / (SPOOL_FULL - LEVER_DEAD)))
            dx[at] = shift = ((goal if lever >= 0 else -goal) - spool) * spool_rate
            diagonal[at] = -spool_rate
            link.pilot_flow += SPOOL_OIL * abs(shift)
            forward, width = spool >= 0, abs(spool)
            drive, back = (pa, pb) if forward else (pb, pa)

            into = into_slope = 0.0
            slopes = [0.0, 0.0]
            for i in (0, 1):
                feed = f.feeds[i]
                if feed:
                    link.opening[i] *= max(0.0, 1 - width * 1.1)
                    if size > link.asked[i]:
                        link.asked[i] = size
                    load = drive * min(1.0, 20 * width)  # the shuttle opens with the spool
                    if load > link.load[i]:
                        link.load[i] = load
                    difference = x[P + i] - drive
                    if difference > 0 and width > 0:  # the load check lets nothing back
                        square = difference * difference
                        secant = f.inlet * width * feed / sqrt(sqrt(square + smooth2))
                        slope = secant * (1 - 0.5 * square / (square + smooth2))
                        link.inlet[i] += secant * difference
                        link.slope[i] += slope
                        slopes[i] = slope
                        into += secant * difference
                        into_slope += slope
            if f.merge and lever * f.merge > 0.05:
                link.merging = 1.0
            difference = back - return_pa
            square = difference * difference
            out_slope = f.outlet * width / sqrt(sqrt(square + smooth2))
            out = out_slope * difference
            out_slope *= 1 - 0.5 * square / (square + smooth2)

            area_a, area_b = f.area_a, f.area_b
            if f.motion is Motion.CYLINDER:
                a_volume = f.dead + area_a * max(place - f.low, 0.0)
                b_volume = f.dead + area_b * max(f.stroke - place, 0.0)
                slow = SLOW_CYLINDER
            else:
                a_volume = b_volume = f.dead
                if demand.fast and f.fast != 1.0:
                    area_a, area_b = area_a * f.fast, area_b * f.fast
                slow = SLOW_MOTOR
            a_flow, b_flow = (into, -out) if forward else (-out, into)
            a_slope, b_slope = (into_slope, out_slope) if forward else (out_slope, into_slope)
            if pa > f.port_a:
                over = (pa - f.port_a) * PORT_SLOPE
                a_flow -= over
                a_slope += PORT_SLOPE
                if f.motion is Motion.MOTOR:
                    b_flow += over
            if pb > f.port_b:
                over = (pb - f.port_b) * PORT_SLOPE
                b_flow -= over
                b_slope += PORT_SLOPE
                if f.motion is Motion.MOTOR:
                    a_flow += over
            if pa < 0:
                a_flow -= pa * FILL_SLOPE
                a_slope += FILL_SLOPE
            if pb < 0:
                b_flow -= pb * FILL_SLOPE
                b_slope += FILL_SLOPE
            if f.leak:
                leak = f.leak * thinness
                a_flow -= leak * (pa - pb)
                b_flow += leak * (pa - pb)
            a_gain = stiff(pa) / a_volume
            dx[at + 3] = a_gain * (a_flow - area_a * speed)
            diagonal[at + 3] = -a_gain * a_slope
            b_gain = stiff(pb) / b_volume
            dx[at + 4] = b_gain * (b_flow + area_b * speed)
            diagonal[at + 4] = -b_gain * b_slope
            if into_slope:
                where, gain = (at + 3, a_gain) if forward else (at + 4, b_gain)
                link.drives.append((where, slopes[0], slopes[1], gain))

            push = pa * area_a - pb * area_b
            link.work += push * speed
            grip = tanh(speed / slow)
            force = push - f.load - f.friction * grip
            damping = f.friction / slow * (1 - grip * grip)
            beyond = min(place - f.low, 0.0) or max(place - f.stroke, 0.0)
            if beyond:
                force -= f.mass * STOP_RATE * (STOP_RATE * beyond + STOP_DAMPING * speed)
                damping += f.mass * STOP_RATE * STOP_DAMPING
            dx[at + 1] = speed
            dx[at + 2] = force / f.mass
            diagonal[at + 2] = -damping / f.mass

    return move
