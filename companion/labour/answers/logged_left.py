"""The answer to "how long left" at the car, once there are logged times."""

from companion.job.facts.events import Record
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.left import Left, is_to_do
from companion.labour.answers.left import time_left
from companion.labour.model.fitted import Fitted
from companion.labour.table.stopwatch import Stopwatch
from companion.labour.table.task import task_of
from companion.procedure.model import Act


class LoggedTimeLeft:
    """`companion.job.left.TimeLeft` from logged times. It must be shown every record of the job (`see`)."""

    def __init__(self, fitted: Fitted, mechanic: str = "") -> None:
        self.fitted = fitted
        self.mechanic = mechanic
        self.watch = Stopwatch()

    def see(self, record: Record) -> None:
        """One more record of the job."""
        self.watch.see(record)

    def left(self, state: State, now: Instant) -> Left:
        """Labour still to do (`is_to_do`)."""
        steps = {s.id: s for s in state.procedure.steps}
        tasks = {id_: task_of(s) for id_, s in steps.items()}
        done = {tasks[i]: s for i, s in self.watch.done.items() if i in tasks and steps[i].act != Act.WAIT}
        current = state.current if state.current and steps[state.current].act != Act.WAIT else None
        to_do = [tasks[i] for i, s in steps.items() if is_to_do(state, s) and i != state.current]
        running = (tasks[current], self.watch.elapsed(now)) if current else None
        found = time_left(self.fitted, done, running, to_do, self.mechanic)
        return Left(found.quantile(0.5), found.quantile(0.8), str(found.basis))
