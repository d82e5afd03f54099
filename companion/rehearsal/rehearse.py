"""A whole rehearsal: wires the real recogniser, voice, logbook and session to a stage, and performs."""

import random
import wave
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter

import numpy as np

from companion.errors import SoundError
from companion.files import check_sound_name
from companion.job import messages as msg
from companion.job.facts.state import State
from companion.rehearsal.noise import Workshop
from companion.rehearsal.performing import Attempt, Performance
from companion.rehearsal.script import Cue, read_script, usual_script
from companion.rehearsal.stage import Stage
from companion.rehearsal.voice import spoken
from companion.speech.hearing.ear import Ear
from companion.speech.recognisers.recogniser import Recogniser
from companion.speech.saying.cached_voice import CachedVoice
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.sound.samples import RATE, Samples
from companion.work.edges.clock import StagedClock
from companion.work.edges.wake import StagedWaker
from companion.work.opening import OpenJob, Particulars, new_job, resume_job
from companion.work.session import Edges, Session
from companion.work.sound.listening import Listener
from companion.work.views.view import View

MECHANIC_VOICE = "gmw/en-gb-x-rp"
MECHANIC_PACE = (150, 135, 165, 120)
"""Words a minute of each try: someone not understood says it again differently."""


@dataclass(frozen=True)
class Settings:
    """What a rehearsal is to be like."""

    procedure: Path
    logs: Path
    wav: Path
    noise: str | None = "pink"
    snr_db: float = 20.0
    script: Path | None = None
    about: Particulars = field(default_factory=lambda: Particulars("Marlow Tern 1.6, invented", "rehearsal"))
    seed: int = 1


@dataclass(frozen=True)
class Result:
    """What came of it."""

    state: State
    job: str
    log: Path
    wav: Path
    attempts: tuple[Attempt, ...]
    recorded: timedelta
    """Length of the recording."""
    worked: timedelta
    """Time that passed on the staged clock."""
    took: timedelta
    """Time that it really took."""


def rehearse(settings: Settings, recogniser: Recogniser, view: View) -> Result:
    """Perform the procedure from start to close; writes a job log and a stereo WAV.

    Raises:
        ProcedureError, LogbookError, ModelError, VoiceError, SoundError: as the parts raise them.
    """
    began = perf_counter()
    clock = StagedClock(datetime.now(UTC))
    start = clock.now()
    _check_writable(settings.wav)
    job = new_job(settings.procedure, settings.logs, settings.about, clock, rehearsed=True)
    particulars = job.particulars
    mouth = Mouth(CachedVoice(Pyttsx3Voice()))
    mechanic = CachedVoice(Pyttsx3Voice(voice=MECHANIC_VOICE))
    noise = Workshop(settings.noise, settings.snr_db) if settings.noise else None
    stage = Stage(mouth, clock, StagedWaker(), noise)

    def take_up(opened: OpenJob) -> None:
        nonlocal job
        job = opened
        stage.session = Session(job.state, Edges(job.logbook, clock, mouth, stage.waker, view))
        stage.listener = Listener(Ear(recogniser), mouth, job.logbook, job.state.procedure)

    def go_away(length: timedelta) -> msg.Opened:
        stage.session.handle(msg.Leaving())
        job.logbook.close()
        clock.reboot(length)
        take_up(resume_job(job.logbook.path.stem, settings.logs, clock))
        return msg.Opened(clock.boot())

    try:
        take_up(job)
        chance = random.Random(settings.seed)
        performance = Performance(
            stage,
            lambda text, attempt: spoken(mechanic, text, MECHANIC_PACE[attempt]),
            _script(settings, job.state),
            lambda step: chance.lognormvariate(0, 0.2),
            go_away,
        )
        state = performance.run(msg.Opened(clock.boot(), particulars))
        stage.listen(timedelta(minutes=2))
        stage.session.handle(msg.Leaving())
    finally:
        job.logbook.close()
        mouth.close()
        mechanic.close()
    write_stereo(settings.wav, stage.left, stage.right)
    return Result(
        state,
        state.job or "",
        job.logbook.path,
        settings.wav,
        tuple(performance.attempts),
        stage.recorded,
        clock.now().wall - start.wall,
        timedelta(seconds=perf_counter() - began),
    )


def _script(settings: Settings, state: State) -> list[Cue]:
    if settings.script is None:
        return usual_script(state.procedure)
    return read_script(settings.script, state.procedure)


def _check_writable(path: Path) -> None:
    """Find out before the rehearsal, not after it, that the recording cannot be written."""
    check_sound_name(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("ab"):
            pass
    except OSError as error:
        why = error.strerror
        raise SoundError(f"{path}: cannot be written ({why}); choose another place with --wav") from error


def write_stereo(path: Path, left: list[Samples], right: list[Samples]) -> None:
    """The mechanic on the left, the companion on the right; 16 bit.

    Raises:
        SoundError: the file cannot be written.
    """
    both = np.stack([np.concatenate(left), np.concatenate(right)], axis=1)
    data = (np.clip(both, -1, 1) * 32767).astype("<i2").tobytes()
    try:
        with wave.open(str(path), "wb") as file:
            file.setparams((2, 2, RATE, 0, "NONE", "not compressed"))
            file.writeframes(data)
    except OSError as error:
        why = error.strerror
        raise SoundError(f"{path}: cannot be written ({why}); choose another place with --wav") from error
