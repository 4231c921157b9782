"""How fast everything in the machine changes: the right-hand side of its equations.

`rates` gives the derivative of the state and the stiff part of its Jacobian. It is a closure over
plain floats because pure Python evaluates that fastest.
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sqrt

from gaugebench.simulate.actuators import actuators_of
from gaugebench.simulate.layout import (
    FELT,
    GOVERNOR,
    MERGE,
    OIL,
    PILOT,
    REGULATED,
    RELIEF,
    SIGNAL,
    SUM,
    TURN,
    Demand,
    Link,
    P,
    S,
    Slopes,
)
from gaugebench.simulate.plant import BAR, Control, Plant
from gaugebench.simulate.valves import (
    CHECK_PA,
    LEVER_DEAD,
    LEVER_FULL,
    MERGE_OVERLAP,
    RESIDUAL,
    SMOOTH_PA,
    STALL,
    UNLOAD_PA,
    UNLOAD_SLOPE,
    orifice,
)

Rates = Callable[[list[float], Demand, Slopes], list[float]]
"""(state, demand, slopes to be filled) → derivative."""


def rates_of(plant: Plant) -> Rates:
    """The equations of `plant`."""
    move, stiff, shared = actuators_of(plant), plant.oil.stiffness_curve(), plant.shared_relief
    pumps, reliefs, cuts, strokings = plant.pumps, plant.reliefs, plant.cutoffs, plant.strokings
    unit_flow = [p.displacement / (2 * pi) for p in pumps]
    valve_flow = [r.rated_flow / sqrt(r.crack * (1 + r.override)) for r in reliefs]
    none = [s.none for s in strokings]
    reach = [s.full - s.none for s in strokings]
    is_negative = plant.control is Control.NEGATIVE
    is_sensing = plant.control is Control.LOAD_SENSING
    # The least-flow stop: a signal beyond it strokes the pump no further down.
    stop_pa = [s.none + r * (1 - s.neutral) for s, r in zip(strokings, reach, strict=True)]
    engine, pilot = plant.engine, plant.pilot
    pilot_unit = pilot.displacement / (2 * pi)
    pilot_slope = pilot.displacement * engine.high_idle / 60 / (pilot.crack * pilot.override)
    torque_product = plant.torque_nm * 2 * pi / pumps[0].displacement

    def rates(x: list[float], demand: Demand, slopes: Slopes) -> list[float]:
        dx, diagonal = [0.0] * len(x), slopes.diagonal
        link = Link([0.0, 0.0], [0.0, 0.0], [1.0, 1.0], [0.0, 0.0], [0.0, 0.0], [])
        gains = [0.0, 0.0]
        move(x, demand, dx, diagonal, link)
        turn, thinness = max(x[TURN], 0.0), 30.0 / demand.nu
        thickness = sqrt(demand.nu / 30.0)
        boost = 1.0 if demand.boost else 0.0

        merge = x[MERGE]
        dx[MERGE] = (link.merging - merge) / plant.merge_lag_s
        diagonal[MERGE] = -1 / plant.merge_lag_s
        merge = max(0.0, (merge - MERGE_OVERLAP) / (1 - MERGE_OVERLAP))
        across = across_slope = 0.0
        if merge > 1e-4:
            across = orifice(plant.merge_flow * merge, x[P] - x[P + 1])
            square = (x[P] - x[P + 1]) ** 2 + SMOOTH_PA * SMOOTH_PA
            across_slope = plant.merge_flow * merge / sqrt(sqrt(square))
            across_slope *= 0.5 + 0.5 * SMOOTH_PA * SMOOTH_PA / square
        if link.merging:
            link.asked = [max(link.asked)] * 2
        if merge > 0:
            link.opening = [o * max(0.0, 1 - merge) for o in link.opening]
            link.load = [max(link.load)] * 2

        taken = engine.friction_nm
        hydraulic = pilot_unit * max(x[PILOT], 0.0) / 0.9
        share = torque_product / max(x[SUM], BAR)
        higher, portion = max(x[P], x[P + 1]), (1.0, 1.0)
        if shared:
            difference = x[P] - x[P + 1]
            width = sqrt(difference * difference + CHECK_PA * CHECK_PA)
            portion = (0.5 + 0.5 * difference / width, 0.5 - 0.5 * difference / width)
            over = valve_flow[0] * x[RELIEF] * sqrt(max(higher, 1.0))
            across_slope += 0.5 * over * CHECK_PA * CHECK_PA / (width * width * width)
        for i in (0, 1):
            main, felt, stroke = x[P + i], x[FELT + i], x[S + i]
            above = main if main > 1.0 else 1.0

            acting, relief = (higher, reliefs[0]) if shared else (main, reliefs[i])
            opening = x[RELIEF + i]
            crack = relief.crack * (1 + relief.boost * boost)
            span = crack * relief.override * (0.9 + 0.1 * thickness)
            if relief.stick:
                crack *= 1 + relief.stick * max(0.0, 1 - 10 * opening)
            goal = max(0.0, min(1.6, (acting - crack) / span))
            rate = 1 / (relief.lag_s * thickness)
            dx[RELIEF + i] = (goal - opening) * rate
            diagonal[RELIEF + i] = -rate
            passing = valve_flow[0 if shared else i] * opening * sqrt(above) * portion[i]
            passing_slope = 0.5 * passing / above

            centre = plant.centre * link.opening[i]
            sense = bypass = bypass_slope = 0.0
            if is_negative:
                below = strokings[i].orifice
                sense = above * centre * centre / (centre * centre + below * below)
                if sense < strokings[i].sense_cap:
                    bypass = below * sqrt(sense)
                    bypass_slope = 0.5 * bypass / above
                else:
                    sense = strokings[i].sense_cap
                    bypass = centre * sqrt(max(above - sense, 0.0))
                    bypass_slope = 0.5 * bypass / max(above - sense, BAR)
            elif is_sensing:
                # The unloader of a closed centre keeps the stand-by pressure down.
                beyond = main - x[SIGNAL + i] - UNLOAD_PA
                if beyond > 0:
                    bypass, bypass_slope = beyond * UNLOAD_SLOPE, UNLOAD_SLOPE
            elif main > plant.foot_pa:
                bypass = orifice(centre, main - plant.foot_pa)
                bypass_slope = bypass / (main - plant.foot_pa)

            delivered = stroke * unit_flow[i] * turn
            gains[i] = gain = stiff(main) / pumps[i].gallery
            leak = pumps[i].leak * thinness
            lost = leak * main + passing + bypass + link.inlet[i]
            dx[P + i] = gain * (delivered - lost + (across if i else -across))
            diagonal[P + i] = -gain * (
                leak + passing_slope + bypass_slope + link.slope[i] + across_slope
            )
            hydraulic += stroke * unit_flow[i] * main / pumps[i].mechanical + pumps[i].friction_nm

            cut = cuts[i]
            dx[FELT + i] = (main - felt) / cut.lag_s
            diagonal[FELT + i] = -1 / cut.lag_s
            ahead = cut.lead_s * (main - felt) / cut.lag_s
            leading = main + max(-cut.most_pa, min(cut.most_pa, ahead))
            allowed = share
            if demand.cut_off:
                allowed = min(allowed, 1 - (leading - cut.start) / cut.band)
            s = strokings[i]
            if is_sensing:
                wanted = link.load[i]
                lack = x[SIGNAL + i] + s.margin + s.margin_band - leading
                allowed = min(allowed, lack / s.margin_band)
            elif is_negative:
                wanted = sense
            elif link.asked[i]:
                wanted = min(x[PILOT], LEVER_DEAD + link.asked[i] * (LEVER_FULL - LEVER_DEAD))
            else:
                wanted = RESIDUAL
            allowed = max(0.0, min(1.0, allowed))
            regulated = x[REGULATED + i]
            if is_negative:
                passed = max(min(x[SIGNAL + i], stop_pa[i]), none[i] + reach[i] * (1 - allowed))
                goal = 1 - (regulated - none[i]) / reach[i]
            else:
                passed = none[i] + reach[i] * allowed
                if not is_sensing and x[SIGNAL + i] < passed:
                    passed = x[SIGNAL + i]
                goal = (regulated - none[i]) / reach[i]
            dx[SIGNAL + i] = (wanted * s.signal_share - x[SIGNAL + i]) / s.signal_lag_s
            diagonal[SIGNAL + i] = -1 / s.signal_lag_s
            dx[REGULATED + i] = (passed - regulated) / s.lag_s
            diagonal[REGULATED + i] = -1 / s.lag_s
            goal = max(0.0, min(1.0, goal))
            lag = pumps[i].up_s if goal > stroke else pumps[i].down_s
            dx[S + i] = (goal - stroke) / lag
            diagonal[S + i] = -1 / lag

        if link.drives:
            g0, g1 = gains
            slopes.drives = [
                (at, g0 * s0, g1 * s1, g * s0, g * s1) for at, s0, s1, g in link.drives
            ]
        slopes.across = (gains[0] * across_slope, gains[1] * across_slope)
        dx[SUM] = (x[P] + x[P + 1] - x[SUM]) / plant.torque_lag_s
        diagonal[SUM] = -1 / plant.torque_lag_s

        pilot_pa, leak = x[PILOT], pilot.leak * thinness
        over = max(0.0, pilot_pa - pilot.crack) * pilot_slope
        gain = stiff(pilot_pa) / pilot.volume
        dx[PILOT] = gain * (pilot_unit * turn - leak * pilot_pa - over - link.pilot_flow)
        diagonal[PILOT] = -gain * (leak + (pilot_slope if over else 0.0))

        taken += hydraulic
        no_load = demand.no_load_rpm * pi / 30
        most = engine.torque_nm * (
            1 + engine.backup * max(0.0, min(1.0, (1 - turn / no_load) / 0.3))
        )
        torque = engine.torque_nm * (no_load - turn) / (engine.droop * no_load)
        if turn < STALL:
            torque = 0.0  # it has died
        dx[GOVERNOR] = (max(0.0, min(most, torque)) - x[GOVERNOR]) / engine.lag_s
        diagonal[GOVERNOR] = -1 / engine.lag_s
        if turn > 0 or x[GOVERNOR] > taken:
            dx[TURN] = (x[GOVERNOR] - taken) / engine.inertia
        heat = hydraulic * turn - link.work - plant.cooling * (x[OIL] - plant.ambient)
        dx[OIL] = heat / plant.warmth
        return dx

    return rates
