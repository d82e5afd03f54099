"""Branch and bound over the order of work: exact when it ends, and told with its gap when it is stopped.

Every rule only says "not before". So the earliest times are a least fixed point, which bounds every
completion of a half-decided order; that makes the search exact. CP-SAT takes over only when it is not proven
in time.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from companion.labour.plan.timing import Times, Timing

_LOOK = 64
"""How many nodes lie between two looks at the clock."""


@dataclass(frozen=True)
class Found:
    """The best times found, and a time before which no plan can finish."""

    times: Times | None
    """None when no plan was found. When that is `proven`, none exists within the horizon."""
    finish: int
    bound: int
    nodes: int = 0

    @property
    def proven(self) -> bool:
        """Whether the finish is the earliest possible."""
        return self.bound >= self.finish


class _OutOfTimeError(Exception):
    pass


@dataclass
class _Node:
    bound: int
    times: Times
    order: tuple[int, ...]
    done: int
    """A bit for each activity in the order."""


class Search:
    """One run of the search: depth first, each order of work built from its beginning.

    Three rules cut branches, each only where it cannot lose the best plan:

    - bound: the mechanics count as one machine that may be interrupted (Jackson's rule over working time),
      and what must follow each activity is its tail;
    - dominance: the same activities were done before, and all the rest could start no later;
    - insertion: an activity is not begun next when another could be finished before it begins.

    While a longest lag runs, what is decided may still be pushed. So the last two are not used then.
    """

    def __init__(
        self, timing: Timing, limit_s: float = 10.0, *, goal: int | None = None, within: int | None = None
    ) -> None:
        """Prepare a search.

        Args:
            goal: the activity whose end is made earliest, while all else ends `within`. Without one, the
                finish is made earliest.
        """
        self._timing = timing
        self._goal = goal
        self._within = timing.calendar.horizon if within is None else within
        self._until = time.monotonic() + limit_s
        self._work = [i for i in range(timing.count) if timing.occupies[i]]
        self._needs = self._needed_work()
        self._tail = self._tails()
        self._leads = self._waits_ahead()
        self._seen: dict[int, list[tuple[int, ...]]] = {}
        self._best: Times | None = None
        self._finish = timing.calendar.horizon + 1
        self._open = self._finish
        """The least bound among the branches that were left open when time ran out."""
        self._nodes = 0

    def run(self, first: Times | None = None) -> Found:
        """Search. `first` are the times of a plan that is known already."""
        if first is not None:
            self._best, self._finish = first, self._value(first)
        bound = 0
        try:
            self._set_due()
            times = self._timing.begin()
            if times is not None:
                root = _Node(0, times, (), 0)
                bound = root.bound = self._bound(root)
                self._explore(root)
        except _OutOfTimeError:
            bound = min(self._finish, max(bound, self._open))
            return Found(self._best, self._finish, bound, self._nodes)
        finally:
            self._timing.due = [self._timing.calendar.horizon] * self._timing.count
        return Found(self._best, self._finish, self._finish, self._nodes)

    def _set_due(self) -> None:
        """Set how late each activity may end: only plans better than the best so far are of interest."""
        latest = self._finish - 1 if self._goal is None else self._within
        self._timing.due = [min(latest, self._timing.calendar.horizon) - tail for tail in self._tail]
        if self._goal is not None:
            self._timing.due[self._goal] = min(self._timing.due[self._goal], self._finish - 1)

    def _needed_work(self) -> list[int]:
        """For each activity, a bit for each one with work that must come before it, also through waits."""
        timing = self._timing
        before: list[set[int]] = [set() for _ in range(timing.count)]
        for i, followers in enumerate(timing.after):
            for j, _ in followers:
                before[j].add(i)
        needs: dict[int, int] = {}

        def of(i: int) -> int:
            if i not in needs:
                needs[i] = 0
                for j in before[i]:
                    needs[i] |= of(j) | (1 << j if timing.occupies[j] else 0)
            return needs[i]

        return [of(i) for i in range(timing.count)]

    def _tails(self) -> list[int]:
        """The seconds that must pass after the end of each activity: the longest chain of what follows."""
        timing = self._timing
        tails: dict[int, int] = {}

        def of(i: int) -> int:
            if i not in tails:
                tails[i] = max((least + timing.length[j] + of(j) for j, least in timing.after[i]), default=0)
            return tails[i]

        return [of(i) for i in range(timing.count)]

    def _waits_ahead(self) -> list[int]:
        """The longest wait that each activity leads to. Among equals, what starts a wait goes first."""
        timing = self._timing
        longest: dict[int, int] = {}

        def of(i: int) -> int:
            if i not in longest:
                own = 0 if timing.occupies[i] else timing.length[i]
                longest[i] = max([own, *(max(least, of(j)) for j, least in timing.after[i])])
            return longest[i]

        return [of(i) for i in range(timing.count)]

    def _bound(self, node: _Node) -> int:
        """A time before which no completion of the node finishes."""
        timing, start = self._timing, node.times.start
        calendar, mechanics = timing.calendar, timing.mechanics
        left = sorted((start[i], i) for i in self._work if not node.done >> i & 1)
        bound = max(node.times.end, default=0)
        if self._goal is not None and bound > self._within:
            return self._finish
        queue: list[list[float]] = []
        now, at = 0.0, 0
        while at < len(left) or queue:
            if not queue:
                now = max(now, float(calendar.worked(left[at][0])))
            while at < len(left) and calendar.worked(left[at][0]) <= now:
                i = left[at][1]
                heappush(queue, [-self._tail[i], timing.length[i] / mechanics])
                at += 1
            upcoming = float(calendar.worked(left[at][0])) if at < len(left) else float("inf")
            job = queue[0]
            spent = min(job[1], upcoming - now)
            now += spent
            job[1] -= spent
            if job[1] <= 1e-9:
                heappop(queue)
                bound = max(bound, int(calendar.moment(now - 1e-6)) - int(job[0]))
        if self._goal is None:
            return bound
        return self._finish if bound > self._within else node.times.end[self._goal]

    def _value(self, times: Times) -> int:
        return max(times.end, default=0) if self._goal is None else times.end[self._goal]

    def _explore(self, node: _Node) -> None:
        self._nodes += 1
        if self._nodes % _LOOK == 0 and self._best is not None and time.monotonic() > self._until:
            self._open = min(self._open, node.bound)
            raise _OutOfTimeError
        if len(node.order) == len(self._work):
            finish = self._value(node.times)
            if finish < self._finish and max(node.times.end, default=0) <= self._within:
                self._best, self._finish = node.times, finish
                self._set_due()
            return
        children = self._children(node)
        for number, child in enumerate(children):
            if child.bound >= self._finish:
                continue
            try:
                self._explore(child)
            except _OutOfTimeError:
                self._open = min([self._open, *(left.bound for left in children[number + 1 :])])
                raise

    def _children(self, node: _Node) -> list[_Node]:
        start, end = node.times.start, node.times.end
        ready = [i for i in self._work if not node.done >> i & 1 and not self._needs[i] & ~node.done]
        if not self._running(node.done):
            movable = [(start[j], j) for j in ready if not self._timing.limited[j]]
            ready = [
                i for i in ready if not any(end[j] <= start[i] and (s, j) < (start[i], i) for s, j in movable)
            ]
        children = []
        for i in ready:
            child = _Node(0, node.times.copy(), (*node.order, i), node.done | 1 << i)
            if self._too_much_between(child):
                continue
            if not self._timing.settle(child.times, child.order, [i]):
                continue
            child.bound = max(node.bound, self._bound(child))
            if child.bound < self._finish and not self._dominated(child):
                children.append(child)
        children.sort(
            key=lambda c: (c.bound, c.times.start[c.order[-1]], -self._leads[c.order[-1]], c.order[-1])
        )
        return children

    def _too_much_between(self, node: _Node) -> bool:
        """Whether one mechanic has more to do since an activity than its longest lag allows."""
        timing = self._timing
        if timing.mechanics > 1:
            return False
        for after, into in enumerate(timing.limits):
            for before, most in into:
                if node.done >> before & 1 and not node.done >> after & 1 and timing.occupies[after]:
                    since = node.order[node.order.index(before) + 1 :]
                    if sum(timing.length[i] for i in since) > most:
                        return True
        return False

    def _running(self, done: int) -> bool:
        """Whether a longest lag to something not done may still push what was done."""
        return any(
            not done >> after & 1 and (done >> before & 1 or not self._timing.occupies[before])
            for after, into in enumerate(self._timing.limits)
            for before, _ in into
        )

    def _dominated(self, node: _Node) -> bool:
        """Whether the same activities were done before, and everything else could start no later."""
        if self._running(node.done):
            return False
        times, timing = node.times, self._timing
        over = max(times.end[i] for i in node.order)
        ahead = (times.start[i] for i in range(timing.count) if not node.done >> i & 1)
        goal = 0 if self._goal is None else times.end[self._goal]
        state = (goal, over, times.start[node.order[-1]], *timing.free(times, node.order), *ahead)
        rivals = self._seen.setdefault(node.done, [])
        if any(all(a <= b for a, b in zip(rival, state, strict=True)) for rival in rivals):
            return True
        rivals[:] = [r for r in rivals if not all(b <= a for a, b in zip(r, state, strict=True))]
        rivals.append(state)
        return False


def serial(timing: Timing, order: Sequence[int]) -> Times | None:
    """The times in the given order, when each wait is waited out before anything else is begun."""
    times = timing.begin()
    if times is None:
        return None
    waits = list(timing.after)
    try:
        place = {i: n for n, i in enumerate(order)}
        for n, i in enumerate(order[:-1]):
            longest = max((least for _, least in waits[i]), default=0)
            timing.after[i] = [*waits[i], *((j, longest) for j in order[n + 1 :])]
        for i in range(timing.count):
            if not timing.occupies[i]:
                follow = [place[j] for j, _ in waits[i] if j in place]
                timing.after[i] = [*waits[i], *((j, 0) for j in order[min(follow, default=len(order)) :])]
        return times if timing.settle(times, order, list(range(timing.count))) else None
    finally:
        timing.after[:] = waits
