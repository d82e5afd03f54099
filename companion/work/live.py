"""The live loop: threads post to the inbox, one thread empties it, the mechanic leaves when they like."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Event, Thread
from time import monotonic
from typing import TYPE_CHECKING, NoReturn

from companion.errors import CompanionError, LogbookError, SoundError
from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.state import State
from companion.speech.devices.player import Player
from companion.speech.saying.sayer import Sayer
from companion.speech.sound.samples import Samples
from companion.work.edges.clock import Clock, JumpWatch
from companion.work.inbox import Died, Inbox, News, NothingTyped, TooLong, Typed
from companion.work.keys import LONGEST, understood
from companion.work.session import Session
from companion.work.views.view import View

if TYPE_CHECKING:
    from companion.speech.devices.microphone import Microphone
    from companion.work.sound.listening import Listener

TRY_AGAIN = 1.0
"""Seconds between looks for a microphone that went away."""
HUNG = 20.0
"""Seconds without an end after which a recogniser counts as hung. CHOSEN: a long note takes a few."""
LOADS_WITHIN = 60.0
"""The same while it is being loaded. CHOSEN: from a cold disk it takes ten or so."""
LOADED_BY = 20.0
"""Seconds that leaving waits at most for the thread that listens."""
NO_KEYBOARD = (
    "the standard input ended before anything was typed: start it on a terminal, or leave out --keys to "
    "work by voice"
)
LAST_WORDS = timedelta(seconds=60)
"""Longest wait for the voice to finish when the job is closed."""


class Microphoning:
    """Feeds the listener from a microphone in a thread, and finds it again when it comes back."""

    def __init__(
        self,
        open_microphone: "Callable[[], Microphone]",
        listener: "Callable[[], Listener]",
        inbox: Inbox,
        beside: Callable[[Samples], None] | None = None,
        tell: Callable[[str], None] = lambda _: None,
    ):
        """
        Args:
            open_microphone: called in the thread, so that speaking need not wait.
            listener: makes it; likewise.
            inbox: takes what was heard, and the loss and the return of the microphone.
            beside: takes every frame too.
            tell: shows a line.
        """
        self._open_microphone = open_microphone
        self._make_listener = listener
        self._inbox = inbox
        self._beside = beside
        self._tell = tell
        self._ended = Event()
        self._thread = Thread(target=self._run, name="microphone", daemon=True)
        self._microphone: Microphone | None = None
        self._busy_since: float | None = None
        self._told_hung = False
        self.listener: Listener | None = None
        self.failure: Exception | None = None
        """Why nothing is listened to any more, or never was."""
        self.ready = Event()
        """Listening has begun, or has failed."""

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def watch(self) -> None:
        """Tell once that the recogniser hangs. Called often, from another thread."""
        since, patience = self._busy_since, HUNG if self.ready.is_set() else LOADS_WITHIN
        if since is not None and monotonic() - since > patience and not self._told_hung:
            self._told_hung = True
            self._inbox.post(msg.MicrophoneLost(f"what listens has not answered for {patience:.0f} seconds"))

    def close(self) -> None:
        """Stop listening. A model that is being loaded is waited for: ended halfway, it ends the program."""
        self._ended.set()
        if self._microphone:
            self._microphone.close()
        if self._thread.is_alive():
            self._thread.join(LOADED_BY)

    def _run(self) -> None:
        """Listen until the end. Whatever goes wrong is told: else the mechanic talks to a deaf machine."""
        try:
            with self._watched():
                self.listener = self._make_listener()
                self._microphone = self._open_microphone()
            self.ready.set()
            self._inbox.post(msg.Woken())
            while not self._ended.is_set():
                self._listen_until_lost(self._microphone, self.listener)
        except SoundError as error:
            self._fail(error, msg.MicrophoneLost(str(error)))
        except CompanionError as error:
            self._fail(error, msg.HearingFailed(str(error)))
        except Exception as error:
            self._fail(error, msg.HearingFailed(f"listening failed ({error})"))
            raise

    def _fail(self, error: Exception, news: msg.Message) -> None:
        self.failure = error
        self.ready.set()
        self._inbox.post(news)

    def _listen_until_lost(self, microphone: "Microphone", listener: "Listener") -> None:
        try:
            self._listen(microphone, listener)
        except SoundError as error:
            microphone.close()
            self._inbox.post(msg.MicrophoneLost(str(error)))
            self._find_again()

    def _listen(self, microphone: "Microphone", listener: "Listener") -> None:
        for number, frame in enumerate(microphone.frames()):
            if number == 0:
                self._tell("Listening.")  # Only now: what was said before was not heard.
            if self._beside:
                self._beside(frame)
            for message in self._heard(listener, frame):
                self._inbox.post(message)
            if self._ended.is_set():
                return
        if not self._ended.is_set():
            from companion.speech.devices.microphone import MicrophoneLostError

            raise MicrophoneLostError(f"the microphone {microphone.name} ended")

    def _heard(self, listener: "Listener", frame: Samples) -> Sequence[msg.Message]:
        with self._watched():
            return listener.listen(frame)

    @contextmanager
    def _watched(self) -> Iterator[None]:
        """Around what may hang. When it hung, and that was told, its end is told too."""
        self._busy_since = monotonic()
        try:
            yield
        finally:
            self._busy_since = None
        if self._told_hung:
            self._told_hung = False
            self._inbox.post(msg.MicrophoneBack())

    def _find_again(self) -> None:
        while not self._ended.wait(TRY_AGAIN):
            try:
                self._microphone = self._open_microphone()
            except SoundError:
                continue
            self._inbox.post(msg.MicrophoneBack())
            return


@dataclass
class Live:
    """Everything that a session at the car needs."""

    session: Session
    inbox: Inbox
    mouth: Sayer
    player: Player
    clock: Clock
    view: View
    microphoning: Microphoning | None = None
    """None when working by keys alone."""
    quiet: bool = False
    """The mechanic chose no sound, so a saying that was not played is no news."""
    after: Callable[[Sequence[ev.Event], State, datetime], None] | None = None
    """Called with the events of each message, the state they led to, and the time: see `after.py`."""
    lang: str = "en"
    """The language of what is typed."""

    def run(self, opened: msg.Opened) -> None:
        """Work until the job is closed or the mechanic leaves.

        Raises:
            LogbookError: the log could not be written up to the end; nothing unlogged was acknowledged.
            CompanionError: a part of the companion died of a fault.
        """
        try:
            self._work(opened)
        finally:
            self.session.write_again(at_once=True)
        if why := self.session.unlogged():
            raise LogbookError(why)

    def _work(self, opened: msg.Opened) -> None:
        watch = JumpWatch()
        self._handle(opened)
        while not self.session.state.closed:
            message = self.inbox.take(seconds=0.25)
            jump = watch.look(self.clock.now())
            if jump is not None:
                self._handle(msg.ClockJumped(jump))
            heard = self._heard(message)
            if heard is not None:
                self._handle(heard)
                if isinstance(heard, msg.Leaving):
                    return
            self._watch_sound()
            self.session.write_again()
        self._finish_speaking()
        self._handle(msg.Leaving())

    def _heard(self, news: News | None) -> msg.Message | None:
        """What of the news is for the job."""
        if isinstance(news, Typed):
            return understood(news, self.session.expecting(), self.lang)
        if isinstance(news, Died):
            self._end_by(news)
        if isinstance(news, TooLong):
            self.view.warn(
                f"that line is too long, {news.length:,}: nothing of it counts; "
                f"write at most {LONGEST:,} characters at a time"
            )
            return None
        if isinstance(news, NothingTyped):
            self._without_a_keyboard()
            return None
        return news

    def _without_a_keyboard(self) -> None:
        """There is no keyboard. By voice the job goes on; without a microphone it ends."""
        if self.microphoning:
            self.view.tell("no keyboard here: the job goes on by voice; say 'stop work' to leave")
            return
        self._handle(msg.Leaving())
        raise CompanionError(f"{NO_KEYBOARD}; the job is kept: go on with companion work --resume")

    def _end_by(self, death: Died) -> NoReturn:
        """A part of the companion is missing: say so, and end where the job can be taken up again."""
        self._handle(msg.Failing())
        self._finish_speaking()
        self._handle(msg.Leaving())
        raise CompanionError(
            f"the thread {death.part!r} of the companion died ({death.error}); the job is kept as it was: "
            "go on with companion work --resume"
        )

    def _handle(self, message: msg.Message) -> None:
        events = self.session.handle(message)
        if self.microphoning and self.microphoning.listener:
            self.microphoning.listener.expect(self.session.expecting())
        if self.after:
            self.after(events, self.session.state, self.clock.now().wall)

    def _watch_sound(self) -> None:
        """Report what was not played; when sound is back, say the safety sayings again."""
        if self.microphoning:
            self.microphoning.watch()
        fault = self.player.watch()
        for line in self.player.news():
            self.view.tell(line)
        for lost in self.session.lost_sayings():
            if not self.quiet:
                self._handle(lost)
        if fault is None:
            self.session.say_again()
        elif not self.quiet:
            self.view.warn(fault)

    def _finish_speaking(self) -> None:
        end = monotonic() + LAST_WORDS.total_seconds()
        while not self.mouth.idle and monotonic() < end and self.player.watch() is None:
            self.inbox.take(seconds=0.1)
            self.session.lost_sayings()
