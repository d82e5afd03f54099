"""How well free speech is written down: `python -m tests.benchmarks.hearing.dictation [--quick]`.

Fifty notes in the words of the trade by the neural voice (piper joe) and by flite slt and rms in turn: word
error rate by jiwer, clean and at 10 dB of pink noise, with and without the trade words as bias. And
measured values: read right, read wrong, and not read; a value is always read back before it counts.
"""

import argparse
import os
import re

import jiwer
from rich.console import Console
from rich.table import Table

from companion.job.facts.commands import Command
from companion.procedure.unit_table import MEASURED
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_samples
from companion.speech.language.phrases import phrases_for, plain
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from tests.benchmarks.hearing import data, noises

SPEAKERS = (data.REPORTED[9], data.REPORTED[1], data.REPORTED[5])
BIAS = ("gasket", "sealant", "caliper", "thermostat", "torque", "hose", "bolt", "bracket", "coolant", "sump")


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="every fifth sentence")
    parser.add_argument("--only", choices=("notes", "values"), help="one of the two tables")
    options = parser.parse_args()
    step = 5 if options.quick else 1
    ear = Ear(EmbeddedRecogniser())
    console = Console(width=100)
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    if options.only != "values":
        console.print(notes_table(ear, data.NOTES[::step]))
    if options.only != "notes":
        console.print(readings_table(ear, (*data.READINGS[::step], *data.ONE_BY_ONE)))


def notes_table(ear: Ear, notes: tuple[str, ...]) -> Table:
    """Word error rates."""
    table = Table(title=f"Dictation: word error rate over {len(notes)} notes")
    for name in ("sound", "no bias", "trade words as bias"):
        table.add_column(name)
    for name, noise, snr in (("clean", None, 0.0), ("pink 10 dB", "pink", 10.0)):
        table.add_row(name, *(f"{error_rate(ear, notes, noise, snr, bias):.3f}" for bias in ((), BIAS)))
    return table


def error_rate(
    ear: Ear, notes: tuple[str, ...], noise: str | None, snr: float, bias: tuple[str, ...]
) -> float:
    """By the ear, as in the program: cut by it, in pieces where it hears pauses."""
    said, written = [], []
    for n, note in enumerate(notes):
        ear.expect(phrases_for([Command.STOP_WORK]), dictation=True, bias=bias)
        sound = data.say(SPEAKERS[n % 3], note)
        scene = noises.scene(sound, noises.REPORTED_NOISES[noise] if noise else None, snr, n, tail=1.6)
        texts = [h.transcript for h in hear_samples(scene, ear) if h.transcript]
        said.append(plain(note))
        written.append(plain(" ".join(texts)))
    return float(jiwer.wer(said, written))


def readings_table(ear: Ear, readings: tuple[tuple[str, str, str], ...]) -> Table:
    """Values and units, by three voices."""
    table = Table(title="Measured values: right / wrong / not read")
    table.add_column("sound")
    table.add_column("values")
    levels = [("clean", None, 0.0), *((f"pink {db:.0f} dB", "pink", db) for db in (20.0, 15.0, 10.0))]
    for name, noise, snr in levels:
        right = wrong = missed = 0
        for n, (text, value, unit) in enumerate(readings):
            for speaker in SPEAKERS:
                ear.expect(phrases_for([Command.REPEAT, Command.STOP_WORK, Command.UNDO]), reading=unit)
                sound = data.say(speaker, text)
                scene = noises.scene(sound, noises.REPORTED_NOISES[noise] if noise else None, snr, n)
                found = [dict(h.judgement.phrase.arguments) for h in hear_samples(scene, ear)
                         if h.judgement.phrase and h.judgement.phrase.command == Command.READING]  # fmt: skip
                if found == [{"value": value, "unit": unit}]:
                    right += 1
                elif found:
                    wrong += 1
                else:
                    missed += 1
        table.add_row(f"{name} ({right + wrong + missed})", f"{right} / {wrong} / {missed}")
    assert all(re.search(r"\S", unit) for unit in MEASURED)
    return table


if __name__ == "__main__":
    main()
