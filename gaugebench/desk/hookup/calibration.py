"""How old the transducers' calibrations are, against what the shop holds good. No Qt.

A year is common practice, no source; the certificate or the shop's own rule may say otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from gaugebench.desk.words import tr
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension

USUAL_MONTHS = 12
MONTHS = (3, 6, 12, 18, 24, 36, 60)
"""What is offered."""


def months_since(then: date, today: date) -> int:
    """Whole months from one day to another; 0 where `then` is not yet past."""
    months = 12 * (today.year - then.year) + today.month - then.month
    return max(0, months - (today.day < then.day))


def is_overdue(then: date, today: date, months: int) -> bool:
    """Whether a calibration has passed its last good day, which is that of the same number."""
    over = months_since(then, today)
    return over > months or (over == months and today.day != then.day)


def warning(channel: Channel, today: date, months: int) -> str:
    """What is to be said of one transducer's calibration date; empty where nothing is.

    months: for how long a calibration is held good.
    """
    done = channel.transducer.calibrated_on
    if channel.dimension is not Dimension.PRESSURE or done is None:
        return ""
    if done > today:
        return tr("Its calibration date, {date}, has not come yet: look at its certificate.",
                  date=done.isoformat())  # fmt: skip
    if not is_overdue(done, today, months):
        return ""
    return tr(
        "Calibrated on {date}, {months} months ago: overdue.",
        date=done.isoformat(),
        months=months_since(done, today),
    )


def in_words(channels: Sequence[Channel], today: date, months: int) -> tuple[str, bool]:
    """All transducers together, and whether one is overdue; empty without a pressure."""
    pressures = [c for c in channels if c.dimension is Dimension.PRESSURE]
    if not pressures:
        return "", False
    overdue = sum(bool(warning(c, today, months)) for c in pressures)
    undated = sum(c.transducer.calibrated_on is None for c in pressures)
    said = []
    if overdue:
        said.append(tr("{count} of {all} transducers are to be calibrated again; the table says"
                       " which.", count=overdue, all=len(pressures)))  # fmt: skip
    if undated:
        said.append(tr("{count} of {all} transducers have no calibration date.", count=undated,
                       all=len(pressures)))  # fmt: skip
    return " ".join(said) or tr("Every calibration is in date."), bool(overdue)
