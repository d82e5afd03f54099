"""The one place where real adapters are made and wired."""

import os
import signal
import sys
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from companion.errors import CompanionError, ModelError
from companion.job import messages as msg
from companion.speech.devices.microphone import Microphone
from companion.speech.devices.player import Player, ScreenOnlyPlayer
from companion.speech.devices.sound_process import LOG_NAME
from companion.speech.recognisers.recogniser import Recogniser
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import Voice
from companion.speech.sound.played import Played
from companion.terminal import letters_of
from companion.work.after import After
from companion.work.edges.clock import SystemClock
from companion.work.edges.wake import ApsWaker
from companion.work.faults import Faults
from companion.work.inbox import Inbox, Post
from companion.work.keys import Keys, nothing_can_be_typed, raw_keyboard
from companion.work.leaving import last_words
from companion.work.listening import Listener
from companion.work.live import NO_KEYBOARD, Live, Microphoning
from companion.work.opening import OpenJob, Particulars, new_job, resume_job
from companion.work.session import Edges, Session
from companion.work.surroundings import Surroundings
from companion.work.time_left import time_left
from companion.work.views.outlet import Behind
from companion.work.views.view import View

MODELS = Path("models")
EMBEDDED_LANGUAGE = "en"
"""The one that the embedded recogniser knows; there it is also the second opinion on what Vosk hears."""


@dataclass(frozen=True)
class Choices:
    """Which edges the mechanic wants; see the options of `companion work`."""

    keys: bool = False
    quiet: bool = False
    plain: bool = False
    mic: str | None = None
    speaker: str | None = None
    pedal: str = " "
    voice: str = "plain"
    attention: str | None = None
    alone: timedelta | None = None
    alone_under: timedelta | None = None
    alarm_command: tuple[str, ...] = ()
    profile: Path | None = None
    recogniser: str = "auto"
    model: Path | None = None
    lang: str = "en"
    options: tuple[str, ...] = ()
    """As typed, to be given again when the job is taken up again."""


def work(what: Path | str, logs: Path, about: Particulars, choices: Choices) -> None:
    """Begin a job on the procedure of that path, or go on with the job of that name.

    Returns when the mechanic leaves.

    Raises:
        CompanionError: whatever cannot be used, with what to do about it.
    """
    clock = SystemClock()
    with ExitStack() as closing:
        open_microphone = _microphone(choices, logs / LOG_NAME, closing)
        calibration = _calibration(choices.profile) if open_microphone and choices.profile else None
        job_at_work = (
            resume_job(what, logs, clock) if isinstance(what, str) else new_job(what, logs, about, clock)
        )
        closing.callback(job_at_work.logbook.close)
        if choices.keys and nothing_can_be_typed():
            raise CompanionError(NO_KEYBOARD)
        inbox = Inbox()
        closing.enter_context(Faults(inbox.post))
        played = Played()
        mouth = Mouth(_voice(choices), background=True, tap=played.add)
        closing.callback(mouth.close)
        player = make_player(choices, mouth, logs / LOG_NAME)
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
        if open_microphone:
            microphoning = Microphoning(
                _echo_free(open_microphone, played, view.tell, lambda: not mouth.idle),
                lambda: _listener(choices, mouth, job_at_work, session),
                inbox,
                Surroundings(mouth, view.tell, calibration).feed,
                view.tell,
            )
            closing.callback(microphoning.close)
            microphoning.start()
        Keys(inbox.post, view.typing, choices.pedal).start()
        _leave_on_signals(inbox)
        after = After(job_at_work.logbook, view, inbox.post, choices.alarm_command)
        live = Live(
            session, inbox, mouth, player, clock, view, microphoning, choices.quiet, after, choices.lang
        )
        logbook = job_at_work.logbook
        particulars, who = job_at_work.particulars, about.mechanic
        try:
            live.run(msg.Opened(clock.boot(), particulars, choices.alone, choices.alone_under, who))
        finally:
            view.close(last_words(session.state, logbook, logbook.path, choices.options))


def _leave_on_signals(inbox: Inbox) -> None:
    """Asked to end, by control-C or by a closed terminal too, leave cleanly; asked again, end at once."""

    def leave(number: int, _: object) -> None:
        signal.signal(number, signal.SIG_DFL)
        inbox.post(msg.Leaving())

    for name in ("SIGTERM", "SIGINT", "SIGHUP", "SIGQUIT"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), leave)


def _listener(choices: Choices, mouth: Mouth, job: OpenJob, session: Session) -> Listener:
    """Made, and its models loaded, in the thread that listens."""
    from companion.speech.hearing.ear import Ear

    recogniser = make_recogniser(choices.recogniser, choices.model, choices.lang, choices.profile)
    ear = Ear(recogniser, lang=choices.lang, attention=choices.attention)
    listener = Listener(ear, mouth, job.logbook, job.state.procedure, choices.lang)
    listener.expect(session.expecting())
    listener.prepare()
    return listener


def _echo_free(
    open_microphone: Callable[[], Microphone],
    played: Played,
    tell: Callable[[str], None],
    speaking: Callable[[], bool],
) -> Callable[[], Microphone]:
    """The same, looked at, and less what is played; the way through the room is learnt anew each time."""
    from companion.speech.devices.echo_free import EchoFree
    from companion.speech.devices.looked_at import LookedAt
    from companion.speech.sound.echo import best_canceller

    return lambda: EchoFree(LookedAt(open_microphone(), tell, speaking), played, best_canceller(), tell)


def _calibration(profile: Path) -> float | None:
    """Of the microphone; a profile that cannot be used is told before the job begins, not by a thread."""
    from companion.speech.hearing.profile import read_profile

    return read_profile(profile).calibration


def _voice(choices: Choices) -> Voice:
    from companion.speech.saying.cached_voice import CachedVoice

    if choices.voice == "natural":
        from companion.speech.saying.piper_voice import PiperVoice

        return CachedVoice(PiperVoice())
    from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice

    voice = Pyttsx3Voice()
    voice.start()
    return CachedVoice(voice)


def make_player(choices: Choices, mouth: Mouth, log: Path | None = None) -> Player:
    """Where the sound goes: a device, a file, or nowhere but the screen."""
    if choices.quiet:
        return ScreenOnlyPlayer(mouth)
    if choices.speaker and choices.speaker.endswith(".wav"):
        from companion.speech.devices.paced import PacedWavPlayer

        return PacedWavPlayer(mouth, Path(choices.speaker))
    from companion.speech.devices.device_player import SoundDevicePlayer

    return SoundDevicePlayer(mouth, choices.speaker, log)


def _microphone(choices: Choices, log: Path, closing: ExitStack) -> Callable[[], Microphone] | None:
    """How to open the microphone. It is opened now, so that a wrong choice is told before the job begins."""
    if choices.keys:
        return None
    if choices.mic and choices.mic.endswith(".wav"):
        from companion.speech.devices.paced import PacedMicrophone

        recording = Path(choices.mic)
        PacedMicrophone(recording)
        return lambda: PacedMicrophone(recording)
    from companion.speech.devices.device_microphone import SoundDeviceMicrophone

    first = [SoundDeviceMicrophone(choices.mic, log)]
    closing.callback(first[0].close)
    return lambda: first.pop() if first else SoundDeviceMicrophone(choices.mic, log)


def make_view(choices: Choices, post: Post, closing: ExitStack) -> View:
    """The full screen on a terminal, plain lines elsewhere; when nothing takes them any more, work ends."""

    def lost(_: str) -> None:
        post(msg.Leaving())

    out = sys.stdout
    view: View
    if choices.plain or not _fills_a_terminal():
        from companion.work.views.lines import PlainLines

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


def make_recogniser(
    which: str = "auto", model: Path | None = None, lang: str = "en", profile: Path | None = None
) -> Recogniser:
    """The recogniser that is asked for; `auto` takes a Vosk model when there is one, else the embedded one.

    The embedded one is fitted to a voice and place where there is a `profile`
    (`speech/hearing/profile.py`). It also confirms what Vosk hears, where it knows the language.

    Raises:
        ModelError: Vosk is asked for and there is no usable model, the profile is none, or the embedded one
            is asked for in a language that it does not know.
    """
    if which == "auto":
        which = "vosk" if model or found_model(lang) else "embedded"
    if which == "embedded":
        if lang != EMBEDDED_LANGUAGE:
            raise ModelError(
                f"the embedded recogniser knows no language but {EMBEDDED_LANGUAGE!r}; for {lang!r} name a "
                f"Vosk model with --model, or see {MODELS}/README.md"
            )
        return _embedded(profile)
    from companion.speech.recognisers.vosk import VoskRecogniser

    folder = model or found_model(lang)
    if folder is None:
        raise ModelError(
            f"there is no Vosk model in {MODELS}/; name one with --model, or see {MODELS}/README.md"
        )
    return VoskRecogniser(folder, _embedded(profile) if lang == EMBEDDED_LANGUAGE else None)


def _embedded(profile: Path | None) -> Recogniser:
    from companion.speech.recognisers.embedded import EmbeddedRecogniser

    if profile is None:
        return EmbeddedRecogniser()
    from companion.speech.hearing.profile import read_profile

    return EmbeddedRecogniser(fitted=read_profile(profile).apply)


def found_model(lang: str = "en") -> Path | None:
    """A Vosk model folder in `models/`, by its name; None when there is none."""
    marked = [p for p in sorted(MODELS.glob("vosk*")) if p.is_dir() and f"-{lang}" in p.name]
    return marked[0] if marked else None
