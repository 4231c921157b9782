"""Takes figures anew: under other settings, in other roles, or of a long trace, piece by piece."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from gaugebench.analyse.settings import Settings
from gaugebench.desk.notice import Notice
from gaugebench.desk.review.opened import Opened, again, merged, with_roles
from gaugebench.desk.review.progress import ProgressStrip
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.model.mark import Mark
from gaugebench.model.role import Role

Then = Callable[[Opened], None]


class Taker:
    """All off the window's thread; what fails is said in the window."""

    def __init__(
        self, workers: Workers, notice: Notice, strip: ProgressStrip, failed: Callable[[], None]
    ) -> None:
        """failed: called where nothing came of it, after it was said why."""
        self.workers, self.notice, self.strip, self._failed = workers, notice, strip, failed

    def again(
        self, opened: Opened, settings: Settings, marks: tuple[Mark, ...], then: Then
    ) -> None:
        """Under other settings; marks set by hand stay."""
        if opened.long is not None:
            self._long(opened, settings, marks, then)
            return
        self.workers.run(lambda: again(opened, settings, marks), then, self._say)

    def in_roles(self, opened: Opened, roles: Mapping[str, Role | None], then: Then) -> None:
        """In other roles."""
        self.workers.run(lambda: with_roles(opened, roles), then, self._say)

    def _long(
        self, opened: Opened, settings: Settings, marks: tuple[Mark, ...], then: Then
    ) -> None:
        long = opened.long
        assert long is not None  # noqa: S101 - asked by the caller
        tell = self.strip.begin(tr("Taking the figures of the whole trace …"))
        roles = {s.channel.name: s.channel.role for s in opened.trace.series}

        def job() -> Opened:
            from gaugebench.session.lengthy import analyse_file

            figures = analyse_file(long.file, settings, roles, tell)
            found = merged(marks, figures.marks)
            return replace(opened, figures=figures, marks=found, why_none="")

        def done(taken: Opened) -> None:
            self.strip.end()
            then(taken)

        def failed(sentence: str) -> None:
            self.strip.end()
            self._say("" if self.strip.is_stopped else sentence)

        self.workers.run(job, done, failed)

    def _say(self, sentence: str) -> None:
        if sentence:
            self.notice.say(sentence)
        self._failed()
