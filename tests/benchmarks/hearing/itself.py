"""Does it hear itself? `python -m tests.benchmarks.hearing.itself [--quick] [--only NAME]`.

The real mouth, job, echo canceller and ear, frame by frame on a staged clock. The companion reads every step
of the shipped procedures, hazards and details too; its voice comes back to its own microphone through a
simulated garage, as loud as a mechanic (0 dB). Reported for each way to deal with that: commands it took from
itself; and "stop talking", said over it by voices of the report at 0 dB: how often it was obeyed, how long
from the end of the words to the recognition, and from the recognition to silence (what the job and its log
take on this machine, and the sound already on its way).

`even` is a linear room of 0.35 s; `hard` one of 0.5 s with as much echo as direct sound, a small overdriven
loudspeaker, and pink noise at 10 dB.
"""

import argparse
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

import numpy as np
from rich.console import Console
from rich.table import Table
from scipy.signal import fftconvolve

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.words.reading_out import hazard_saying
from companion.procedure.read import read_procedure
from companion.procedure.spoken import for_the_ear
from companion.rehearsal.obliging import next_answer
from companion.speech.devices.echo_free import EchoFree
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.hearing.ear import Ear
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.saying.cached_voice import CachedVoice
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.sound.echo import Canceller, EchoCanceller, NoCanceller
from companion.speech.sound.kalman import KalmanCanceller
from companion.speech.sound.played import Played
from companion.speech.sound.samples import FRAME, FRAME_TIME, RATE, Samples
from companion.work.edges.clock import StagedClock
from companion.work.edges.wake import StagedWaker
from companion.work.opening import Particulars, new_job
from companion.work.session import Edges, Session
from companion.work.sound.listening import Listener
from companion.work.views.plain_view import PlainLines
from tests.benchmarks.hearing import data, noises

PROCEDURES = Path(__file__).parents[3] / "procedures"
OVER = 1.2
"""Seconds into the reading at which the mechanic speaks."""
TRIALS = 40
"""How often it is spoken over."""
LONG_ENOUGH = 3.2
"""Seconds that a reading must last to be spoken over."""
DELAY = 0.06
"""Seconds from the loudspeaker's buffer to the microphone's."""
WAYS: dict[str, Callable[[], Canceller]] = {
    "half-duplex": NoCanceller,
    "our own canceller": KalmanCanceller,
    "pyaec": EchoCanceller,
}


def garage(length: float, echoes: float) -> Samples:
    """The way from the loudspeaker to the microphone: direct, then echoes that die away in `length` s.

    `echoes` is their energy beside the direct sound, dB.
    """
    count = round(length * RATE)
    tail = np.random.default_rng(4).standard_normal(count) * 10 ** (-3 * np.arange(count) / count)
    tail *= 10 ** (echoes / 20) / np.sqrt(np.sum(tail**2))
    tail[0] += 1.0
    return np.concatenate([np.zeros(round(DELAY * RATE)), tail]).astype(np.float32)


def loud(sound: Samples) -> float:
    """Root mean square of its loud parts."""
    parts = sound[: len(sound) // 320 * 320].reshape(-1, 320)
    power = np.mean(parts**2, axis=1)
    return float(np.sqrt(np.mean(power[power > 0.01 * power.max()])))


@dataclass
class Room:
    """A microphone in a room with the companion: each frame it takes, the companion goes on by one."""

    mouth: Mouth
    answer: Samples
    overdriven: bool
    noise: Samples
    name: str = "simulated room"
    overflows: int = 0
    reopened: int = 0
    mechanic: deque[Samples] = field(default_factory=deque)
    """What is said, from the next frame on."""

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        before = np.zeros(len(self.answer) - 1, np.float32)
        at = 0
        while True:
            sound = self.mouth.pull(FRAME)
            if self.overdriven:
                sound = (0.2 * np.tanh(sound / 0.2)).astype(np.float32)
            before = np.concatenate([before, sound])
            frame = fftconvolve(before, self.answer, "valid")
            before = before[FRAME:]
            frame = frame + self.noise[at : at + FRAME]
            at = (at + FRAME) % (len(self.noise) - FRAME)
            if self.mechanic:
                frame = frame + self.mechanic.popleft()
            yield frame.astype(np.float32)

    def close(self) -> None:
        """Nothing to close."""


@dataclass
class Counts:
    """What is reported."""

    own: list[str] = field(default_factory=list)
    obeyed: list[bool] = field(default_factory=list)
    recognised: list[float] = field(default_factory=list)
    stopped: list[float] = field(default_factory=list)


def texts() -> list[str]:
    """All that is read of all steps."""
    found = []
    for path in sorted(PROCEDURES.glob("*.yaml")):
        for step in read_procedure(path).steps:
            found += [
                *(hazard_saying(h).text for h in step.hazards),
                step.say,
                *([step.more] if step.more else []),
            ]
    return found


def measure(make: Callable[[], Canceller], hard: bool, readings: list[str], logs: Path) -> Counts:
    """One job at work, in which all is read to nobody, and then to a mechanic who has heard enough."""
    clock = StagedClock(datetime(2031, 3, 4, 8, tzinfo=UTC))
    job = new_job(PROCEDURES / "sump-reseal.yaml", logs, Particulars("Brackfell Ostler", "Ana"), clock)
    played = Played()
    voice = Pyttsx3Voice()
    mouth = Mouth(CachedVoice(voice), tap=played.add)
    session = Session(job.state, Edges(job.logbook, clock, mouth, StagedWaker(), Silent()))
    session.handle(msg.Opened(clock.boot(), job.particulars))
    while session.state.current is None or session.state.question is not None:
        answer = next_answer(session.state)
        assert isinstance(answer, msg.Heard)
        session.handle(answer)
    mouth.stop()
    listener = Listener(Ear(EmbeddedRecogniser()), mouth, job.logbook, job.state.procedure)
    listener.expect(session.expecting())
    answer_of_room = garage(0.5, 0.0) if hard else garage(0.35, -3.0)
    level = loud(fftconvolve(voice.render(readings[0]).samples, answer_of_room))
    noise = noises.coloured(np.random.default_rng(3), 20.0, 1.0 if hard else 0.0)
    noise = noise * np.float32(level * 10 ** (-10 / 20) if hard else 3e-4)
    room = Room(mouth, answer_of_room, hard, noise)
    frames = EchoFree(room, played, make()).frames()
    counts = Counts()
    speakers = iter(data.REPORTED * 20)
    for text in readings:
        mouth.say("own", for_the_ear(text))
        for frame, messages in heard_until_quiet(frames, listener, mouth):
            del frame
            counts.own += [m.text for m in messages if isinstance(m, msg.Heard | msg.Unsure)]
            if messages:
                mouth.stop()
    lengthy = [t for t in readings if len(voice.render(for_the_ear(t)).samples) > LONG_ENOUGH * RATE]
    for text in lengthy[:: max(1, len(lengthy) // TRIALS)][:TRIALS]:
        order = data.say(next(speakers), "stop talking")
        order = np.concatenate(
            [np.zeros(round(OVER * RATE), np.float32), order * np.float32(level / loud(order))]
        )
        mouth.say("own", for_the_ear(text))
        room.mechanic = deque(cut_in_frames(order))
        counts.obeyed.append(False)
        for at, messages in heard_until_quiet(frames, listener, mouth):
            for message in messages:
                if isinstance(message, msg.Heard) and message.command is Command.STOP_TALKING:
                    counts.obeyed[-1] = True
                    counts.recognised.append(at * FRAME_TIME.total_seconds() - len(order) / RATE)
                    counts.stopped.append(stop(session, message, mouth, frames))
        for _ in range(30):
            listener.listen(next(frames))
    mouth.close()
    job.logbook.close()
    return counts


def heard_until_quiet(
    frames: Iterator[Samples], listener: Listener, mouth: Mouth
) -> Iterator[tuple[int, list[msg.Message]]]:
    """The messages of each frame, numbered, until the companion has been quiet for most of a second."""
    quiet = timedelta()
    for at, frame in enumerate(frames, start=1):
        yield at, listener.listen(frame)
        quiet = quiet + FRAME_TIME if mouth.idle else timedelta()
        if quiet > timedelta(seconds=0.8):
            return


def stop(session: Session, message: msg.Message, mouth: Mouth, frames: Iterator[Samples]) -> float:
    """Seconds from the recognition to silence at the loudspeaker."""
    began = perf_counter()
    session.handle(message)
    took = perf_counter() - began
    while not mouth.idle:
        next(frames)
        took += FRAME_TIME.total_seconds()
    return took


class Silent(PlainLines):
    """Shows nothing."""

    def __getattribute__(self, name: str) -> object:
        return (lambda *_: None) if not name.startswith("__") else super().__getattribute__(name)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="every twelfth reading")
    parser.add_argument("--only", help="only ways and rooms whose name holds this")
    options = parser.parse_args()
    readings = texts()[:: 12 if options.quick else 1]
    table = Table(title=f"Its own voice at 0 dB: {len(readings)} readings, {datetime.now(UTC):%Y-%m-%d}")
    for name in ("", "room", "commands taken from itself", '"stop talking" obeyed', "words to recognition, s",
                 "recognition to silence, s (most)"):  # fmt: skip
        table.add_column(name)
    console = Console(width=120)
    for hard in (False, True):
        for name, make in WAYS.items():
            room = "hard" if hard else "even"
            if options.only and options.only not in f"{name} {room}":
                continue
            with TemporaryDirectory() as folder:
                counts = measure(make, hard, readings, Path(folder))
            waits = f"{np.median(counts.recognised):.2f}" if counts.recognised else "-"
            stops = f"{np.median(counts.stopped):.3f} ({max(counts.stopped):.3f})" if counts.stopped else "-"
            table.add_row(name, room, f"{len(counts.own)} {counts.own or ''}",
                          f"{sum(counts.obeyed)} of {len(counts.obeyed)}", waits, stops)  # fmt: skip
    console.print(table)


if __name__ == "__main__":
    main()
