"""What is carried over where every widget is built anew, as for another theme or language."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaugebench.desk.live.feed import Feed
from gaugebench.desk.places import Places

if TYPE_CHECKING:
    from gaugebench.desk.worksheet.place import WorksheetPlace


def carry_over(old: Places, new: Places, feed: Feed | None) -> None:
    """Let the new places stand as the old ones stood; those that were not built stay unbuilt.

    feed: the kit that is open. The old places are not to be used any more.
    """
    new.hookup.take_over(old.hookup)
    if old.is_built("review"):
        new.review.take_over(old.review)
    if old.is_built("compare"):
        new.compare.take_over(old.compare)
    if old.is_built("worksheet"):
        _carry_job(old.worksheet, new.worksheet)
    if old.is_built("live"):
        new.live.particulars = old.live.particulars
        if feed is not None:
            new.live.attach(feed)
            new.live.take_over(old.live)
        old.live.detach()
        old.live.large.deleteLater()


def _carry_job(old: WorksheetPlace, new: WorksheetPlace) -> None:
    """The job that is open goes on; its file stays held."""
    new.hooked_up.take_over(old.hooked_up)
    new.form.fill(old.particulars)
    new.notes.setPlainText(old.notes.toPlainText())
    for path in old.form.traces:
        new.form.add_trace(path)
    new.job.now = old.job.now
    new.job.sheet, new.job.path = old.job.sheet, old.job.path
    old.job.sheet = old.job.path = None
    new.panes.setCurrentIndex(old.panes.currentIndex())
    new.job.changed.emit()
