"""Where things lie in a chart, in whatever a page is measured in."""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.report.blocks import Chart, clusters
from gaugebench.report.scale import label, ticks
from gaugebench.report.speech import Speech


@dataclass(frozen=True, slots=True)
class Frame:
    """The ends of a chart's axes on its page: x from left to right, y from bottom to top.

    bottom may lie above or below top in numbers, as the page counts. speech: what numbers are said
    in.
    """

    chart: Chart
    speech: Speech
    left: float
    right: float
    bottom: float
    top: float

    def x(self, value: float) -> float:
        """Where an instant lies."""
        low, high = self.chart.x
        return self.left + (self.right - self.left) * (value - low) / ((high - low) or 1.0)

    def y(self, value: float) -> float:
        """Where a value lies."""
        low, high = self.chart.y
        return self.bottom + (self.top - self.bottom) * (value - low) / ((high - low) or 1.0)

    def across(self) -> list[tuple[float, str]]:
        """Ticks of the time axis: where, and what is written there."""
        return [(self.x(v), self.speech.said(label(v))) for v in ticks(*self.chart.x, 10)]

    def up(self) -> list[tuple[float, str]]:
        """Ticks of the other axis."""
        return [(self.y(v), self.speech.said(label(v))) for v in ticks(*self.chart.y, 5)]

    def flags(self, apart: float) -> list[tuple[float, str]]:
        """Labels of the marks; those nearer than `apart`, on the page, share one."""
        low, high = self.chart.x
        gap = apart * (high - low) / abs(self.right - self.left)
        return [(self.x(at), words) for at, words in clusters(self.chart.flags, gap)]

    def spans(self) -> list[tuple[float, float, str]]:
        """Stretches in which something was read: from, to, and its letter."""
        return [(self.x(s.start_s), self.x(s.end_s), s.label) for s in self.chart.spans]
