"""The full-screen view, made to be read from two metres: the step, the next one, waits, open things."""

from collections import deque
from datetime import datetime

from rich.align import Align
from rich.console import Console, Group
from rich.layout import Layout
from rich.live import Live
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from companion.job import messages as msg
from companion.job.facts.deadlines import Kind as Wait
from companion.job.facts.sayings import Priority, Saying
from companion.job.facts.state import State
from companion.job.rules.ledger import not_closable, open_things
from companion.job.rules.wanting import Kind, wanting
from companion.job.turns.waiting import ALARM_STAGE
from companion.procedure.model import Step
from companion.procedure.units import short
from companion.work.views.numerals import large

_COLOURS = {
    Priority.ROUTINE: "white",
    Priority.URGENT: "bold black on yellow",
    Priority.DANGER: "bold white on red",
}
_HELD = "HELD: say carry on"
LINES_KEPT = 6
LOW = 30
"""Rows of a terminal below which the talk and the numeral make room for the step."""


class FullScreen:
    """Fills the terminal; nothing in it needs colour to be understood."""

    def __init__(self, console: Console | None = None) -> None:
        self._console = console or Console()
        self._live = Live(console=self._console, screen=True, auto_refresh=False)
        self._live.start()
        self._talk: deque[Text] = deque(maxlen=LINES_KEPT)
        self._typed = ""
        self._warning = ""
        self._last: tuple[State, datetime] | None = None

    def heard(self, message: msg.Message) -> None:
        match message:
            case msg.Heard():
                self._warning = ""
                self._talk.append(Text(f"you: {message.text or message.command}", style="bold cyan"))
            case msg.Unsure():
                self._talk.append(Text(f"you: {message.text}? (not sure)", style="cyan"))
            case msg.NotUnderstood():
                self._talk.append(Text(f"you: {message.text or '...'} (not understood)", style="cyan"))
            case msg.SayingFailed():
                self._warning = f"not played: {message.reason}"
            case msg.MicrophoneLost() | msg.HearingFailed():
                self._warning = message.reason
            case _:
                pass

    def said(self, saying: Saying) -> None:
        self._talk.append(Text(saying.text, style=_COLOURS[saying.priority]))

    def warn(self, text: str) -> None:
        self._warning = text
        self._redraw()

    def tell(self, text: str) -> None:
        self._talk.append(Text(text, style="italic"))
        self._redraw()

    def typing(self, text: str) -> None:
        self._typed = text
        self._redraw()

    def show(self, state: State, now: datetime) -> None:
        self._last = (state, now)
        self._redraw()

    def close(self) -> None:
        self._live.stop()

    def _redraw(self) -> None:
        if self._last is not None:
            self._live.update(self.page(*self._last), refresh=True)

    def page(self, state: State, now: datetime) -> Layout:
        """The whole page."""
        height = self._console.height
        talk = LINES_KEPT if height >= LOW else 2
        alarm = _alarm(state, now)
        free = height - talk - 3 - (3 if alarm else 0)
        lower = max(5, free * 3 // 8)
        page = Layout()
        page.split_column(
            *([Layout(_shouted(alarm), name="alarm", size=3)] if alarm else []),
            Layout(self._step(state, now), name="step"),
            Layout(name="middle", size=lower),
            Layout(self._conversation(talk), name="talk", size=talk + 2),
            Layout(self._foot(state), name="foot", size=1),
        )
        waits, opened = _waits(state, now, lower - 2), _open(state, lower - 2)
        page["middle"].split_row(Layout(waits, name="waits"), Layout(opened, name="open"))
        return page

    def _step(self, state: State, now: datetime) -> Panel:
        step = state.shown_step
        total = len(state.procedure.steps)
        if state.closed:
            return Panel(Align.center(Text("JOB CLOSED", style="bold green"), vertical="middle"))
        if step is None:
            text = Text(_between(state, now), style="bold", justify="center")
            return Panel(
                Align.center(text, vertical="middle"), title=f"{len(state.settled)} of {total} steps settled"
            )
        number = state.procedure.number(step.id)
        say = Text(step.say, style="bold white", justify="center")
        prompt = Text(_prompt(state, step), style="bold yellow", justify="center")
        hazards = [Text(f"{h.signal}: {h.hazard}", style="bold red", justify="center") for h in step.hazards]
        status = " HELD" if state.held else " LOOKING BACK" if state.looking_at else ""
        low = self._console.height < LOW
        numeral = [] if low else [Text(large(number), style="bold", justify="center"), Text()]
        body = Group(*numeral, *hazards, say, Text(), prompt)
        title = f" STEP {number} of {total}{status} "
        return Panel(
            Align.center(body, vertical="middle"), title=title, subtitle=_next(state), border_style="bold"
        )

    def _conversation(self, kept: int) -> Panel:
        """The last lines that fit, however long each is."""
        width = max(20, self._console.width - 4)
        lines = [line for text in self._talk for line in text.wrap(self._console, width)]
        return Panel(Group(*lines[-kept:]), title="said and heard")

    def _foot(self, state: State) -> Text:
        if self._typed:
            return Text(f"type: {self._typed}_", style="bold")
        if self._warning:
            return Text(self._warning, style="bold red")
        heard = f"last heard: {state.last_heard}" if state.last_heard else "say help, or type a command"
        return Text(f"{heard}   |   key: space = done, Ctrl-C = leave (the job is kept)", style="dim")


def _between(state: State, now: datetime) -> str:
    """Instead of a step: what is asked, or what is waited for."""
    if state.question:
        return state.asked
    if state.held:
        return _HELD
    if not not_closable(state):
        return "EVERY STEP IS SETTLED: say close the job"
    waits = [d for d in state.deadlines.values() if d.due > now and d.kind is not Wait.TIMER]
    soonest = min(waits, key=lambda d: d.due, default=None)
    return f"WAITING {short(soonest.due - now)}: {soonest.name}" if soonest else "WAITING: say what is open"


def _prompt(state: State, step: Step) -> str:
    """What is to be said now, unless it is a plain done."""
    if state.question:
        return state.asked
    if state.held:
        return _HELD
    want = wanting(state, step)
    return "" if want.kind is Kind.DONE else want.prompt


def _alarm(state: State, now: datetime) -> str:
    """What must be seen from across the workshop: the visual twin of what is repeated aloud."""
    if state.check_in_stage >= ALARM_STAGE:
        return "ALARM: NO ANSWER FROM THE MECHANIC"
    if state.check_in_stage:
        return "ARE YOU ALL RIGHT? Say got it"
    due = [d for d in state.deadlines.values() if d.due <= now and d.priority > Priority.ROUTINE]
    if not due:
        return ""
    more = f" (and {len(due) - 1} more)" if len(due) > 1 else ""
    return f"{min(due, key=lambda d: d.due).what}{more} Say got it"


def _shouted(text: str) -> Panel:
    style = "bold white on red"
    return Panel(Text(text, style=style, justify="center", no_wrap=True), style=style)


def _next(state: State) -> str:
    for step in state.procedure.steps:
        if step.id not in state.settled and step.id != state.current:
            return f" next: {step.say} "
    return ""


def _waits(state: State, now: datetime, room: int) -> Panel:
    if not state.deadlines:
        return Panel(Text("nothing"), title="waiting")
    table = Table.grid(padding=(0, 1))
    for deadline in sorted(state.deadlines.values(), key=lambda d: d.due)[:room]:
        left = short(deadline.due - now) if deadline.due > now else "NOW"
        style = "bold red" if deadline.due <= now and deadline.priority > Priority.ROUTINE else ""
        what = deadline.name if deadline.due > now else deadline.what
        table.add_row(Text(left, style=f"bold {style}"), Text(what, style=style))
    return Panel(table, title=f"waiting: {len(state.deadlines)}")


def _open(state: State, room: int) -> Panel:
    """As many as fit, the most dangerous first; how many more there are is always told."""
    things = [Text(t.text, no_wrap=True, overflow="ellipsis") for t in open_things(state)]
    shown = things if len(things) <= room else things[: room - 1]
    if len(shown) < len(things):
        shown = [*shown, Text(f"and {len(things) - len(shown)} more: say what is open", style="bold")]
    return Panel(Group(*shown) if things else Text("nothing"), title=f"open: {len(things)}")
