"""How soon the companion speaks: `python -m tests.benchmarks.start [--rounds N]`.

From the launch of `companion work` to its first spoken sample, with and without a microphone, beside the bare
voice in a process of its own, which is the least it could take; and `companion --help` beside the interpreter
doing nothing. Sound goes to a file at the pace of a loudspeaker, so nothing needs to be plugged in; the
buffers of a real loudspeaker come on top. Wants a machine that does nothing else: its load is printed.
"""

import argparse
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import wave
from pathlib import Path

import numpy as np

PROCEDURE = Path(__file__).parents[2] / "procedures" / "sump-reseal.yaml"
TARGET_WORD, TARGET_HELP = 2.0, 0.3
LOUD = 300
"""Of 32767: from here on a sample is speech and not the end of a fade."""
VOICE = (
    "from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice as V\n"
    "v = V(); v.render('Sump reseal, 41 steps.'); v.close()"
)


def median(run: "list[float]") -> str:
    return f"{statistics.median(run):6.2f} s   ({min(run):.2f} to {max(run):.2f})"


def seconds(*command: str) -> float:
    begun = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begun


def first_word(folder: Path, *options: str) -> float:
    """Seconds from the launch to the first spoken sample."""
    out = folder / "out.wav"
    out.unlink(missing_ok=True)
    command = [sys.executable, "-m", "companion", "work", str(PROCEDURE), "--plain", "--speaker", str(out)]
    begun = time.perf_counter()
    process = subprocess.Popen(
        [*command, *options], cwd=folder, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL
    )
    try:
        # The file appears when the player starts: its first sample leaves one frame later.
        while not out.exists():
            time.sleep(0.002)
            if process.poll() is not None:
                raise SystemExit("companion work ended before it spoke")
        started = time.perf_counter() - begun
        time.sleep(4.0)
    finally:
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=60)
    with wave.open(str(out)) as file:
        samples = np.abs(np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(int))
        rate = file.getframerate()
    if samples.max(initial=0) < LOUD:
        raise SystemExit("nothing was said within four seconds")
    return started + float(np.argmax(samples >= LOUD)) / rate


def quiet_room(path: Path) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 16000, 0, "NONE", ""))
        file.writeframes(b"\0\0" * 16000)
    return path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = range(parser.parse_args().rounds)
    nothing = [sys.executable, "-c", "pass"]
    helping = [sys.executable, "-m", "companion", "--help"]
    print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        room = quiet_room(folder / "room.wav")
        bare, help_, voice, keys, listening = [], [], [], [], []
        for _ in rounds:
            # Turn and turn about, so that whatever else the machine does falls on all.
            bare.append(seconds(*nothing))
            help_.append(seconds(*helping))
            voice.append(seconds(sys.executable, "-c", VOICE))
            keys.append(first_word(folder, "--keys"))
            listening.append(first_word(folder, "--mic", str(room), "--recogniser", "embedded"))
    ratio = statistics.median(help_) / statistics.median(bare)
    spoken = statistics.median(listening) / statistics.median(voice)
    print(f"python -c pass                     {median(bare)}")
    print(f"companion --help                   {median(help_)}   {ratio:.1f} times; target {TARGET_HELP} s")
    print(f"the bare voice, one sentence       {median(voice)}")
    print(f"first word, by keys                {median(keys)}   target {TARGET_WORD} s")
    print(f"first word, with the microphone    {median(listening)}   {spoken:.1f} times the bare voice")


if __name__ == "__main__":
    main()
