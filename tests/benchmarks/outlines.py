"""How many fields of mechanics' outlines the parser gets right, and what comes of the drafts.

`python -m tests.benchmarks.outlines`: the tuned outlines beside those held out, field by field; then, of each
draft, how many steps and questions it has. `--wrong` names each wrong field, of the tuned ones alone.
"""

import argparse
from pathlib import Path

from companion.draft.draft import draft
from companion.procedure.checks.review_marks import questions
from companion.procedure.read import examine_bytes
from tests.outline.marked import corpus, score, table


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--wrong", action="store_true", help="name each wrong field of the tuned outlines")
    shown = arguments.parse_args()
    scores = {"tuned": score(corpus(held_out=False)), "held out": score(corpus(held_out=True))}
    print("\n".join(table(scores)))
    if shown.wrong:
        print("\n".join(scores["tuned"].wrong))
    print(f"\n{'outline':28}{'steps':>7}{'questions':>11}{'dangerous':>11}{'other findings':>16}")
    for outline in corpus():
        reading = examine_bytes(draft(outline.text, outline.name).encode(), Path("draft.yaml"))
        assert reading.procedure is not None
        asked = [review for _, review in questions(reading.procedure)]
        grave = sum(review.dangerous for review in asked)
        other = len(reading.findings) - len(asked)
        print(f"{outline.name:28}{len(reading.procedure.steps):7}{len(asked):11}{grave:11}{other:16}")


if __name__ == "__main__":
    main()
