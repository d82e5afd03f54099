"""How fast an answer comes and what listening costs: `python -m tests.benchmarks.hearing_live`.

Frames are fed in real time, as a microphone would; the answer is the hearing that comes back. Reported:
from the end of speech (last loud sample of the clip, not the detector's idea of it) to the hearing; the
share of one core that listening alone takes, in silence and in noise; memory resident. The share is of
processor time, so another busy program changes it little; the delays it does change, so the load of the
machine is printed too.
"""

import argparse
import os
import resource
import time
from pathlib import Path

import numpy as np

from companion.job.commands import Command
from companion.speech.ear import Ear
from companion.speech.embedded import EmbeddedRecogniser
from companion.speech.microphone import cut_in_frames
from companion.speech.phrases import phrases_for
from companion.speech.recogniser import Verdict
from companion.speech.sound import FRAME, RATE, Samples
from tests.benchmarks import hearing_data as data

LEAD = 0.8


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=60)
    options = parser.parse_args()
    before = resident()
    recogniser = EmbeddedRecogniser()
    recogniser.load()
    ear = Ear(recogniser)
    ear.expect(phrases_for([c for c in Command if c not in (Command.YES, Command.NO)]))
    pairs = [(s, t) for s in data.REPORTED for t in data.TWENTY]
    picked = pairs[:: max(1, len(pairs) // options.clips)][: options.clips]
    answers = [delay for n, (s, t) in enumerate(picked) for delay in answer(ear, data.say(s, t), n)]
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print(f"answers: {len(answers)} of {len(picked)} clips, 25 active commands")
    middle, late = np.percentile(answers, (50, 95))
    print(f"end of speech to answer: median {middle:.0f} ms, p95 {late:.0f} ms")
    for name, noise in (("silence", None), ("pink noise", data.REPORTED_NOISES["pink"])):
        print(f"listening alone, {name}: {idle(ear, noise):.1f} % of one core")
    print(f"resident: {resident():.0f} MB ({before:.0f} MB before the models), peak {peak():.0f} MB")


def answer(ear: Ear, speech: Samples, seed: int) -> list[float]:
    """Milliseconds from the end of speech to the accepted command, fed in real time; empty when none came."""
    scene = data.scene(speech, None, 0, seed, lead=LEAD, tail=1.5)
    ends = LEAD + len(speech) / RATE
    ear.reset()
    began = time.monotonic()
    for n, frame in enumerate(cut_in_frames(scene), start=1):
        wait = began + n * FRAME / RATE - time.monotonic()
        if wait > 0:
            time.sleep(wait)
        heard = ear.feed(frame)
        if any(h.judgement.verdict is Verdict.ACCEPTED for h in heard):
            return [1000 * (time.monotonic() - began - ends)]
    return []


def idle(ear: Ear, noise: data.Noise | None) -> float:
    """Processor time of listening to half a minute, per cent of that time."""
    seconds = 30.0
    sound = (
        noise(np.random.default_rng(1), seconds) * np.float32(0.05)
        if noise
        else np.zeros(round(seconds * RATE))
    )
    ear.reset()
    began = time.process_time()
    for frame in cut_in_frames(sound.astype(np.float32)):
        ear.feed(frame)
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
