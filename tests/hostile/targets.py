"""Whatever reads what others wrote, each as a function of bytes: only the typed errors may come out of it."""

import shutil
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache, cached_property, partial
from pathlib import Path
from random import Random

from companion.draft.draft import draft
from companion.errors import CompanionError
from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts.commands import Command
from companion.job.facts.events import JobOpened
from companion.job.facts.folding import replay
from companion.job.facts.state import State
from companion.job.rules.expected import expected
from companion.labour.table.collect import collect
from companion.labour.table.hours import Hours
from companion.labour.table.shop import FILE, shop_of
from companion.logbook.forget import forget_note, forget_person
from companion.logbook.jobs import list_jobs, timed
from companion.logbook.lines import as_object, decode, encode
from companion.logbook.logbook import MemoryLogbook
from companion.logbook.recover import examine
from companion.papers import handover, record_of_work
from companion.papers.due import due_over
from companion.papers.ics import calendar_of
from companion.procedure.model import Procedure
from companion.procedure.numbers import number
from companion.procedure.read import (
    examine_bytes,
    procedure_from_bytes,
    read_kept_procedure,
    read_with_advice,
)
from companion.procedure.spoken import for_the_ear
from companion.procedure.unit_table import MEASURED
from companion.procedure.units import Angle, Torque, parse_duration
from companion.rehearsal.script import read_script
from companion.speech.hearing.profile import read_profile
from companion.speech.language.part_names import name_and_wait
from companion.speech.language.phrases import language
from companion.speech.language.values import misheard, parse_duration_words, parse_reading
from companion.speech.language.values_meant import meant
from companion.speech.sound.recordings import read_clip
from companion.work.after import handover_of, record_of
from companion.work.desk import write_at_desk
from companion.work.edges.clock import StagedClock
from companion.work.edges.hook import parse_hook
from companion.work.inbox import Typed
from companion.work.keys import understood
from companion.work.opening import read_job, resume_job
from tests.hostile import command_line, seeds
from tests.hostile.command_line import options
from tests.hostile.mutating import Mutator, OfLogs
from tests.hostile.seeds import GOLDEN
from tests.procedure.conftest import SMALL

NOW = datetime(2031, 6, 1, tzinfo=UTC)
ALLOWED = (CompanionError,)


@dataclass(frozen=True)
class Target:
    """One reader."""

    name: str
    runs: Callable[[bytes, Path], object]
    """Reads these bytes, in a folder of its own."""
    seeds: Callable[[], Sequence[bytes]]
    """Good input."""
    in_short: int
    """How many inputs the tests give it: about two seconds of them."""
    words: Callable[[], Sequence[bytes]] = tuple
    """What belongs into such input."""
    mutator: type[Mutator] = Mutator

    @cached_property
    def spoil(self) -> Mutator:
        """Makes bad input of good."""
        return self.mutator(self.words(), self.seeds())

    def spoilt(self, rng: Random) -> bytes:
        """One bad input."""
        return self.spoil(rng.choice(self.seeds()), rng)


def procedure(data: bytes, folder: Path) -> None:
    """One that is read without a fault can be begun, and all its first words said."""
    path = folder / "job.yaml"
    path.write_bytes(data)
    read, _ = read_with_advice(path)
    clock = StagedClock(NOW)
    opened = JobOpened(job="job", title=read.title, revision=read.revision, procedure_sha256="0")
    state = State(read)
    messages = (
        msg.Opened("b", opened),
        *map(msg.Heard, (Command.YES, Command.YES, Command.HELP, Command.MORE)),
    )
    for message in messages:
        clock.advance(timedelta(seconds=5))
        state = decide(state, message, clock.now()).state
    language().that_answer(expected(state))


def log(data: bytes, folder: Path) -> None:
    """Listed, read, shown, handed over, gone on with and written to at the desk."""
    logs = folder / "logs"
    if not logs.exists():
        shutil.copytree(GOLDEN / "procedures", logs / "procedures")
    (logs / "job.jsonl").write_bytes(data)
    (logs / "job.torn").unlink(missing_ok=True)
    for summary in list_jobs(logs):
        str(summary)
    with suppress(CompanionError):
        timed(logs / "job.jsonl")
    state = read_job("job", logs)
    page = handover_of("job", logs, NOW)
    handover.as_text(page)
    handover.as_html(page)
    work = record_of("job", logs)
    record_of_work.as_text(work)
    record_of_work.as_html(work)
    calendar_of(due_over([state]).entries, NOW)
    clock = StagedClock(NOW)
    clock.reboot(timedelta(seconds=1))
    opened = resume_job("job", logs, clock)
    opened.logbook.close()
    state = opened.state
    said = (Command.CARRY_ON, Command.HELP, Command.WHAT_IS_OPEN, Command.DONE, Command.UNDO)
    for message in (msg.Opened("b2"), msg.Woken(), *map(msg.Heard, said)):
        clock.advance(timedelta(hours=1))
        state = decide(state, message, clock.now()).state
    expected(state)
    for forgets in (partial(forget_note, logs, "job", 1), partial(forget_person, logs, "rehearsal")):
        with suppress(CompanionError):
            forgets()
    write_at_desk("job", logs, msg.PartAwaited("pump", timedelta(days=1)), clock)


def table(data: bytes, folder: Path) -> None:
    """Step times out of it: a log with a fault is left out whole, and told."""
    logs = folder / "logs"
    logs.mkdir(exist_ok=True)
    (logs / "job.jsonl").write_bytes(data)
    with collect(logs) as steps:
        steps.query("SELECT * FROM steps")


def lines(data: bytes, folder: Path) -> None:
    """The lines of a log, one by one and together."""
    for line in data.split(b"\n"):
        _comes_back(line)
    examine(data, Path("job.jsonl"))


def _comes_back(line: bytes) -> None:
    """What can be read of a line is written again as it was."""
    if (fields := as_object(line)) is None:
        return
    with suppress(CompanionError):
        read = decode(fields, "job.jsonl:1")
        again = as_object(encode(read))
        assert again is not None
        assert decode(again, "job.jsonl:1") == read


@cache
def _states() -> tuple[State, ...]:
    """Golden jobs at moments when different things can be said."""
    found: dict[object, State] = {}
    for path in sorted(GOLDEN.glob("*.jsonl")):
        records = examine(path.read_bytes(), path).records
        opened = records[0].event
        read = read_kept_procedure(GOLDEN / "procedures" / f"{opened.procedure_sha256[:16]}.yaml")
        for upto in range(1, len(records), 20):
            state = replay(read, records[:upto])
            can = expected(state)
            found.setdefault(
                (can.reading, can.free_speech, can.number, can.durations, bool(can.steps)), state
            )
    return tuple(found.values())


def typed(data: bytes, folder: Path) -> None:
    """A typed line at some moment of a job, what comes of it, and that in the log."""
    state = _states()[data[0] % len(_states()) if data else 0]
    text = data[1:].decode("utf-8", "replace" if data[:1] < b"\x80" else "surrogateescape")
    clock = StagedClock(state.last.wall if state.last else NOW)
    logbook = MemoryLogbook()
    message = understood(Typed(text), expected(state))
    for one in (message, msg.Heard(Command.YES), msg.Heard(Command.WHAT_IS_WAITING)):
        clock.advance(timedelta(seconds=3))
        decision = decide(state, one, clock.now())
        for entry in logbook.log(decision.events, clock.now()):
            _comes_back(encode(entry))
        for saying in decision.sayings:
            for_the_ear(saying.text)
        state = decision.state


def values(data: bytes, folder: Path) -> None:
    """Numbers, lengths of time, torques and parts, as said and as written."""
    unit = list(MEASURED)[data[0] % len(MEASURED)] if data else None
    text = data[1:].decode("utf-8", "replace")
    for wanted in (unit, None):
        parse_reading(text, wanted)
    parse_duration_words(text)
    misheard(text)
    for_the_ear(text)
    name_and_wait(text)
    if unit:
        meant([text], unit)
    language().carrier(text)
    for parse in (Torque.parse, Angle.parse, parse_duration, number):
        with suppress(ValueError):  # as their docstrings say; a procedure's reader catches it
            parse(text)
    for read in (Hours.parse, parse_hook):
        with suppress(CompanionError):
            read(text)


def outline(data: bytes, folder: Path) -> None:
    """A mechanic's own lines: what is made of them can be read, and all that it lacks told."""
    made = draft(data.decode("utf-8", "replace"), "Wiper motor", "Marlow Tern")
    assert examine_bytes(made.encode(), Path("job.yaml")).procedure


def sound(data: bytes, folder: Path) -> None:
    """A recording."""
    path = folder / "clip.wav"
    path.write_bytes(data)
    read_clip(path)


def kept_files(data: bytes, folder: Path) -> None:
    """What else a user may hand over: a voice profile, a script of a rehearsal, the file of a shop."""
    path = folder / FILE
    path.write_bytes(data)
    with suppress(CompanionError):
        read_profile(path)
    with suppress(CompanionError):
        shop_of(folder)
    read_script(path, _small())


@cache
def _small() -> Procedure:
    return procedure_from_bytes(SMALL.encode(), Path("small.yaml"))


TARGETS: dict[str, Target] = {
    target.name: target
    for target in (
        Target("procedure", procedure, seeds.of_procedures, 80, seeds.keys),
        Target("log", log, seeds.of_logs, 200, mutator=OfLogs),
        Target("lines", lines, seeds.of_lines, 4000, mutator=OfLogs),
        Target("table", table, seeds.of_logs, 20, mutator=OfLogs),
        Target("typed", typed, seeds.of_words, 300, lambda: seeds.NUMBERS),
        Target("values", values, seeds.of_words, 1000, lambda: seeds.NUMBERS),
        Target("outline", outline, seeds.of_outlines, 40, lambda: seeds.NUMBERS),
        Target(
            "sound", sound, seeds.of_sounds, 1500, lambda: (b"fmt ", b"data", b"LIST", b"\xff\xff\xff\xff")
        ),
        Target(
            "kept files", kept_files, seeds.of_files, 500, lambda: (b"at", b"say", b"away", b"calibration")
        ),
        Target("options", options, command_line.seeds, 150, lambda: seeds.NUMBERS),
    )
}
