"""The one place where real microphones, loudspeakers, voices and recognisers are made and wired."""

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from companion.errors import ModelError
from companion.speech.devices.microphone import Microphone
from companion.speech.devices.player import Player
from companion.speech.recognisers.pinned import MODELS
from companion.speech.recognisers.recogniser import Recogniser
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.sayer import Sayer
from companion.speech.saying.voice import Voice
from companion.speech.sound.played import Played
from companion.work.chosen import Choices
from companion.work.inbox import Inbox
from companion.work.live import Microphoning
from companion.work.opening import OpenJob
from companion.work.session import Session
from companion.work.sound.listening import Listener
from companion.work.sound.surroundings import Surroundings

EMBEDDED_LANGUAGE = "en"
"""The one that the embedded recogniser knows; there it is also the second opinion on what Vosk hears."""

OpenMicrophone = Callable[[], Microphone]


def speaking(choices: Choices, log: Path) -> tuple[Mouth, Player, Played]:
    """A mouth with its voice, where its sound goes, and what it played lately."""
    played = Played()
    mouth = Mouth(_voice(choices), background=True, tap=played.add)
    return mouth, _player(choices, mouth, log), played


def _voice(choices: Choices) -> Voice:
    from companion.speech.saying.cached_voice import CachedVoice

    if choices.voice == "natural":
        from companion.speech.saying.piper_voice import PiperVoice

        return CachedVoice(PiperVoice())
    from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice

    voice = Pyttsx3Voice()
    voice.start()
    return CachedVoice(voice)


def _player(choices: Choices, mouth: Mouth, log: Path) -> Player:
    """A device, or a file."""
    if choices.speaker and choices.speaker.endswith(".wav"):
        from companion.speech.devices.paced import PacedWavPlayer

        return PacedWavPlayer(mouth, Path(choices.speaker))
    from companion.speech.devices.device_player import SoundDevicePlayer

    return SoundDevicePlayer(mouth, choices.speaker, log)


@dataclass(frozen=True)
class OpenedMicrophone:
    """How to open the microphone, which works, and what makes dB(A) of its levels, if anybody measured it."""

    again: OpenMicrophone
    calibration: float | None

    @classmethod
    def of(cls, choices: Choices, log: Path, closing: ExitStack) -> "OpenedMicrophone":
        """It is opened now, so that a wrong choice, or a bad profile, is told before the job begins."""
        again = _microphone(choices, log, closing)
        return cls(again, _calibration(choices.profile) if choices.profile else None)

    def listening(
        self,
        choices: Choices,
        mouth: Sayer,
        played: Played | None,
        job: OpenJob,
        session: Session,
        inbox: Inbox,
        tell: Callable[[str], None],
    ) -> Microphoning:
        """Everything between the microphone and the inbox, not yet started.

        Args:
            choices: what to listen with.
            mouth: what speaks meanwhile.
            played: what it played, to be taken out of what is heard; None when it plays nothing.
            job: what the sound of notes is kept with.
            session: knows what can be said.
            inbox: takes what was heard.
            tell: shows a line.
        """
        return Microphoning(
            _looked_at(self.again, played, tell, lambda: not mouth.idle),
            lambda: _listener(choices, mouth, job, session),
            inbox,
            Surroundings(mouth, tell, self.calibration).feed,
            tell,
        )


def _microphone(choices: Choices, log: Path, closing: ExitStack) -> OpenMicrophone:
    if choices.mic and choices.mic.endswith(".wav"):
        from companion.speech.devices.paced import PacedMicrophone

        recording = Path(choices.mic)
        PacedMicrophone(recording)
        return lambda: PacedMicrophone(recording)
    from companion.speech.devices.device_microphone import SoundDeviceMicrophone

    first = [SoundDeviceMicrophone(choices.mic, log)]
    closing.callback(first[0].close)
    return lambda: first.pop() if first else SoundDeviceMicrophone(choices.mic, log)


def _calibration(profile: Path) -> float | None:
    from companion.speech.hearing.profile import read_profile

    return read_profile(profile).calibration


def _looked_at(
    again: OpenMicrophone, played: Played | None, tell: Callable[[str], None], speaking: Callable[[], bool]
) -> OpenMicrophone:
    """The same, looked at, and less what is played; the way through the room is learnt anew each time."""
    from companion.speech.devices.echo_free import EchoFree
    from companion.speech.devices.looked_at import LookedAt
    from companion.speech.sound.echo import best_canceller

    def looked_at() -> Microphone:
        return LookedAt(again(), tell, speaking)

    return (lambda: EchoFree(looked_at(), played, best_canceller(), tell)) if played else looked_at


def _listener(choices: Choices, mouth: Sayer, job: OpenJob, session: Session) -> Listener:
    """Made, and its models loaded, in the thread that listens."""
    from companion.speech.hearing.ear import Ear

    recogniser = make_recogniser(choices.recogniser, choices.model, choices.lang, choices.profile)
    ear = Ear(recogniser, lang=choices.lang, attention=choices.attention, own=choices.own)
    listener = Listener(ear, mouth, job.logbook, job.state.procedure, choices.lang)
    listener.expect(session.expecting())
    listener.prepare()
    return listener


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
