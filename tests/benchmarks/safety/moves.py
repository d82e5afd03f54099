"""What a random mechanic says and what happens to the machine, one move at a time."""

import random
from collections.abc import Callable, Sequence
from datetime import timedelta

from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said.questions import LeaveOut, LeaveOutReason
from companion.job.rules.expected import expected
from companion.rehearsal.obliging import next_answer
from tests.benchmarks.safety.unsafe import UnsafeError
from tests.benchmarks.safety.world import World, oblige
from tests.helpers.said import heard

READINGS = (
    "0",
    "0.1",
    "12.4",
    "-12.4",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "0.5000001",
    "",
    "many",
    "5",
    "40",
    "24.9",
)
UNITS = ("", "V", "mm", "°C", "L", "bar")
LENGTHS = (1, 20, 59, 61, 200, 599, 601, 1900, 3700, 8000, 90_000)
"""Seconds."""
HASTY = (
    Command.DONE,
    Command.DONE,
    Command.YES,
    Command.SKIP,
    Command.SKIP,
    Command.LEAVE_OUT,
    Command.UNDO,
    Command.READING,
    Command.CARRY_ON,
    Command.STEP,
)
"""What someone says who wants to get on."""
JUMPS = (-90_000, -3600, -600, -30, -1.9, -0.6, 0.6, 1.9, 30, 600, 3600, 90_000)


def random_heard(world: World, rng: random.Random) -> msg.Heard:
    """Anything that can be heard, mostly things that mean something now."""
    can = expected(world.state)
    pool = rng.choice([can.commands, tuple(Command), HASTY])
    command = Command.STATE if can.states and rng.random() < 0.2 else rng.choice(pool)
    states = [
        *can.states * 12,
        *can.states,
        *(s.state for s in world.procedure.steps if s.state),
        "new seal fitted",
        "seal is fit to use",
    ]
    arguments = {
        Command.STATE: {"state": rng.choice([*states, "renew the seal", ""])},
        Command.READING: {"value": rng.choice(READINGS), "unit": rng.choice([can.reading or "", *UNITS])},
        Command.COUNT: {
            "number": rng.choice([str(world.state.counted + 1), "1", "7", "²", "-1", "9" * 5000])
        },
        Command.SKIP: rng.choice([{}, {"reason": "bolt is gone"}, {"reason": "no time"}]),
        Command.NOTE: rng.choice([{}, {"text": "thread is worn"}]),
        Command.WORDS: rng.choice([{}, {"text": "because I say so"}]),
        Command.DURATION: {"minutes": rng.choice(["10", "2880", "0", "-1", "nan", "inf", "1e9", "x"])},
        Command.START_TIMER: rng.choice([{}, {"minutes": "1"}, {"minutes": "45"}]),
        Command.AWAIT_PART: {"text": rng.choice(["", "the ring in three days", "bearing", "two weeks", "?"])},
        Command.HOLD: rng.choice([{}, {"text": "lunch"}]),
        Command.LEAVE_OUT: _left_out(world, rng),
        Command.STEP: {"number": str(rng.choice([*can.steps, rng.randint(1, len(world.procedure.steps))]))},
    }.get(command, {})
    return heard(command, arguments)


def _left_out(world: World, rng: random.Random) -> dict[str, str]:
    """Something by its name, mostly something that is open; perhaps with why."""
    items = world.procedure.items
    names = [items[id_].name for id_ in world.state.open_items] or [item.name for item in items.values()]
    can = expected(world.state).leaves_out
    named = rng.choice([{}, {"item": rng.choice(names)} if names else {}, {"item": "radio"}])
    if can and rng.random() < 0.7:
        named = {"item": rng.choice(can)}
    return named | rng.choice([{}, {}, {"reason": "it is not to be had"}])


def _unsure(world: World, rng: random.Random) -> None:
    before, said = world.state, random_heard(world, rng)
    world.post(msg.Unsure(said.command, said.given, "mumble", 0.5))
    if (world.state.settled, world.state.current) != (before.settled, before.current):
        raise UnsafeError("an unclear command moved the job")


def _wait(world: World, rng: random.Random) -> None:
    world.passes(timedelta(seconds=rng.choice(LENGTHS)))
    world.post(msg.Woken())


def _jump(world: World, rng: random.Random) -> None:
    jump = timedelta(seconds=rng.choice(JUMPS))
    world.wall += jump
    world.post(rng.choice([msg.ClockJumped(jump), msg.Woken(), random_heard(world, rng)]))


def _killed(world: World, rng: random.Random) -> None:
    """Between any two events of a turn; its last events never reach the log."""
    said = (
        rng.choice([random_heard(world, rng), next_answer(world.state, world.wall)])
        if not world.state.closed
        else None
    )
    if isinstance(said, msg.Heard):
        world.post(said, keep=rng.randrange(12))
    elif rng.random() < 0.5:
        world.wall += timedelta(seconds=rng.choice(JUMPS))
        world.post(msg.Woken(), keep=rng.randrange(12))
    world.killed(timedelta(seconds=rng.choice(LENGTHS)))


def _rebooted(world: World, rng: random.Random) -> None:
    back = timedelta(seconds=rng.choice((0, 0, 60, 5000, 400_000)))
    world.killed(timedelta(seconds=rng.choice(LENGTHS)), reboot=True, set_back=back)


def _at_desk(world: World, rng: random.Random) -> None:
    """The program ends; somebody writes into the log; it is started again."""
    world.replayed()
    quiet_since = world.state.last.mono if world.state.last else world.mono
    world.passes(timedelta(seconds=rng.choice(LENGTHS)))
    part = rng.choice(["ring", "bearing", "gasket", ""])
    typed = rng.choice([msg.PartAwaited(part, timedelta(days=rng.choice((1, 3)))), msg.PartCame(part)])
    if not any(isinstance(event, ev.Refused) for event in decide(world.state, typed, world.now).events):
        world.post(typed)
    world.passes(timedelta(seconds=rng.choice((1, 59, 200))))
    if world.mono - quiet_since >= timedelta(minutes=1):
        world.oracle.interrupted()
    world.open()


def _odd(world: World, rng: random.Random) -> None:
    world.post(
        rng.choice(
            [
                msg.NotUnderstood("radio", rng.choice(["voice", "keys"])),
                msg.SayingFailed("Step 3", "no device", safety=True),
                msg.MicrophoneLost("unplugged"),
                msg.MicrophoneBack(),
                msg.HearingFailed("no model"),
                msg.AlarmCommand(4, "done", 0),
                msg.LogFailed("the disk is full"),
                msg.LogMended(),
                msg.Leaving(),
                msg.Woken(),
            ]
        )
    )


def _leave_for_good(world: World, rng: random.Random) -> None:
    """All the way through: it is asked for, confirmed, and told why."""
    world.post(heard(Command.LEAVE_OUT, _left_out(world, rng)))
    for answer in (heard(Command.YES, {}), heard(Command.WORDS, {"text": "it is broken"})):
        if isinstance(world.state.question, LeaveOut | LeaveOutReason):
            world.post(answer)


def _skip_and_leave(world: World, rng: random.Random) -> None:
    world.post(heard(Command.SKIP, {"reason": "no time"}))
    if rng.random() < 0.5:
        _leave_for_good(world, rng)


MOVES: Sequence[tuple[int, Callable[[World, random.Random], None]]] = (
    (45, oblige),
    (30, lambda world, rng: world.post(random_heard(world, rng))),
    (6, _leave_for_good),
    (4, _skip_and_leave),
    (4, _unsure),
    (8, _wait),
    (4, _jump),
    (4, _killed),
    (2, _rebooted),
    (2, _at_desk),
    (3, _odd),
)


def play(world: World, rng: random.Random, moves: int) -> None:
    """So many random moves, with every check on every event; `UnsafeError` when one fails."""
    weights = [weight for weight, _ in MOVES]
    for _ in range(moves):
        move = rng.choices(MOVES, weights)[0][1]
        move(world, rng)
    world.replayed()
    if rng.random() < 0.7:
        world.all_announced()
    else:
        world.can_be_finished()
