"""The active time of each step of the job at hand, event by event. The rules are in `columns.py`."""

from dataclasses import dataclass, field

from companion.job.facts import events as ev
from companion.job.facts.folding import at_desk
from companion.job.facts.instant import Instant
from companion.labour.table.hours import NIGHT, Hours


@dataclass
class Stopwatch:
    """Knows how long each step has taken so far. It must be shown every record of a job, in order."""

    done: dict[str, float] = field(default_factory=dict)
    """The seconds of steps that are done, by id, all attempts together. A step undone since is left out."""
    running: str | None = None
    """The id of the step that is at work."""
    hours: Hours | None = None
    """When the shop is open: a night outside them is left out, though nobody said that the job is held."""
    _spent: dict[str, float] = field(default_factory=dict)
    _held: bool = False
    _there: bool = False
    _last: Instant | None = None

    def see(self, record: ev.Record) -> None:
        """One more record."""
        if at_desk(record.event):
            return
        event, now = record.event, Instant(record.at, record.mono)
        if not isinstance(event, ev.SessionStarted):
            self._count(now)
        elif self._last is not None and self._there and not self._held:
            # The companion died. What it saw before that counts.
            seen = (now.wall - self._last.wall).total_seconds() - event.away_s
            self._add(max(0.0, seen), now)
        self._last = now
        match event:
            case ev.SessionStarted():
                self._there = True
            case ev.SessionEnded():
                self._there = False
            case ev.JobHeld() | ev.WorkStopped():
                self._held = True
            case ev.JobCarriedOn():
                self._held = False
            case ev.StepBegun():
                self.running = event.step
                self._spent.setdefault(event.step, 0.0)
            case ev.StepDone() | ev.StepSkipped() | ev.StepNotNeeded():
                if event.step == self.running:
                    self.running = None
                if isinstance(event, ev.StepDone):
                    self.done[event.step] = self._spent.get(event.step, 0.0)
            case ev.StepUndone():
                self.done.pop(event.step, None)
            case _:
                pass

    def elapsed(self, now: Instant) -> float:
        """The active seconds of the running step, by now."""
        if self.running is None:
            return 0.0
        spent = self._spent[self.running]
        if self._there and not self._held and self._last is not None:
            spent += max(0.0, (now.mono - self._last.mono).total_seconds())
        return spent

    @property
    def total(self) -> float:
        """The active seconds of all steps, all attempts together."""
        return sum(self._spent.values())

    def _count(self, now: Instant) -> None:
        if self._last is not None and self._there and not self._held:
            self._add(max(0.0, (now.mono - self._last.mono).total_seconds()), now)

    def _add(self, seconds: float, now: Instant) -> None:
        if self.running is None or self._last is None:
            return
        if self.hours is not None and seconds >= NIGHT.total_seconds():
            closed = self.hours.closed_s(self._last.wall.timestamp(), now.wall.timestamp())
            seconds = max(0.0, seconds - closed)
        self._spent[self.running] += seconds
