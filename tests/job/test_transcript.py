"""Every sentence that the procedures that come along can produce, as it was last read and approved of."""

import difflib
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from tests.job import make_transcript  # noqa: E402

MAKE = "python -m tests.job.make_transcript"


def test_no_sentence_has_changed_unread():
    kept = make_transcript.KEPT.read_text(encoding="utf-8").splitlines()
    made = make_transcript.made().splitlines()
    changed = list(difflib.unified_diff(kept, made, "kept", "today", n=1, lineterm=""))
    shown = "\n".join(changed[:60])
    assert not changed, f"sentences have changed; read them, and keep them with '{MAKE}':\n{shown}"
