"""Scripts of machines that nobody tuned the analysis for, drawn by number.

Each number gives one machine, of a size, a kit and a manoeuvre of its own; the kind of manoeuvre
goes round with the number, so that a few numbers in a row hold all of them. The machines are the
invented excavator made smaller or larger (all flows, volumes, areas and torques alike), set to
other pressures.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugebench.model.role import ControlPort
from gaugebench.simulate.moves import Move, Script, Switch
from gaugebench.simulate.oil import Oil
from gaugebench.simulate.plant import BAR, Control, CutOff, Function, Plant, Relief, standard_plant
from gaugebench.simulate.rig import STANDARD, Rigging

KINDS = (
    "one over relief", "both over relief", "one cut off", "both cut off", "light travel",
    "boom", "boost", "port relief", "part lever", "servo port", "signal port", "load sensing",
    "rising control", "feathered", "soft relief", "shared relief", "torque low", "neutral",
)  # fmt: skip
"""What is done; the number's remainder picks one."""
RATES_HZ = (100.0, 200.0, 250.0, 500.0, 1000.0, 2000.0)
CUT_OFF_OUT = Switch("cut-off", 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Drawn:
    """One drawn script. number: what it was drawn by. kind: one of `KINDS`."""

    number: int
    kind: str
    script: Script

    @property
    def name(self) -> str:
        """For tables."""
        return f"{self.number} {self.kind}"


def draw(number: int) -> Drawn:
    """The machine and manoeuvre of a number; the same again every time."""
    kind = KINDS[number % len(KINDS)]
    random = np.random.default_rng(20_000 + number)
    servo = kind == "servo port" or (kind == "torque low" and random.random() < 0.5)
    plant = _sized(_standard(kind, random), float(random.uniform(0.4, 2.2)))
    plant = _set(plant, kind, random)
    if servo:
        plant = replace(plant, control_port=ControlPort.SERVO)
    plant, moves, switches = _done(plant, kind, random)
    script = Script(
        duration_s=max([4.0, *(m.end_s + 1.5 for m in moves)]),
        moves=tuple(moves),
        switches=tuple(switches),
        plant=plant,
        rigging=_kit(random, servo=servo),
        rate_hz=float(random.choice(RATES_HZ)),
        seed=number,
    )
    return Drawn(number, kind, script)


def _standard(kind: str, random: np.random.Generator) -> Plant:
    kinds = {"load sensing": Control.LOAD_SENSING, "rising control": Control.NEGATIVE}
    control = kinds.get(kind, Control.POSITIVE)
    if kind in ("both cut off", "boom", "shared relief") and random.random() < 0.4:
        control = Control.NEGATIVE
    plant = standard_plant(control)
    if kind == "signal port":
        plant = replace(plant, control_port=ControlPort.SIGNAL)
    pistons = int(random.choice((7, 9, 11)))
    air = float(random.uniform(0.0005, 0.01))
    one, two = plant.pumps
    return replace(
        plant,
        pumps=(replace(one, pistons=pistons), replace(two, pistons=pistons)),
        oil=replace(Oil.grade(int(random.choice((32, 46, 68)))), air=air),
        oil_celsius=float(random.uniform(25, 65)),
    )


def _sized(plant: Plant, size: float) -> Plant:
    """The same machine, larger or smaller: everything that oil flows through or fills."""
    one, two = plant.pumps
    engine, relief, stroking = plant.engine, plant.reliefs[0], plant.strokings[0]
    return replace(
        plant,
        pumps=(
            replace(one, displacement=one.displacement * size, leak=one.leak * size,
                    friction_nm=one.friction_nm * size, gallery=one.gallery * size),
            replace(two, displacement=two.displacement * size, leak=two.leak * size,
                    friction_nm=two.friction_nm * size, gallery=two.gallery * size),
        ),
        reliefs=(replace(relief, rated_flow=relief.rated_flow * size),) * 2,
        strokings=(replace(stroking, orifice=stroking.orifice * size),) * 2,
        torque_nm=plant.torque_nm * size,
        engine=replace(
            engine, torque_nm=engine.torque_nm * size, inertia=engine.inertia * size,
            friction_nm=engine.friction_nm * size,
        ),
        functions=tuple(_sized_function(f, size) for f in plant.functions),
        centre=plant.centre * size,
        merge_flow=plant.merge_flow * size,
    )  # fmt: skip


def _sized_function(f: Function, size: float) -> Function:
    return replace(
        f, area_a=f.area_a * size, area_b=f.area_b * size, mass=f.mass * size, load=f.load * size,
        friction=f.friction * size, inlet=f.inlet * size, outlet=f.outlet * size,
        dead=f.dead * size, leak=f.leak * size,
    )  # fmt: skip


def _set(plant: Plant, kind: str, random: np.random.Generator) -> Plant:
    """The machine's pressures, all in proportion to one."""
    level = float(random.uniform(200, 400)) * BAR
    share = level / (330 * BAR)
    # Port reliefs stand above the main relief, soft as it may be.
    ports = share * (1.25 if kind == "soft relief" else 1.0)
    apart = 1 + random.uniform(-0.04, 0.04)
    override, lag_s = float(random.uniform(0.025, 0.08)), float(random.uniform(0.002, 0.006))
    if kind == "soft relief":
        override, lag_s = float(random.uniform(0.10, 0.25)), 0.0015
    relief = replace(plant.reliefs[0], crack=level, override=override, lag_s=lag_s)
    other: Relief = replace(relief, crack=level * apart)
    start = level * float(random.uniform(0.90, 0.95))
    band = level * float(random.uniform(0.03, 0.07))
    cut = CutOff(start=start, band=band)
    torque = plant.torque_nm * share * float(random.uniform(0.8, 1.3))
    if kind == "torque low":
        torque *= float(random.uniform(0.35, 0.6))
    return replace(
        plant,
        reliefs=(relief, other),
        shared_relief=kind == "shared relief",
        cutoffs=(cut, replace(cut, start=start * apart)),
        torque_nm=torque,
        engine=replace(plant.engine, torque_nm=plant.engine.torque_nm * max(1.0, 1.2 * share)),
        functions=tuple(
            replace(f, port_a=f.port_a * ports, port_b=f.port_b * ports) for f in plant.functions
        ),
    )


def _kit(random: np.random.Generator, *, servo: bool) -> Rigging:
    lag_s, noise = float(random.uniform(0.0005, 0.004)), float(random.uniform(0.5, 4.0))
    bits = int(random.choice((12, 14, 16)))
    probes = []
    for probe in STANDARD:
        # The stroking piston sees a good part of main pressure.
        full = 250 * BAR if servo and probe.name.startswith("c") else probe.range_pa
        noise_pa = probe.noise_pa * noise * full / probe.range_pa
        probes.append(replace(probe, range_pa=full, bits=bits, lag_s=lag_s, noise_pa=noise_pa))
    return Rigging(tuple(probes))


def _done(
    plant: Plant, kind: str, random: np.random.Generator
) -> tuple[Plant, list[Move], list[Switch]]:
    """The moves and switches of a kind, and the machine with its actuators where they begin."""
    for name in ("bucket", "arm", "boom"):
        plant = plant.with_function(name, start=plant.function(name).stroke)
    start = float(random.uniform(1.2, 2.4))
    hold, rise = float(random.uniform(1.8, 3.2)), float(random.uniform(0.1, 0.7))
    fall = float(random.uniform(0.08, 0.4))
    bucket = Move("bucket", start, hold, 1.0, rise, fall)
    arm = replace(bucket, function="arm", start_s=start + float(random.uniform(-0.15, 0.15)))
    both, out = [bucket, arm], [CUT_OFF_OUT]
    in_service = random.random() < 0.5
    match kind:
        case "one over relief" | "soft relief":
            return plant, [bucket], out
        case "both over relief" | "torque low":
            return plant, both, out
        case "one cut off":
            return plant, [arm], []
        case "both cut off" | "rising control" | "load sensing":
            return plant, both, []
        case "light travel":
            f = plant.function("bucket")
            # The main pressure then stands at 30 to 36 bar while the bucket moves.
            light = f.area_a * float(random.uniform(12, 18)) * BAR
            plant = plant.with_function("bucket", start=0.2, load=light)
            return plant, [replace(bucket, hold_s=hold + 2.5)], [] if in_service else out
        case "boom":
            load = plant.function("boom").area_a * float(random.uniform(40, 110)) * BAR
            plant = plant.with_function("boom", start=0.45, load=load)
            return (
                plant,
                [replace(bucket, function="boom", hold_s=hold + 2.5)],
                ([] if in_service else out),
            )
        case "boost":
            at = start + rise + hold
            on, off = Switch("boost", at, 1.0), Switch("boost", start, 1.0)
            switches = [on] if in_service else [off, replace(on, value=0.0)]
            return plant, [replace(bucket, hold_s=2 * hold)], [*out, *switches]
        case "port relief":
            low = plant.reliefs[0].crack * float(random.uniform(0.7, 0.85))
            plant = plant.with_function("bucket", port_a=low)
            boom = replace(bucket, function="boom", value=-1.0, start_s=bucket.end_s + 1.5)
            again = replace(bucket, start_s=boom.end_s + 1.5)
            plant = plant.with_function("boom", start=0.0)
            return plant, [bucket, boom, again], out
        case "part lever":
            return plant, [replace(bucket, value=float(random.uniform(0.4, 0.6)))], out
        case "servo port" | "signal port":
            return plant, both if random.random() < 0.6 else [bucket], [] if in_service else out
        case "feathered":
            slow = float(random.uniform(2.0, 3.5))
            return plant, [replace(m, rise_s=slow) for m in both], [] if in_service else out
        case "shared relief":
            return plant, both if random.random() < 0.7 else [arm], out
    return plant, [], []
