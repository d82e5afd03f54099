"""Make the golden runs anew: each shipped procedure rehearsed whole, its log and a small recording kept.

    python tests/rehearsal/make_golden.py

The recordings are brought down to 8 kHz and 8 bits, mechanic left and companion right: enough to listen to.
"""

import shutil
import sys
import tempfile
import wave
from pathlib import Path

import numpy as np
import soxr

from companion.cli.job.rehearse import summarise
from companion.rehearsal.performing import Outcome
from companion.rehearsal.rehearse import Settings, rehearse
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.work.views.plain_view import PlainLines

ROOT = Path(__file__).parents[2]
GOLDEN = ROOT / "logs" / "golden"
RATE = 8000


def small(source: Path, target: Path) -> None:
    """A 16 kHz, 16-bit stereo recording as one of 8 kHz and 8 bits."""
    with wave.open(str(source)) as file:
        samples = np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, 2) / 32768
        halved = soxr.resample(samples, file.getframerate(), RATE)
    data = np.clip(np.round(halved * 127) + 128, 0, 255).astype(np.uint8)
    with wave.open(str(target), "wb") as file:
        file.setparams((2, 1, RATE, 0, "NONE", "not compressed"))
        file.writeframes(data.tobytes())


def main() -> None:
    """Rehearse what is named, or all of it; the noise is left out so that the recordings stay small."""
    names = sys.argv[1:] or ["sump-reseal", "coolant-pump", "front-brakes"]
    recogniser = EmbeddedRecogniser()
    for name in names:
        with tempfile.TemporaryDirectory() as folder:
            there = Path(folder)
            settings = Settings(ROOT / "procedures" / f"{name}.yaml", there, there / "run.wav", noise=None)
            result = rehearse(settings, recogniser, PlainLines())
            summarise(result)
            assert all(a.outcome is not Outcome.TAKEN_FOR_ANOTHER for a in result.attempts)
            GOLDEN.mkdir(parents=True, exist_ok=True)
            small(result.wav, GOLDEN / f"{name}.wav")
            shutil.copy(result.log, GOLDEN / f"{name}.jsonl")
            shutil.copytree(there / "procedures", GOLDEN / "procedures", dirs_exist_ok=True)


if __name__ == "__main__":
    main()
