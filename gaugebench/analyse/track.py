"""One pump's main pressure, bin by bin: idle or driven up."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import ClassVar

KEPT_BINS = 6000
"""How many bins of an excursion are kept to find where its last climb began."""


@dataclass(frozen=True, slots=True)
class PumpSpan:
    """A stretch in which one pump is driven up.

    base_pa: the idle level it rose from (or fell to, where the trace begins in the loading).
    held: whether it was held at a level, which makes it part of a loading. cut_start, cut_end:
    the trace begins or ends inside it. eased: it ends where a plateau was left while the pump
    stayed driven up: a mass had been accelerated, or the lever was eased.
    """

    start_s: float
    end_s: float
    base_pa: float
    held: bool
    cut_start: bool = False
    cut_end: bool = False
    eased: bool = False


@dataclass(slots=True)
class PumpTrack:
    """The state of one pump; `step` takes one bin after the other.

    How far a level must stand above idle to count is derived from the trace itself: from the idle
    level, from the noise of the bins and from the highest level seen so far.
    """

    CONFIRM: ClassVar[int] = 3
    """Bins in a row that must agree: a spike never does."""
    SEEN_PA: ClassVar[float] = 3e5
    """What a transducer of 600 bar and 0.5 % cannot tell from nothing: a pump that turns stands
    higher even in neutral, and a line that stands lower is at rest."""
    NEUTRAL_PA: ClassVar[float] = 4.5e6
    """From rest the engine's start brings a line up to 10 to 45 bar (common practice, no source):
    that is neutral, not a loading."""
    HELD_PA: ClassVar[float] = 2e6
    """A touch of a lever lifts a main pressure by less than this."""
    IDLE_SHARE: ClassVar[float] = 0.6
    """A rise by less than this share of the idle level may be a change of engine speed."""
    TOP_SHARE: ClassVar[float] = 0.08
    USUAL_STEP: ClassVar[float] = 0.003
    EXIT_SHARE: ClassVar[float] = 0.12
    HOLD_BINS: ClassVar[int] = 8
    RUNS_SHARE: ClassVar[float] = 0.6
    """What stands below this share of a pressure that came before it (a tenth of a second long) is
    no hold: the actuator has got under way."""
    FLAT_SHARE: ClassVar[float] = 0.04
    """A plateau that is left changes by less than this share of its rise in `HOLD_BINS`."""
    EASED: ClassVar[float] = 1.15
    """A hold is left where the pressure stands by this lower than before: a mass has been
    accelerated (swing, travel), or the lever eased. A boost stage gives back 5 to 10 % (common
    practice, no source)."""
    IDLE_BINS: ClassVar[int] = 40
    START_BINS: ClassVar[int] = 80
    """An engine brings its pumps up to neutral within this."""

    bin_s: float
    is_up: bool = False
    base: float = 0.0
    noise: float = 0.0
    top: float = 0.0
    start: int = 0
    _idle: deque[float] = field(default_factory=deque)
    _sum: float = 0.0
    _seen: int = 0
    _count: int = 0
    _first: int = 0
    _high: float = 0.0
    _recent: deque[float] = field(default_factory=deque)
    _steady: float | None = None
    _latest: float = 0.0
    _flat: float = 0.0
    _opening: bool = True
    _begun: int | None = None
    _since_rest: int = START_BINS
    _stood: int = 0
    _previous: float = 0.0
    _last: int = 0
    _levels: deque[tuple[int, float]] = field(default_factory=lambda: deque(maxlen=KEPT_BINS))

    @property
    def may_be_up(self) -> bool:
        """Whether an excursion has begun that is not confirmed yet."""
        return not self.is_up and self._count > 0

    @property
    def undecided(self) -> bool:
        """Whether it is not yet known if the trace began with this pump idle or driven up."""
        return self._opening

    @property
    def may_start_s(self) -> float:
        """The earliest instant at which a loading that is not yet reported may have begun."""
        if self._begun is None:
            return float("inf")
        if self.is_up:
            return self.start * self.bin_s
        if self._opening:
            return self._begun * self.bin_s
        return (self._first if self._count else self._last) * self.bin_s

    @property
    def threshold(self) -> float:
        """How far above idle a level counts as driven up, Pa."""
        return self._threshold(self.base)

    def _threshold(self, base: float) -> float:
        rests = base <= self.SEEN_PA or self._since_rest < self.START_BINS
        # Comparisons, since this is asked for every bin of every pump: `max` takes twice as long.
        most = self.NEUTRAL_PA - base if rests else self.SEEN_PA
        share = self.IDLE_SHARE * (base if base > 0 else -base)
        if share > most:
            most = share
        share = self.TOP_SHARE * (self.top - base)
        if share > most:
            most = share
        share = 12 * self.noise
        return share if share > most else most

    def step(self, number: int, level: float) -> PumpSpan | None:
        """Take a bin; the stretch that has thereby ended, if any."""
        self._last = number
        if self._begun is None:
            self._begun, self.start = number, number
            self._previous = self.base = self.top = self._high = level
        low = level if level < self._previous else self._previous
        if low > self.top:
            self.top = low
        self._since_rest = 0 if level <= self.SEEN_PA else self._since_rest + 1
        if self.is_up or self._opening:
            self._note_steady(level)
        span = self._up(number, level) if self.is_up else self._down(number, level)
        self._previous = level
        return span

    def finish(self) -> PumpSpan | None:
        """The trace ends; the stretch that was still open, if any."""
        return self._end(self._last + 1, cut_end=True) if self.is_up else None

    def _note_steady(self, level: float) -> None:
        self._recent.append(level)
        if len(self._recent) < self.HOLD_BINS:
            return
        low, high = min(self._recent), max(self._recent)
        base = 0.0 if self._opening else self.base
        if high - low <= max(0.1 * (low - base), 6 * self.noise):
            self._steady = low if self._steady is None else max(low, self._steady)
            self._latest = sorted(self._recent)[self.HOLD_BINS // 2]
            if high - low <= max(self.FLAT_SHARE * (low - base), 6 * self.noise):
                self._flat = max(low, self._flat)
        self._recent.popleft()

    def _keep_idle(self, level: float) -> None:
        if len(self._idle) == self.IDLE_BINS:
            self._sum -= self._idle.popleft()
        self._idle.append(level)
        self._sum += level
        count = len(self._idle)
        mean = self._sum / count
        # A level that sinks below the mean is followed at once, one that rises is not.
        self.base = mean if level >= mean else level
        # A step far beyond what is usual is the machine at work and not noise.
        step, most = abs(level - self._previous), 3 * self.noise + self.USUAL_STEP * abs(level)
        if step > most:
            step = most
        if self._seen < self.IDLE_BINS:
            self._seen += 1
        self.noise += (step - self.noise) / self._seen

    def _down(self, number: int, level: float) -> PumpSpan | None:
        threshold = self._threshold(self.base)
        if level > self.base + threshold:
            if self._count == 0:
                self._first = number
                self._levels.clear()
            self._count += 1
            self._levels.append((number, level))
            if self._count >= self.CONFIRM:
                self.is_up, self._opening = True, False
                self.start, self._high, self._count = self._first, level, 0
                self._recent.clear()
                self._steady, self._flat = None, 0.0
            return None
        self._count = 0
        if self._opening and (span := self._fallen(number, level)) is not None:
            return span
        if level < self.base - threshold / 4 and level < self.base - 6 * self.noise:
            self._idle.clear()
            self._sum = 0.0
        self._keep_idle(level)
        return None

    def _fallen(self, number: int, level: float) -> PumpSpan | None:
        """The loading that the trace begins in, once the pressure has dropped out of it."""
        if self._steady is None or self._steady - level <= self._threshold(level):
            return None
        steady = self._steady
        if steady <= self.NEUTRAL_PA:
            falls = level < self._previous - 0.01 * steady
            self._stood = 0 if falls else self._stood + 1
            if self._stood < 2 * self.CONFIRM:
                return None  # whether it falls to neutral or to rest will show
            if level <= self.SEEN_PA:  # the engine was stopped
                self._opening = False
                self._reset()
                self._keep_idle(level)
                return None
        span = PumpSpan(
            start_s=(self._begun or 0) * self.bin_s,
            end_s=number * self.bin_s,
            base_pa=level,
            held=steady - level >= self.EXIT_SHARE * steady,
            cut_start=True,
        )
        self._opening = False
        self._reset()
        self._keep_idle(level)
        return span

    def _up(self, number: int, level: float) -> PumpSpan | None:
        self._high = max(self._high, min(level, self._previous))
        self._levels.append((number, level))
        exit_rise = max(0.7 * self.threshold, self.EXIT_SHARE * (self._high - self.base))
        if level >= self.base + exit_rise:
            self._count = 0
            return None
        if self._count == 0:
            self._first = number
        self._count += 1
        return self._end(self._first, cut_end=False) if self._count >= self.CONFIRM else None

    def _end(self, number: int, *, cut_end: bool) -> PumpSpan:
        least = max(self.threshold, self.HELD_PA)
        held = self._steady is not None and self._steady > self.base + least
        start, base = self._last_climb()
        left = number
        if held:
            rise, latest = self._flat - base, self._latest - base
            if rise > self.EASED * latest:
                left = self._left(base + 0.9 * rise, number)
            held = max(rise, latest) >= self.RUNS_SHARE * (self._high - base)
        span = PumpSpan(
            start_s=start * self.bin_s,
            end_s=left * self.bin_s,
            base_pa=base,
            held=held,
            cut_start=start == self._begun,
            cut_end=cut_end and left == number,
            eased=left < number,
        )
        self._reset()
        # What it fell to is idle now, wherever idle was before.
        self.base = self._levels[-1][1] if self._levels and not cut_end else self.base
        return span

    def _left(self, level: float, number: int) -> int:
        """The bin after the last that stands at least at a level."""
        high = [n for n, there in self._levels if there >= level]
        return high[-1] + 1 if high else number

    def _last_climb(self) -> tuple[int, float]:
        """The bin in which the climb to the highest level began, and the level before it.

        What stood so low that the excursion would have ended there was no loading: the engine was
        started, or its speed was changed.
        """
        low = self.base + self.EXIT_SHARE * (self._high - self.base)
        below = [(n, level) for n, level in self._levels if level < low]
        levels = [level for _, level in self._levels]
        top = levels.index(max(levels)) if levels else 0
        before = [(n, level) for n, level in list(self._levels)[:top] if level < low]
        if len(before) < self.IDLE_BINS // 2 or not below:
            return self.start, self.base
        recent = [level for _, level in before[-self.IDLE_BINS :]]
        return before[-1][0] + 1, sum(recent[: self.IDLE_BINS // 2]) / (self.IDLE_BINS // 2)

    def _reset(self) -> None:
        self.is_up = False
        self._count = 0
        self._idle.clear()
        self._sum = 0.0
        self._recent.clear()
        self._steady, self._flat = None, 0.0
