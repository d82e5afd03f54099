"""Does it hear itself? `python -m tests.benchmarks.hearing_itself [--quick]`.

The companion reads steps of the shipped procedures aloud; its voice comes back to its own microphone
through a simulated room, as loud as a mechanic (0 dB). Reported, with and without echo cancelling: commands
it took from itself, and how often "stop talking", said over it by voices of the report at 0 dB, was heard,
and how long after.
"""

import argparse
from pathlib import Path

import numpy as np
from rich.console import Console
from rich.table import Table

from companion.job.commands import Command
from companion.procedure.read import read_procedure
from companion.speech.ear import Ear
from companion.speech.echo import Canceller, EchoCanceller, NoCanceller
from companion.speech.embedded import EmbeddedRecogniser
from companion.speech.microphone import cut_in_frames
from companion.speech.phrases import phrases_for
from companion.speech.pyttsx3_voice import Pyttsx3Voice
from companion.speech.recogniser import Verdict
from companion.speech.sound import RATE, Samples
from tests.benchmarks import hearing_data as data

PROCEDURES = Path(__file__).parents[2] / "procedures"
OVER = 1.2
"""Seconds into the reading at which the mechanic speaks."""


def room(sound: Samples) -> Samples:
    """From the loudspeaker to the microphone: 5 ms, and a tail that dies away in a tenth of a second."""
    rng = np.random.default_rng(4)
    answer = 0.05 * rng.standard_normal(RATE // 5) * np.exp(-np.arange(RATE // 5) / (0.03 * RATE))
    answer[80] += 0.7
    return np.convolve(sound, answer)[: len(sound)].astype(np.float32)


def listen(
    ear: Ear, canceller: Canceller, text: str, played: Samples, mechanic: Samples
) -> list[tuple[str, float]]:
    """Commands accepted while it reads, and when each came, in seconds of the stream."""
    quiet = np.zeros(RATE, np.float32)
    played = np.concatenate([played, quiet])
    echo = room(played)
    level = np.sqrt(np.mean(mechanic[mechanic != 0] ** 2)) if np.any(mechanic) else 0.1
    echo = echo * np.float32(level / np.sqrt(np.mean(echo[:-RATE] ** 2)))
    heard = echo + np.pad(mechanic, (0, max(0, len(echo) - len(mechanic))))[: len(echo)]
    ear.reset()
    ear.companion_speaking(text)
    found = []
    for n, (frame, reference) in enumerate(zip(cut_in_frames(heard), cut_in_frames(played), strict=True)):
        if n * 512 == (len(played) - RATE) // 512 * 512:
            ear.companion_speaking(None)
        for hearing in ear.feed(canceller.clean(frame, reference)):
            if hearing.judgement.verdict is Verdict.ACCEPTED and hearing.judgement.phrase:
                found.append((str(hearing.judgement.phrase.command), ear.now.total_seconds()))
    return found


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="every twelfth step")
    every = 12 if parser.parse_args().quick else 1
    voice = Pyttsx3Voice()
    ear = Ear(EmbeddedRecogniser())
    ear.expect(phrases_for([c for c in Command if c not in (Command.YES, Command.NO)]))
    texts = [step.say for path in sorted(PROCEDURES.glob("*.yaml")) for step in read_procedure(path).steps][
        ::every
    ]
    table = Table(title=f"Its own voice at 0 dB: {len(texts)} steps read")
    for name in ("", "commands taken from itself", '"stop talking" heard', "of", "median delay, s"):
        table.add_column(name)
    for name, make in (("half-duplex", NoCanceller), ("echo cancelled", EchoCanceller)):
        own, heard, asked, delays = 0, 0, 0, []
        canceller = make()
        for n, text in enumerate(texts):
            played = voice.render(text).samples
            own += len(listen(ear, canceller, text, played, np.zeros(1, np.float32)))
            if len(played) < 3 * RATE or n % 2:
                continue
            order = data.say(data.REPORTED[n % len(data.REPORTED)], "stop talking")
            mechanic = np.concatenate([np.zeros(round(OVER * RATE), np.float32), order])
            found = [
                at
                for command, at in listen(ear, canceller, text, played, mechanic)
                if command == "stop talking"
            ]
            asked += 1
            if found:
                heard += 1
                delays.append(found[0] - len(mechanic) / RATE)
        delay = f"{np.median(delays):.2f}" if delays else "-"
        table.add_row(name, str(own), str(heard), str(asked), delay)
    voice.close()
    Console(width=100).print(table)


if __name__ == "__main__":
    main()
