"""The worksheet of a running job: takes events, refuses what may not be, keeps all on disk."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from gaugebench.errors import JobError
from gaugebench.model.job import Conditions, CycleTimed, JobEvent, JobOpened, ReadingTaken
from gaugebench.procedure import gates, jobfile
from gaugebench.procedure.state import JobState, begin, evolve, replay


class Worksheet:
    """One job. `state` is what its events add up to; `faults` is what could not be read of it."""

    def __init__(self, events: Iterable[JobEvent], path: Path | None = None) -> None:
        """From events already taken. With a path, every further one is appended to that file."""
        self.events: list[JobEvent] = list(events)
        self.state: JobState = replay(self.events)
        self.faults: tuple[str, ...] = ()
        self._file = jobfile.JobFile(path) if path else None

    @classmethod
    def begin(cls, opened: JobOpened, path: Path | None = None) -> Worksheet:
        """A new job. Raises `JobError` where the file is there already, `SheetError`."""
        begin(opened)  # a faulty sheet is refused before a file is made
        if path is not None and path.exists():
            raise JobError(f"There is a job at {path} already; choose another name or resume it.")
        sheet = cls([opened], path)
        if sheet._file is not None:
            sheet._file.append([opened])
        return sheet

    @classmethod
    def resume(cls, path: Path) -> Worksheet:
        """The job in a file, as it stood when its last event was on disk. Raises `JobError`."""
        found = jobfile.read(path)
        sheet = cls(found.events, path)
        sheet.faults = found.faults
        return sheet

    def may(self, event: JobEvent) -> str | None:
        """Why the event cannot be taken now, or None where it can."""
        return gates.refusal(self.state, event)

    def take(self, *events: JobEvent) -> JobState:
        """Take events one after the other; readings get the conditions card stamped on them.

        Raises `JobError` at the first that is refused.
        """
        for given in events:
            event = self._stamped(given)
            refused = self.may(event)
            if refused is not None:
                raise JobError(refused)
            if self._file is not None:
                self._file.append([event])
            self.events.append(event)
            self.state = evolve(self.state, event)
        return self.state

    def _stamped(self, event: JobEvent) -> JobEvent:
        """The event with the conditions card on it, where it is one that carries them."""
        if isinstance(event, ReadingTaken | CycleTimed) and event.conditions == Conditions():
            return event.model_copy(update={"conditions": self.state.conditions})
        return event

    def close(self) -> None:
        """Close the file; the job stays as it is."""
        if self._file is not None:
            self._file.close()
