"""The stage: a garage in which 32 ms pass at a time, as fast as the machine can.

The mechanic's voice and the noise go into the real ear, the real session decides and logs, the real
mouth answers; both sides are recorded. Long work without a word is skipped on the clock, not in the log.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.rehearsal.noise import Workshop
from companion.speech.saying.mouth import Mouth
from companion.speech.sound.samples import FRAME, FRAME_TIME, Samples
from companion.work.edges.clock import JumpWatch, StagedClock
from companion.work.edges.wake import StagedWaker
from companion.work.session import Session
from companion.work.sound.listening import Listener

SKIPPED = timedelta(milliseconds=600)
"""How much of a skipped stretch of work is still heard."""


@dataclass
class Stage:
    """One job on a staged clock. Give it a session and a listener before anything happens."""

    mouth: Mouth
    clock: StagedClock
    waker: StagedWaker
    noise: Workshop | None = None
    session: Session = field(init=False)
    listener: Listener = field(init=False)
    left: list[Samples] = field(default_factory=list)
    """What the microphone took, frame by frame."""
    right: list[Samples] = field(default_factory=list)
    """What the companion said."""
    heard: list[ev.Event] = field(default_factory=list)
    """Every event, in order."""
    watch: JumpWatch = field(default_factory=JumpWatch)

    @property
    def now(self) -> datetime:
        """On the staged wall clock."""
        return self.clock.now().wall

    @property
    def recorded(self) -> timedelta:
        """How long the recording is by now."""
        return len(self.left) * FRAME_TIME

    def post(self, message: msg.Message) -> list[ev.Event]:
        """Hand a message to the session, then listen for what can be said next."""
        happened = list(self.session.handle(message))
        for lost in self.session.lost_sayings():
            happened += self.session.handle(lost)
        self.listener.expect(self.session.expecting())
        self.heard += happened
        return happened

    def frame(self, voice: Samples | None = None) -> list[ev.Event]:
        """One frame passes; `voice` is what the mechanic says in it."""
        self.clock.advance(FRAME_TIME)
        sound = np.zeros(FRAME, dtype=np.float32) if voice is None else voice
        if self.noise:
            sound = sound + self.noise.take(FRAME)
        self.left.append(sound)
        self.right.append(self.mouth.pull(FRAME))
        happened: list[ev.Event] = []
        for message in self.listener.listen(sound):
            happened += self.post(message)
        return happened + self._wake()

    def _wake(self) -> list[ev.Event]:
        return self.post(msg.Woken()) if self.waker.due(self.clock.now()) else []

    def listen(self, most: timedelta, quiet: timedelta = timedelta(milliseconds=400)) -> list[ev.Event]:
        """Frames pass until the companion has been silent for `quiet`, at most for `most`."""
        happened: list[ev.Event] = []
        silent = timedelta()
        passed = timedelta()
        while silent < quiet and passed < most:
            happened += self.frame()
            silent = silent + FRAME_TIME if self.mouth.idle else timedelta()
            passed += FRAME_TIME
        return happened

    def say(self, samples: Samples) -> list[ev.Event]:
        """The mechanic says something, then falls silent until it is answered or clearly not heard."""
        happened: list[ev.Event] = []
        for start in range(0, len(samples), FRAME):
            piece = samples[start : start + FRAME]
            happened += self.frame(np.pad(piece, (0, FRAME - len(piece))))
        for _ in range(60):
            if any(isinstance(e, ev.HeardCommand | ev.Misheard) for e in happened):
                break
            happened += self.frame()
        return happened

    def work(self, length: timedelta) -> list[ev.Event]:
        """The mechanic works without a word: the clock is moved on, until something urgent is said."""
        happened: list[ev.Event] = []
        end = self.now + length
        while self.now < end and not any(isinstance(e, ev.DeadlineAnnounced) for e in happened):
            wake = self.waker.next_wake()
            until = end if wake is None or wake > end else max(wake, self.now)
            self.clock.advance(until - self.now)
            woken = self._wake()
            happened += woken
            if woken or not self.mouth.idle:
                happened += self.listen(timedelta(minutes=2))
        for _ in range(SKIPPED // FRAME_TIME):
            happened += self.frame()
        return happened
