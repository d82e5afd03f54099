"""The tables of what was heard."""

import time
from collections import defaultdict

import numpy as np
from rich.console import Console
from rich.table import Table

from tests.benchmarks.hearing import data
from tests.benchmarks.hearing.heard import CALLS, CONDITIONS, ENGINES, FINAL, OURS, PROMPTS, Job


def show(done: list[tuple[Job, dict[str, object]]]) -> None:
    """Print the tables."""
    console = Console(width=120)
    console.print(commands_table(done))
    console.print(families_table(done))
    console.print(false_accepts_table(done))


def _engines(done: list[tuple[Job, dict[str, object]]]) -> list[str]:
    return [e for e in ENGINES if any(e in f for _, f in done)]


def commands_table(done: list[tuple[Job, dict[str, object]]]) -> Table:
    """Right and accepted / taken for a wrong command, in per cent."""
    engines = _engines(done)
    table = Table(
        title=f"20 phrases: right and accepted / taken for another, %   ({time.strftime('%Y-%m-%d')})"
    )
    for name in ("condition", "clips", *engines, "asked back"):
        table.add_column(name, justify="left" if name == "condition" else "right")
    final = 0
    for condition in CONDITIONS:
        rows = [(j, f) for j, f in done if j.group == condition]
        if not rows:
            continue
        cells = []
        for engine in engines:
            right = np.mean([f[engine] == [j.said] for j, f in rows])
            wrong = np.mean([any(t != j.said for t in f[engine]) for j, f in rows])
            cells.append(f"{100 * right:.1f} / {100 * wrong:.1f}")
        asked = np.mean([not f[OURS] and j.said in f["unsure"] for j, f in rows])
        final += sum(t != j.said and _command(t) in FINAL for j, f in rows for t in f[OURS])
        table.add_row(condition, str(len(rows)), *cells, f"{100 * asked:.1f}")
    table.caption = f"wrong accepts of commands that cannot be undone: {final}"
    return table


def _command(text: str) -> str:
    """Of an accepted phrase; one with words of the mechanic's own counts as the command that opens it."""
    opened = [p for p in data.whole_step() if text == p.text or text.startswith(f"{p.text} ")]
    return str(max(opened, key=lambda p: len(p.text)).command) if opened else text


def families_table(done: list[tuple[Job, dict[str, object]]]) -> Table:
    """The ear by family of voices: those nearest to training are easiest."""
    table = Table(title="The ear by kind of voice: right and accepted, %")
    cells: dict[tuple[str, str], list[bool]] = defaultdict(list)
    for job, found in done:
        if job.group in CONDITIONS and job.speaker:
            kind = job.family if job.family == "espeak-ng" else f"{job.family} {job.speaker.voice}"
            cells[kind, job.group].append(found[OURS] == [job.said])
    table.add_column("voice")
    for condition in CONDITIONS:
        table.add_column(condition, justify="right")
    for kind in sorted({kind for kind, _ in cells}):
        marks = [cells[kind, c] for c in CONDITIONS]
        table.add_row(kind, *(f"{100 * np.mean(m):.1f}" if m else "" for m in marks))
    return table


def false_accepts_table(done: list[tuple[Job, dict[str, object]]]) -> Table:
    """Commands heard where none was said, and how often a tone would tell that none was understood."""
    table = Table(title="False accepts")
    others = [e for e in _engines(done) if e != OURS]
    for name in ("sound", "minutes", OURS, "an hour", "tones a minute", *others):
        table.add_column(name, justify="left" if name == "sound" else "right")
    groups = {g: (g,) for g in dict.fromkeys(j.group for j, _ in done) if g not in CONDITIONS}
    if PROMPTS in groups and CALLS in groups:
        groups["people: both"] = (PROMPTS, CALLS)
    for group, parts in groups.items():
        rows = [f for j, f in done if j.group in parts]
        minutes = sum(float(f["length"]) for f in rows) / 60
        counts = [sum(len(f[e]) for f in rows) if e in rows[0] else None for e in (OURS, *others)]
        cells = ["" if c is None else str(c) for c in counts]
        hourly, tones = 60 * (counts[0] or 0) / minutes, sum(f.get("tones", 0) for f in rows) / minutes
        table.add_row(group, f"{minutes:.1f}", cells[0], f"{hourly:.1f}", f"{tones:.2f}", *cells[1:])
    return table
