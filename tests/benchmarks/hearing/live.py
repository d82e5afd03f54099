"""How fast an answer comes and what listening costs: `python -m tests.benchmarks.hearing.live [--clips N]`.

The live loop with a job at a step: a microphone thread that is fed in real time, the inbox, the job and its
log on disk, the mouth with its voice, and a loudspeaker thread that takes 10 ms at a time. Questions are
asked by voices of the report. Reported: from the end of speech (the last loud sample of the clip, not the
detector's idea of it) to the tone that says it was heard, and to the first word of the answer, both as they
leave for the sound system; what listening alone takes of one core, in silence and in noise; memory resident.

The share is of processor time, so another busy program changes it little. The delays it does change: the load
is printed, and beside them what the delay of the hearing would be were the machine ours, reckoned from the
processor time of each frame with one thread in place of two (threads that wait for each other spin).
"""

import argparse
import os
import resource
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from queue import Empty, SimpleQueue
from tempfile import TemporaryDirectory
from threading import Event, Thread

import numpy as np

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.sayings import Tone
from companion.job.facts.state import State
from companion.rehearsal.obliging import next_answer
from companion.speech.devices.echo_free import EchoFree
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.devices.paced import Pace
from companion.speech.devices.player import ScreenOnlyPlayer
from companion.speech.hearing.ear import Ear
from companion.speech.language.phrases import phrases_for
from companion.speech.network.whisper import Whisper
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.saying.cached_voice import CachedVoice
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.saying.tones import tone
from companion.speech.sound.echo import best_canceller
from companion.speech.sound.played import Played
from companion.speech.sound.samples import FRAME_TIME, RATE, Samples, silence
from companion.work.edges.clock import SystemClock
from companion.work.edges.wake import ApsWaker
from companion.work.inbox import Inbox
from companion.work.live import Live, Microphoning
from companion.work.opening import Particulars, new_job
from companion.work.session import Edges, Session
from companion.work.sound.listening import Listener
from companion.work.views.plain_view import PlainLines
from tests.benchmarks.hearing import data, noises

PROCEDURE = Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml"
ASKED = ("repeat", "what size", "what torque", "how many", "what tools", "what is open", "what is waiting",
         "how long left", "help")  # fmt: skip
TONE = len(tone(Tone.HEARD)) / RATE
BLOCK = RATE // 100


@dataclass
class Fed:
    """A microphone fed in real time: silence, and what is put into it."""

    name: str = "fed"
    overflows: int = 0
    reopened: int = 0
    rate: int | None = None
    dead_channel: str | None = None
    waiting: SimpleQueue[Samples] = field(default_factory=SimpleQueue)
    ended: Event = field(default_factory=Event)
    begun: float = 0.0
    """When the first sample of the latest scene sounded."""

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        pace = Pace()
        while not self.ended.is_set():
            try:
                scene = list(cut_in_frames(self.waiting.get_nowait()))
            except Empty:
                pace.wait()
                yield silence(FRAME_TIME)
                continue
            for number, frame in enumerate(scene):
                pace.wait()
                if number == 0:
                    self.begun = time.monotonic() - FRAME_TIME.total_seconds()
                yield frame

    def close(self) -> None:
        """See `Microphone`."""
        self.ended.set()


class Loudspeaker:
    """Takes sound in real time, and notes when the tone and the words left."""

    def __init__(self, mouth: Mouth) -> None:
        self._mouth = mouth
        self.ended = Event()
        self.tone: float | None = None
        self.word: float | None = None
        self._thread = Thread(target=self._run, daemon=True)
        self._thread.start()

    def forget(self) -> None:
        """Before the next question."""
        self.tone = self.word = None

    def _run(self) -> None:
        pace = Pace(timedelta(seconds=BLOCK / RATE))
        while not self.ended.is_set():
            pace.wait()
            loud = bool(np.any(np.abs(self._mouth.pull(BLOCK)) > 1e-3))
            now = time.monotonic()
            if loud and self.tone is None:
                self.tone = now
            elif loud and self.tone and self.word is None and now > self.tone + TONE + 0.02:
                self.word = now


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=60)
    options = parser.parse_args()
    before = resident()
    pairs = [(s, t) for s in data.REPORTED for t in ASKED]
    picked = pairs[:: max(1, len(pairs) // options.clips)][: options.clips]
    load = os.getloadavg()[0]
    with TemporaryDirectory() as folder:
        tones, words = answers(picked, Path(folder))
    print(
        f"load of the machine: {load:.1f} before, {os.getloadavg()[0]:.1f} after, on {os.cpu_count()} cores"
    )
    print(f"answered: {len(tones)} of {len(picked)} questions")
    for name, delays in (("tone", tones), ("first word", words)):
        middle, late = np.percentile(delays, (50, 95))
        print(f"end of speech to {name}: median {middle:.0f} ms, p95 {late:.0f} ms")
    print(f"resident: {resident():.0f} MB ({before:.0f} MB before the models), peak {peak():.0f} MB")
    ear = Ear(EmbeddedRecogniser(Whisper(adapt=False, threads=1), Whisper(threads=1)))
    ear.expect(phrases_for([c for c in Command if c not in (Command.YES, Command.NO)]))
    reckoned = [delay for n, (s, t) in enumerate(picked) for delay in undisturbed(ear, data.say(s, t), n)]
    middle, late = np.percentile(reckoned, (50, 95))
    print(f"end of speech to hearing, by processor time ({len(reckoned)} of {len(picked)}): "
          f"median {middle:.0f} ms, p95 {late:.0f} ms")  # fmt: skip
    for name, noise in (("silence", None), ("pink noise", noises.REPORTED_NOISES["pink"])):
        print(f"listening alone, {name}: {idle(ear, noise):.1f} % of one core")


def answers(picked: list[tuple[data.Speaker, str]], logs: Path) -> tuple[list[float], list[float]]:
    """Milliseconds from the end of speech to the tone and to the first word, of the questions answered."""
    clock, inbox, played, fed = SystemClock(), Inbox(), Played(), Fed()
    job = new_job(PROCEDURE, logs, Particulars("Brackfell Ostler", "Ana"), clock)
    voice = Pyttsx3Voice()
    voice.start()
    mouth = Mouth(CachedVoice(voice), background=True, tap=played.add)
    waker = ApsWaker(inbox.post)
    session = Session(job.state, Edges(job.logbook, clock, mouth, waker, Unseen()))

    def listener() -> Listener:
        made = Listener(Ear(EmbeddedRecogniser()), mouth, job.logbook, job.state.procedure)
        made.expect(session.expecting())
        made.prepare()
        return made

    microphoning = Microphoning(lambda: EchoFree(fed, played, best_canceller()), listener, inbox)
    live = Live(session, inbox, mouth, Playing(mouth), clock, Unseen(), microphoning)
    opened = msg.Opened(clock.boot(), job.particulars)
    loop = Thread(target=live.run, args=(opened,), daemon=True)
    loop.start()
    to_a_step(session, inbox)
    microphoning.start()
    microphoning.ready.wait(60)
    loudspeaker = Loudspeaker(mouth)
    tones, words = [], []
    for number, (speaker, text) in enumerate(picked):
        quiet(mouth)
        speech = data.say(speaker, text)
        lead = 0.6
        loudspeaker.forget()
        fed.waiting.put(noises.scene(speech, None, 0, number, lead=lead, tail=0.2))
        time.sleep(lead + len(speech) / RATE + 2.0)
        end = fed.begun + lead + len(speech) / RATE
        if loudspeaker.tone and loudspeaker.word:
            tones.append(1000 * (loudspeaker.tone - end))
            words.append(1000 * (loudspeaker.word - end))
    inbox.post(msg.Leaving())
    loop.join(30)
    loudspeaker.ended.set()
    microphoning.close()
    mouth.close()
    waker.close()
    job.logbook.close()
    return tones, words


def undisturbed(ear: Ear, speech: Samples, seed: int) -> list[float]:
    """Milliseconds from the end of speech to the accepted command on a machine that does nothing else.

    A frame is taken when it is there and the one before is done with, and takes its processor time.
    """
    ear.reset()
    done = 0.0
    scene = noises.scene(speech, None, 0, seed, lead=0.6, tail=1.5)
    for number, frame in enumerate(cut_in_frames(scene), start=1):
        began = time.process_time()
        heard = ear.feed(frame)
        done = max(done, number * FRAME_TIME.total_seconds()) + time.process_time() - began
        if any(h.judgement.verdict is Verdict.ACCEPTED for h in heard):
            return [1000 * (done - 0.6 - len(speech) / RATE)]
    return []


def to_a_step(session: Session, inbox: Inbox) -> None:
    """Answer what is asked before the first step."""
    while not at_a_step(session.state):
        answer = next_answer(session.state) if session.state.question else None
        if isinstance(answer, msg.Heard):
            inbox.post(answer)
        time.sleep(0.3)


def at_a_step(state: State) -> bool:
    return state.current is not None and state.question is None


def quiet(mouth: Mouth) -> None:
    """What is still to be said is of no interest."""
    while not mouth.idle:
        mouth.stop()
        time.sleep(0.05)
    time.sleep(0.6)


class Playing(ScreenOnlyPlayer):
    """All is well with it: what is said is taken elsewhere."""

    def start(self) -> None:
        """Nothing to open."""

    def watch(self) -> str | None:
        """Never anything wrong."""
        return None


class Unseen(PlainLines):
    """Shows nothing."""

    def __getattribute__(self, name: str) -> object:
        return (lambda *_: None) if not name.startswith("__") else super().__getattribute__(name)


def idle(ear: Ear, noise: noises.Noise | None) -> float:
    """Processor time of listening to half a minute, echo canceller and all, per cent of that time."""
    seconds = 30.0
    sound = (
        noise(np.random.default_rng(1), seconds) * np.float32(0.05)
        if noise
        else np.zeros(round(seconds * RATE))
    )
    ear.reset()
    played = Played()
    echo_free = EchoFree(Fed(), played, best_canceller())
    nothing = silence(FRAME_TIME)
    began = time.process_time()
    for frame in cut_in_frames(sound.astype(np.float32)):
        played.add(nothing)
        ear.feed(echo_free.cleaned(frame))
    return 100 * (time.process_time() - began) / seconds


def resident() -> float:
    """Megabytes of this process in memory now."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 1e6


def peak() -> float:
    """Megabytes at most so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


if __name__ == "__main__":
    main()
