"""What is said where the job wants something: `python -m tests.benchmarks.hearing.wanted [LOG...]`.

Read from logs: at each thing heard, what the job wanted just then, and whether that was said. The odds in
`settings.WANTED` come from here. The logs that come along are of an obliging mechanic and an invented shop:
no log of people at work is there yet.
"""

import argparse
import json
from collections import Counter
from pathlib import Path

from companion.errors import CompanionError
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.rules.expected import expected
from companion.logbook.procedures import kept_procedure
from companion.logbook.recover import read_log
from companion.procedure.read import read_procedure

WANTS = ("count", "reading", "state", "yes or no")
_ANSWERS = {
    "count": (Command.COUNT,),
    "reading": (Command.READING,),
    "state": (Command.STATE,),
    "yes or no": (Command.YES, Command.NO),
}


def wanted(state: State) -> str | None:
    """What the job wants now."""
    can = expected(state)
    asks = {
        "count": can.number is not None,
        "reading": can.reading is not None,
        "state": bool(can.states),
        "yes or no": Command.YES in can.commands,
    }
    return next((want for want in reversed(WANTS) if asks[want]), None)


def main() -> None:
    """Print a line for each want."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("logs", type=Path, nargs="*", metavar="LOG")
    logs = parser.parse_args().logs or sorted(Path("logs").glob("*/*.jsonl"))
    times: Counter[str] = Counter()
    met: Counter[str] = Counter()
    for path in logs:
        records = read_log(path).records
        first = next(json.loads(line) for line in path.read_text().splitlines()[:1])
        try:
            state = State(read_procedure(kept_procedure(path.parent, first["procedure_sha256"])))
        except CompanionError as error:
            parser.exit(2, f"{error}\n")
        for record in records:
            if isinstance(record.event, ev.HeardCommand) and (want := wanted(state)):
                times[want] += 1
                met[want] += record.event.command in _ANSWERS[want]
            state = fold(state, record.event, Instant(record.at, record.mono))
    for want in WANTS:
        print(f"{want}: wanted at {times[want]} things heard, and said {met[want]} times")


if __name__ == "__main__":
    main()
