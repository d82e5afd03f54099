"""Every sentence that a procedure can produce, as one long transcript.

An obliging mechanic goes through the procedure. At every point all else that can be said, or can happen, is
tried on the side, and what is answered is written down; a sentence is written once, where it is first heard.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.deadlines import Kind
from companion.job.facts.instant import Instant
from companion.job.facts.said import questions as q
from companion.job.facts.state import State
from companion.papers.handover import as_text, handover
from companion.procedure.model import Procedure
from companion.procedure.wording import sentences
from companion.rehearsal.obliging import next_answer
from tests.helpers.said import heard
from tests.job.words.transcript_asides import asides, at_the_edges, overheard

START = datetime(2031, 3, 4, 8, tzinfo=UTC)
ALONE = timedelta(days=30)
"""Between check-ins: they are heard where they are tried, and nowhere else."""
_ONLY_OTHER_NUMBERS = (
    (re.compile(r"\b\d+ (?:s|min|h|days?)\b(?: \d+ (?:min|h)\b)?"), "TIME"),
    (re.compile(r"\b([Ss]tep) \d+\b(?!:)"), r"\1 N"),
    (re.compile(r"\b\d+ steps to go"), "N steps to go"),
    (re.compile(r"\bOpen, \d+"), "Open, N"),
    (re.compile(r"\b\d+ of \d+ counted|\b\d+ counted so far, \d+ is|Back to \d+|^\d+\.$"), "COUNT"),
)
"""What makes no sentence a new one."""
MOST_TURNS = 900

Move = msg.Message | timedelta
"""What is said or happens; or a time that goes by."""


@dataclass
class Transcript:
    """What was said so far: causes, answers, and headings."""

    lines: list[str] = field(default_factory=list)
    seen: set[str] = field(default_factory=set)
    heading: str = ""

    def under(self, heading: str) -> None:
        """What follows belongs here; a heading with nothing new under it is not written."""
        self.heading = heading

    def answer(self, cause: str, texts: Sequence[str]) -> None:
        """Write what is new in the answers, under its cause."""
        new = [s for text in texts for s in sentences(text) if _kind(s) not in self.seen]
        if not new:
            return
        self.seen |= {_kind(sentence) for sentence in new}
        told = [text for text in texts if any(sentence in new for sentence in sentences(text))]
        if self.heading:
            self.lines += ["", self.heading]
            self.heading = ""
        self.lines += [f"  < {cause}", *(f"> {text}" for text in told)]


def _kind(sentence: str) -> str:
    """The same for sentences that differ only in a time or a number of steps."""
    for pattern, instead in _ONLY_OTHER_NUMBERS:
        sentence = pattern.sub(instead, sentence)
    return sentence


@dataclass
class Talk:
    """One job, talked with; the state is plain data, so that a talk can be taken up again from any point."""

    state: State
    now: Instant
    script: Transcript

    @classmethod
    def begun(cls, procedure: Procedure, script: Transcript, **shop: float) -> "Talk":
        """The job is opened, in a shop with these conditions."""
        talk = cls(State(procedure), Instant(START, timedelta(hours=1)), script)
        particulars = ev.JobOpened(
            job="job", title=procedure.title, revision="1", procedure_sha256="0" * 64, vehicle="", **shop
        )
        talk.does(msg.Opened("boot", particulars, ALONE))
        return talk

    def aside(self) -> "Talk":
        """The same job, to go another way."""
        return Talk(self.state, self.now, self.script)

    def does(self, *moves: Move) -> "Talk":
        """One thing after another."""
        for move in moves:
            message = move
            if isinstance(move, timedelta):
                self.now = Instant(self.now.wall + move, self.now.mono + move)
                message = msg.Woken()
            decision = decide(self.state, message, self.now)
            self.state = decision.state
            self.script.answer(overheard(move), [saying.text for saying in decision.sayings])
        return self

    def goes_on(self) -> "Talk":
        """Give what is asked until the work goes on."""
        for _ in range(12):
            if self.state.question is not None or self.state.held:
                self.obliges()
        return self

    def obliges(self, turns: int = 1) -> "Talk":
        """Give what is wanted, or wait for it, so many times."""
        for _ in range(turns):
            if not self.state.closed:
                self.does(timedelta(seconds=1), next_answer(self.state, self.now.wall))
        return self


def transcript(procedures: Sequence[Procedure]) -> list[str]:
    """All that can be said in the course of these jobs, each sentence once."""
    script = Transcript()
    for procedure in procedures:
        for name, way in WAYS.items():
            script.under(f"-- {procedure.title}: {name}")
            way(procedure, script)
    return script.lines[1:]


def _through(procedure: Procedure, script: Transcript) -> None:
    """To the end of the job, with everything else tried on the way."""
    talk = Talk.begun(procedure, script)
    at_the_edges(talk)
    last = ""
    for _ in range(MOST_TURNS):
        if talk.state.current and talk.state.current != last:
            last = talk.state.current
            script.under(f"-- {procedure.title}, step {procedure.number(last)}: {last}")
        asides(talk)
        if talk.state.closed:
            return
        talk.obliges()
    raise AssertionError(f"the job does not end: {talk.state.last_said}")


def _nothing_there(procedure: Procedure, script: Transcript) -> None:
    """No new part is on the bench, and nothing that can be left as it is, is done."""
    talk = Talk.begun(procedure, script)
    refused: set[str] = set()
    for _ in range(MOST_TURNS):
        state = talk.state
        if state.closed:
            return
        part = getattr(state.question, "part", "")
        if isinstance(state.question, q.StepWanted) or (
            isinstance(state.question, q.PartOnBench) and (part not in state.parts or part not in refused)
        ):
            refused |= {part} if part in state.parts else set()
            talk.does(msg.Heard(Command.NO), msg.Heard(Command.REPEAT))
        else:
            talk.obliges()


def _too_slow(procedure: Procedure, script: Transcript) -> None:
    """Every product that was applied skins over once before it is assembled, in a cold and dry shop."""
    talk = Talk.begun(procedure, script, ambient_c=5, humidity=20)
    slow: set[str] = set()
    for _ in range(MOST_TURNS):
        step = talk.state.step
        if talk.state.closed:
            return
        if step and step.assembles and step.id not in slow and talk.state.question is None:
            slow.add(step.id)
            talk.does(timedelta(minutes=8), timedelta(minutes=4), timedelta(minutes=4))
            talk.does(msg.Heard(Command.DONE), msg.Heard(Command.REPEAT))
        talk.obliges()


def _left_out(procedure: Procedure, script: Transcript) -> None:
    """Whatever may be skipped is skipped once, and is done when the companion comes back to it."""
    talk = Talk.begun(procedure, script)
    skipped: set[str] = set()
    for _ in range(MOST_TURNS):
        step = talk.state.step
        if talk.state.closed:
            return
        if step and step.id not in skipped and talk.state.question is None and not talk.state.held:
            skipped.add(step.id)
            talk.does(heard(Command.SKIP, {"reason": "the bolt is gone"}), msg.Heard(Command.CLOSE_JOB))
        talk.obliges()


def _handed_over(procedure: Procedure, script: Transcript) -> None:
    """Held while something cures: the page for whoever goes on."""
    talk = Talk.begun(procedure, Transcript())
    while not any(deadline.kind is Kind.CURE for deadline in talk.state.deadlines.values()):
        talk.obliges()
    talk.obliges()
    talk.does(heard(Command.NOTE, {"text": "the bracket is cracked"}), timedelta(minutes=20))
    talk.does(heard(Command.AWAIT_PART, {"text": "the bearing in three days"}), msg.Heard(Command.YES))
    page = handover(talk.state, (), talk.now.wall, lambda moment: f"{moment:%A %H:%M}")
    script.lines += ["", script.heading, *(f"= {line}" for line in as_text(page) if line)]


WAYS = {
    "from beginning to end": _through,
    "with no part on the bench, and nothing wanted": _nothing_there,
    "too slow, in a cold and dry workshop": _too_slow,
    "with every step left out that may be": _left_out,
    "the page of a job that is held while something cures": _handed_over,
}
