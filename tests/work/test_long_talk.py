"""A job with a thousand notes is as quick as one with ten: what is counted is the work, not the time."""

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

from companion.job import messages as msg
from companion.job.facts.commands import Command
from tests.helpers.said import heard


def operations(does: Callable[[], object]) -> int:
    """How many operations of Python it takes: a loop over all notes would show."""
    many = 0

    def traced(frame: FrameType, event: str, _: Any) -> Any:
        nonlocal many
        frame.f_trace_opcodes, frame.f_trace_lines = True, False
        many += event == "opcode"
        return traced

    before = sys.gettrace()
    sys.settrace(traced)
    try:
        does()
    finally:
        sys.settrace(before)
    return many


def test_a_message_costs_no_more_after_a_thousand_notes(bench):
    bench.begin("front-brakes")

    def noted(number: int) -> None:
        bench.session.handle(heard(Command.NOTE, {"text": f"clip {number} is cracked"}))
        bench.mouth.stop()

    def costs() -> list[int]:
        asked = (msg.Heard(Command.REPEAT), msg.Heard(Command.WHAT_IS_OPEN), msg.Woken())
        found = [operations(lambda one=one: bench.session.handle(one)) for one in asked]
        bench.mouth.stop()
        return [*found, operations(lambda: noted(10_000))]

    for number in range(10):
        noted(number)
    costs()  # what is worked out once
    few = costs()
    for number in range(10, 1000):
        noted(number)
    many = costs()
    assert min(few) > 100, "it is counted at all"
    for before, after in zip(few, many, strict=True):
        assert after < 1.1 * before, (few, many)
