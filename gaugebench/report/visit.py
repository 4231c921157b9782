"""A whole visit to the simulated machine, worked through by rule: job, traces and report.

For practice, demonstration and proof: three faults (main relief 1 low, cut-off 2 above its relief,
the relief of travel left low) are found, put right by the proposed turns alone, and read again.
Everything in it is invented, and the report says so on every page.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from gaugebench.analyse.figures import analyse
from gaugebench.errors import JobError
from gaugebench.model.job import EVENT, Hands, JobOpened
from gaugebench.model.saying import Saying
from gaugebench.model.trace import Trace
from gaugebench.procedure import follow, screws, sheet
from gaugebench.procedure.prompt import PORTS_RIGHT
from gaugebench.procedure.worksheet import Worksheet
from gaugebench.quantity import Number
from gaugebench.report.writing import KINDS, write
from gaugebench.simulate import screws as plant_screws
from gaugebench.simulate.machine import Machine
from gaugebench.simulate.moves import Move, Script, Switch
from gaugebench.simulate.plant import BAR, CutOff, Plant
from gaugebench.simulate.script import run
from gaugebench.store.tracefile import write_trace

TECHNICIAN = "R. Okonjo-Lindqvist (invented)"
_NEVER = CutOff(start=600 * BAR)
_STOPPED = ("swing", "travel left", "travel right")
_HELD = {"bucket": 1, "arm": 2, "travel left": 2}
_MOST_TURNS = 20
_U_PA = 3e5
"""k = 2, of the practice kit's main transducers: class 0.5 over 600 bar."""
FOUND: Mapping[int, str] = {
    0: "pump1-cut-off",
    1: "pump2-cut-off",
    3: "swing-relief",
    4: "travel-left-held",
    5: "travel-right-held",
    6: "main-relief-1",
    7: "main-relief-2",
}
"""Which loading of the first trace is which check: what the technician knows."""
LEFT: Mapping[int, str] = {
    0: "pump1-cut-off",
    1: "pump2-cut-off",
    2: "travel-left-held",
    3: "travel-right-held",
    4: "main-relief-1",
}


def sick() -> Plant:
    """The machine as it is found."""
    plant = Plant().with_function("travel left", port_a=262 * BAR)
    one, two = plant.reliefs
    left, right = plant.cutoffs
    return replace(
        plant,
        reliefs=(replace(one, crack=285 * BAR), two),
        cutoffs=(left, replace(right, start=358 * BAR)),
    )


def visit(folder: Path, started: datetime, say: Callable[[str], None] = lambda _: None) -> Path:
    """Work through the visit and write all of it into a folder that holds no job yet; the job.

    started: when it begins, with its zone. say: told what happens, a sentence at a time. Raises
    `JobError` where the folder holds a job already or something is not as it should be.
    """
    folder.mkdir(parents=True, exist_ok=True)
    work = _Work(folder, started, say)
    work.find()
    work.put_right()
    work.read_again()
    work.end()
    for kind in KINDS:
        made = write(work.sheet.state, work.traces, folder / f"report{kind}", made_at=work.now)
        say(f"The report is {made}.")
    return folder / "job.jsonl"


def rigged(plant: Plant) -> Plant:
    """Swing and tracks held as the sheet says, bucket and arm brought near their stops."""
    near = plant.with_function("bucket", start=1.04).with_function("arm", start=1.39)
    return replace(
        near, functions=tuple(f.blocked() if f.name in _STOPPED else f for f in near.functions)
    )


def as_found(plant: Plant) -> Script:
    """From low idle through the functions; the cut-off cancelled for the two last holds."""
    return Script(
        duration_s=38.0,
        plant=rigged(plant),
        engine_rpm=950.0,
        switches=(Switch("engine", 3.5, 2050.0), Switch("cut-off", 30.5, 0.0)),
        moves=(
            Move("bucket", 8.0, 1.7),
            Move("arm", 11.0, 1.7),
            Move("boom", 14.0, 6.0),
            Move("swing", 21.5, 1.7),
            Move("travel left", 24.5, 1.7),
            Move("travel right", 27.5, 1.7),
            Move("bucket", 31.5, 1.7),
            Move("arm", 34.5, 1.7),
        ),
    )


def as_left(plant: Plant) -> Script:
    """What was touched, once more."""
    return Script(
        duration_s=17.0,
        plant=rigged(plant),
        switches=(Switch("cut-off", 12.0, 0.0),),
        moves=(
            Move("bucket", 1.5, 1.5),
            Move("arm", 4.2, 1.5),
            Move("travel left", 6.9, 1.5),
            Move("travel right", 9.6, 1.5),
            Move("bucket", 13.0, 1.8),
        ),
    )


class _Work:
    def __init__(self, folder: Path, started: datetime, say: Callable[[str], None]) -> None:
        self.folder, self.now, self.say = folder, started, say
        self.plant = sick()
        self.traces: dict[str, Trace] = {}
        opened = JobOpened(
            at=started,
            job="practice visit",
            machine="Marten 21 tracked excavator (invented)",
            serial="MT21-0417",
            hour_meter_h=6412.0,
            site="Kestrel Hollow quarry (invented)",
            technician=TECHNICIAN,
            customer="Hollow Aggregates (invented)",
            simulated=True,
            sheet=sheet.invented_data(),
        )
        self.sheet = Worksheet.begin(opened, folder / "job.jsonl")

    def do(self, kind: str, **fields: Any) -> None:
        self.now += timedelta(minutes=1)
        self.sheet.take(EVENT.validate_python({"kind": kind, "at": self.now, **fields}))

    def find(self) -> None:
        """As found: the kit, the first trace, every loading accepted for what it was."""
        self._kit("before")
        self.do("hands", hands=Hands.UNDER_LOAD, confirmed_by=TECHNICIAN)
        self.do("conditions", conditions={"mode": "standard", "oil_c": 50.0, "boost_off": True})
        self.do("observed", fact=PORTS_RIGHT, holds=True)
        self._record("as-found.h5", as_found(self.plant))
        for check, value, unit, u in (
            ("low-idle", 945.0, "rpm", 8.0),
            ("high-idle", 2040.0, "rpm", 8.0),
            ("oil", 50.0, "°C", 1.0),
        ):
            self.do("reading", check=check, phase="as found", how="by hand",
                    value={"value": value, "unit": unit, "expanded": u})  # fmt: skip
        self._accept("as-found.h5", {n: k for n, k in FOUND.items() if n < 6})
        self._cancelled("as-found.h5", {n: k for n, k in FOUND.items() if n >= 6})
        self.do("signed", phase="as found", who="K. Orme (invented)", capacity="customer")
        self.do("as found locked", signed_by="K. Orme (invented)")
        self.say("As found is read, signed and locked.")

    def put_right(self) -> None:
        """Each screw as proposed, until nothing more is proposed."""
        for screw, check, function, cut_off in (
            ("relief 1", "main-relief-1", "bucket", False),
            ("cut-off 2", "pump2-cut-off", "arm", True),
            ("port travel left a", "travel-left-held", "travel left", True),
        ):
            count = 0
            while (proposal := screws.propose(self.sheet.state, screw, check)).turns:
                count += 1
                if count > _MOST_TURNS:
                    raise JobError(f"“{screw}” does not come into its band.")
                self._turn(screw, check, proposal.turns, self._hold(function, cut_off=cut_off))
            self.say(f"{screw}: {count} turn(s); {proposal.text}")

    def read_again(self) -> None:
        """Everything that was touched, once more, from a trace of its own."""
        self.do("hands", hands=Hands.UNDER_LOAD, confirmed_by=TECHNICIAN)
        self._record("as-left.h5", as_left(self.plant))
        self._accept("as-left.h5", {n: k for n, k in LEFT.items() if 2 <= n < 4})
        self._cancelled("as-left.h5", {4: LEFT[4]})
        # The cut-offs last: they are read after the test switch is back.
        self._accept("as-left.h5", {n: k for n, k in LEFT.items() if n < 2})
        self._drop_rest()

    def end(self) -> None:
        """What was not done, the kit's zeros, the signature, and closed."""
        for check in self.sheet.state.sheet.check:
            if self.sheet.state.latest(check.key) is None:
                self.do("not tested", check=check.key, why="not part of the practice visit")
        self._kit("after")
        for capacity, who in (("technician", TECHNICIAN), ("customer", "K. Orme (invented)")):
            self.do("signed", phase="as left", who=who, capacity=capacity)
        self.do("job closed")
        self.sheet.close()
        self.say("Everything touched was read once more; the job is closed.")

    def _kit(self, moment: str) -> None:
        for number, (role, top) in enumerate(
            (("pilot", 60), ("pump1.main", 600), ("pump1.control", 60), ("pump2.main", 600),
             ("pump2.control", 60)), 1,
        ):  # fmt: skip
            if moment == "before":
                self.do("kit used", role=role, serial=f"practice-{number}",
                        range_text=Saying("{low} to {high}", low="0", high=Number(f"{top} bar")),
                        accuracy=Saying("{percent} % of full scale", percent=Number("0.5")),
                        fitting="simulated, no hose")  # fmt: skip
            self.do("zero checked", role=role, serial=f"practice-{number}", moment=moment,
                    value={"value": 0.0, "unit": "Pa", "expanded": 500.0 * top})  # fmt: skip

    def _record(self, name: str, script: Script) -> None:
        trace, _ = run(script)
        figures = analyse(trace, sheet.settings(self.sheet.state.sheet))
        trace = replace(trace, started=self.now, marks=figures.marks)
        write_trace(trace, self.folder / name)
        self.traces[name] = trace
        state = self.sheet.state
        self.do("trace added", trace=name, phase=state.phase)
        done = follow.follow(self.sheet, figures, name, self.now, trace)
        self.say(f"{name}: {len(figures.loadings)} loadings, {len(done.queued)} offers to accept.")

    def _accept(self, name: str, wanted: Mapping[int, str]) -> None:
        for offer in list(self.sheet.state.offers.values()):
            quiet = offer.offer.partition("#quiet.")[2]
            loading = offer.source.loading
            check = quiet or (wanted.get(loading, "") if loading is not None else "")
            is_read = bool(quiet) and self.sheet.state.latest(check) is not None
            if (
                offer.source.trace == name
                and check in {f.check for f in offer.fits}
                and not is_read
            ):
                self.now += timedelta(seconds=20)
                follow.accept(self.sheet, offer.offer, check, self.now)

    def _cancelled(self, name: str, wanted: Mapping[int, str]) -> None:
        """Loadings that were made with the cut-off's test switch cancelled, and it put back."""
        change = self.sheet.state.sheet.find_change("cut-off raised")
        if change is None:
            raise JobError("The sheet does not say how the cut-off is raised.")
        self.do("hands", hands=Hands.IN)
        self.do("change made", change=change.key, what=change.kind, does=change.does,
                undo=change.undo, read_again=change.read_again)  # fmt: skip
        self._accept(name, wanted)
        self.do("change restored", change=change.key)
        if self.sheet.state.locked is None:
            self._drop_rest()

    def _drop_rest(self) -> None:
        for offer in list(self.sheet.state.offers):
            follow.drop(self.sheet, offer, "no check of this visit", self.now)

    def _turn(self, screw: str, check: str, turns: float, after: Callable[[], float]) -> None:
        state = self.sheet.state
        own = [t for t in state.turns if t.event.screw == screw]
        latest = state.latest(check)
        before = own[-1].last if own else latest.value if latest else None
        self.plant = plant_screws.turn(self.plant, screw, turns)
        name = f"{screw}, turn {len(own) + 1}"
        self.do("screw turned", turn=name, screw=screw, check=check, turns=turns, before=before)
        value = {"value": after(), "unit": "Pa", "expanded": _U_PA}
        for moment in ("after the turn", "after the lock nut", "after one load cycle"):
            self.do("screw read", turn=name, moment=moment, value=value)

    def _hold(self, function: str, *, cut_off: bool) -> Callable[[], float]:
        """What the pump of a function reads against its stop, once it is asked for, Pa."""

        def read() -> float:
            plant = self.plant if cut_off else replace(self.plant, cutoffs=(_NEVER, _NEVER))
            still = tuple(f.blocked() for f in plant.functions)
            machine = Machine(replace(plant, functions=still), None, 1e-3)
            machine.lever(function, 1.0)
            machine.advance(1.2)
            return machine.reading().main[_HELD[function] - 1]

        return read
