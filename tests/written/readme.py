"""What `README.md` takes from a rehearsal that is kept: how a session sounds."""

import json
from pathlib import Path

KEPT = Path(__file__).parents[2] / "logs/golden/front-brakes.jsonl"
PASSAGES = (
    ("what size", 2, 1),
    ("twenty four point eight millimetres", 1, 2),
    ("what is open", 0, 2),
    ("note the bracket is cracked on the left", 0, 1),
)
"""Something heard, and how many lines before and after it are shown."""
MARKS = (">", ">!", ">!!")
"""Of what is said, by its priority."""


def session(_: str) -> str:
    """The passages, as `companion rehearse` prints them."""
    said = [line for raw in KEPT.read_text("utf-8").splitlines() if (line := _line(json.loads(raw)))]
    shown = []
    for words, before, after in PASSAGES:
        place = next((n for n, line in enumerate(said) if line == f"  < {words}"), None)
        if place is not None:
            shown.append("\n".join(said[place - before : place + after + 1]))
    assert len(shown) >= 3, "the rehearsal that is kept says other things now: choose other PASSAGES"
    return "\n".join(["```", "\n...\n".join(shown), "```"])


def _line(event: dict[str, object]) -> str | None:
    if event["event"] == "heard":
        return f"  < {event['text']}"
    return f"{MARKS[int(str(event['priority']))]} {event['text']}" if event["event"] == "said" else None


BLOCKS = {"session": session}
