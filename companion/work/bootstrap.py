"""The one place where real adapters are made and wired; those of sound in `sound/wiring.py`."""

import os
import signal
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from companion.errors import CompanionError
from companion.extras import Extra, need
from companion.job import messages as msg
from companion.speech.devices.player import Player, ScreenOnlyPlayer
from companion.speech.devices.sound_process import LOG_NAME
from companion.speech.saying.sayer import Sayer, SilentMouth
from companion.terminal import letters_of
from companion.work.after import After
from companion.work.chosen import Choices
from companion.work.edges.clock import SystemClock
from companion.work.edges.wake import ApsWaker
from companion.work.faults import Faults
from companion.work.inbox import Inbox, Post
from companion.work.keys import Keys, nothing_can_be_typed, raw_keyboard
from companion.work.last_words import last_words
from companion.work.live import NO_KEYBOARD, Live
from companion.work.opening import Particulars, new_job, resume_job
from companion.work.session import Edges, Session
from companion.work.time_left import time_left
from companion.work.views.outlet import Behind
from companion.work.views.view import View

if TYPE_CHECKING:
    from companion.speech.sound.played import Played
    from companion.work.sound.wiring import OpenedMicrophone


def work(what: Path | str, logs: Path, about: Particulars, choices: Choices) -> None:
    """Begin a job on the procedure of that path, or go on with the job of that name.

    Returns when the mechanic leaves.

    Raises:
        CompanionError: whatever cannot be used, with what to do about it.
    """
    if not (choices.keys and choices.quiet):
        need(Extra.SPEECH, "work without --keys --quiet")
    clock = SystemClock()
    with ExitStack() as closing:
        microphone = _microphone(choices, logs / LOG_NAME, closing)
        job_at_work = (
            resume_job(what, logs, clock) if isinstance(what, str) else new_job(what, logs, about, clock)
        )
        closing.callback(job_at_work.logbook.close)
        if choices.keys and nothing_can_be_typed():
            raise CompanionError(NO_KEYBOARD)
        inbox = Inbox()
        closing.enter_context(Faults(inbox.post))
        mouth, player, played = _mouth(choices, logs / LOG_NAME)
        closing.callback(mouth.close)
        closing.callback(player.close)
        player.start()
        waker = ApsWaker(inbox.post)
        closing.callback(waker.close)
        closing.enter_context(raw_keyboard())
        view = make_view(choices, inbox.post, closing)
        left, why_by_the_book = time_left(job_at_work, logs)
        session = Session(job_at_work.state, Edges(job_at_work.logbook, clock, mouth, waker, view), left)
        if isinstance(what, str):
            state = job_at_work.state
            which = ", ".join(filter(None, (state.procedure.title, state.vehicle)))
            view.tell(f"going on with {which}: job {state.job}")
        for warning in filter(None, (why_by_the_book, job_at_work.warning)):
            view.warn(warning)
        microphoning = None
        if microphone:
            microphoning = microphone.listening(
                choices, mouth, played, job_at_work, session, inbox, view.tell
            )
            closing.callback(microphoning.close)
            microphoning.start()
        Keys(inbox.post, view.typing, choices.pedal).start()
        _leave_on_signals(inbox)
        after = After(job_at_work.logbook, job_at_work.logbook.path, view, inbox.post, choices.alarm_command)
        live = Live(
            session, inbox, mouth, player, clock, view, microphoning, choices.quiet, after, choices.lang
        )
        logbook = job_at_work.logbook
        particulars, who = job_at_work.particulars, about.mechanic
        try:
            live.run(msg.Opened(clock.boot(), particulars, choices.alone, choices.alone_under, who))
        finally:
            view.close(last_words(session.state, logbook, logbook.path, choices.options))


def _microphone(choices: Choices, log: Path, closing: ExitStack) -> "OpenedMicrophone | None":
    """None when working by keys alone."""
    if choices.keys:
        return None
    from companion.work.sound.wiring import OpenedMicrophone

    return OpenedMicrophone.of(choices, log, closing)


def _mouth(choices: Choices, log: Path) -> "tuple[Sayer, Player, Played | None]":
    """What says it all, where the sound goes, and what was played lately; None when nothing is."""
    if choices.quiet:
        silent = SilentMouth()
        return silent, ScreenOnlyPlayer(silent), None
    from companion.work.sound.wiring import speaking

    return speaking(choices, log)


def _leave_on_signals(inbox: Inbox) -> None:
    """Asked to end, by control-C or by a closed terminal too, leave cleanly; asked again, end at once."""

    def leave(number: int, _: object) -> None:
        signal.signal(number, signal.SIG_DFL)
        inbox.post(msg.Leaving())

    for name in ("SIGTERM", "SIGINT", "SIGHUP", "SIGQUIT"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), leave)


def make_view(choices: Choices, post: Post, closing: ExitStack) -> View:
    """The full screen on a terminal, plain lines elsewhere; when nothing takes them any more, work ends."""

    def lost(_: str) -> None:
        post(msg.Leaving())

    out = sys.stdout
    view: View
    if choices.plain or not _fills_a_terminal():
        from companion.work.views.plain_view import PlainLines

        behind = Behind(out.fileno(), letters_of(out), lost)
        closing.callback(behind.close)
        view = PlainLines(behind)
    else:
        from companion.work.views.screen import FullScreen

        view = FullScreen(out.fileno(), letters_of(out), lost)
    closing.callback(view.close)
    return view


def _fills_a_terminal() -> bool:
    dumb = os.environ.get("TERM", "") in ("", "dumb", "unknown")
    return sys.stdout.isatty() and sys.stdin.isatty() and not dumb
