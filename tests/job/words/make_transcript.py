"""Write down anew every sentence that the procedures that come along can produce.

python -m tests.job.words.make_transcript
"""

from pathlib import Path

from companion.procedure.read import read_procedure
from tests.job.words.transcript import transcript

ROOT = Path(__file__).parents[3]
KEPT = Path(__file__).with_name("transcript.txt")
NAMES = ("sump-reseal", "coolant-pump", "front-brakes")


def made() -> str:
    """The transcript as the program tells it today."""
    procedures = [read_procedure(ROOT / "procedures" / f"{name}.yaml") for name in NAMES]
    return "\n".join([*transcript(procedures), ""])


if __name__ == "__main__":
    KEPT.write_text(made(), encoding="utf-8")
