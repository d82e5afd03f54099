"""How quick and how clear the voices are: `python -m tests.benchmarks.voice [--compare]`.

Time to the first word from nothing and when warm, the speed of rendering beside the obvious alternative
(the program espeak-ng run once a sentence, where it is installed), and intelligibility: sentences
rendered, with and without pink noise, transcribed by the embedded Whisper tiny.en, and the share of words
that came back. A machine's ear is no mechanic's; it only ranks voices and shows what is lost.
`--compare` measures more espeak voices, and piper where it is installed (ten minutes on two cores).
"""

import argparse
import re
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from rapidfuzz.distance import Levenshtein

from companion.errors import VoiceError
from companion.procedure.wording import for_the_ear
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.saying.cached_voice import CachedVoice
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.piper_voice import PiperVoice
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.saying.voice import Voice
from companion.speech.sound.samples import FRAME, RATE, Clip, Samples
from companion.speech.sound.shaping import level

SENTENCES = (
    "Step four. Undo the six bolts of the pump cover and keep them in the marked bag.",
    "Disconnect the negative battery cable and move it away from the post.",
    "Tighten the drain plug to 25 N·m.",
    "Warning. The coolant is hot and under pressure. Let it cool first.",
    "Fit a new gasket with the tab towards the front of the engine.",
    "The sealant needs another 40 min before you fill the oil.",
    "Still open: the rear brake hose and the left wheel speed sensor.",
    "Use a 13 mm socket with a long extension.",
    "Step nine done. Step ten: clean both faces with a plastic scraper.",
    "Check the pads for wear. At least 3 mm must be left.",
    "Support the engine before you take out the last mount.",
    "You left the job three days ago. The last thing done was draining the coolant.",
)
ESPEAK = (
    ("gmw/en", 50), ("gmw/en-us", 50), ("gmw/en", 35), ("en+m3", 50), ("en-us+m3", 50), ("en+f2", 50),
    ("en-us+Reed", 50),
)  # fmt: skip


def milliseconds(act: Callable[[], object]) -> float:
    begun = time.perf_counter()
    act()
    return 1000 * (time.perf_counter() - begun)


def first_word(mouth: Mouth) -> None:
    """Say something and pull, as a loudspeaker does, until there is sound."""
    mouth.say("first", for_the_ear(SENTENCES[0]))
    while not mouth.pull(FRAME).any():
        time.sleep(0.001)


def pink(n: int, generator: np.random.Generator) -> Samples:
    spectrum = np.fft.rfft(generator.standard_normal(n))
    spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)), 1))
    return np.asarray(np.fft.irfft(spectrum, n), dtype=np.float32)


def in_noise(clip: Clip, decibels: float | None, seed: int) -> Clip:
    """The clip with half a second around it, and pink noise at so many dB under the speech."""
    samples = np.pad(clip.samples, RATE // 2)
    if decibels is not None:
        noise = pink(len(samples), np.random.default_rng(seed))
        samples = samples + noise * np.float32(10 ** ((level(clip.samples) - decibels - level(noise)) / 20))
    return Clip(samples)


def words(text: str) -> list[str]:
    return re.findall(r"[a-z']+", for_the_ear(text).lower().replace("-", " ").replace("meter", "metre"))


def understood(voice: Voice, ear: EmbeddedRecogniser, noise: float | None, pace: int = 150) -> float:
    """Share of words that came back: 1 less the word error rate."""
    wrong = total = 0
    for seed, sentence in enumerate(SENTENCES * (1 if noise is None else 2)):
        said = words(sentence)
        heard = words(ear.transcribe(in_noise(voice.render(for_the_ear(sentence), pace), noise, seed)))
        wrong += Levenshtein.distance(said, heard)
        total += len(said)
    return 1 - wrong / total


def speed() -> None:
    cold = []
    for _ in range(5):
        mouth = Mouth(CachedVoice(Pyttsx3Voice()), background=True)
        cold.append(milliseconds(lambda mouth=mouth: first_word(mouth)))
        mouth.close()
    print(f"first word, worker not yet started   {statistics.median(cold):7.1f} ms (worst {max(cold):.1f})")
    voice = Pyttsx3Voice()
    mouth = Mouth(voice, background=True)
    first_word(mouth)
    mouth.stop()
    mouth.pull(RATE)
    print(f"first word, warm                     {milliseconds(lambda: first_word(mouth)):7.1f} ms")
    texts = [for_the_ear(sentence) for sentence in SENTENCES] * 5
    warm = [milliseconds(lambda text=text: voice.render(text)) for text in texts]
    seconds = sum(voice.render(text).duration.total_seconds() for text in texts)
    print(
        f"render of a sentence                 {statistics.median(warm):7.1f} ms (worst {max(warm):.1f}), "
        f"{1000 * seconds / sum(warm):.0f} times as fast as it is spoken"
    )
    cached = CachedVoice(voice)
    cached.render(texts[0])
    print(f"the same again, from the cache       {milliseconds(lambda: cached.render(texts[0])):7.3f} ms")
    if program := shutil.which("espeak-ng"):
        with tempfile.TemporaryDirectory() as folder:
            command: Sequence[str] = (program, "-v", "en-us", "-s", "150", "-w", str(Path(folder) / "a.wav"))
            other = [milliseconds(lambda t=text: subprocess.run([*command, t], check=True)) for text in texts]
        print(
            f"espeak-ng run once a sentence        {statistics.median(other):7.1f} ms "
            f"(without resampling); ours takes {statistics.median(warm) / statistics.median(other):.2f} of it"
        )
    mouth.close()


def clarity(compare: bool) -> None:
    ear = EmbeddedRecogniser()
    voices: list[tuple[str, Voice]] = [
        (f"{voice}, pitch {pitch}", Pyttsx3Voice(voice, pitch))
        for voice, pitch in ESPEAK[: 99 if compare else 1]
    ]
    if compare:
        try:
            voices.append(("piper", PiperVoice()))
        except VoiceError as error:
            print(error)
    print("words understood by Whisper tiny.en     clean  pink 10 dB  pink 5 dB")
    for name, voice in voices:
        shares = [understood(voice, ear, noise) for noise in (None, 10.0, 5.0)]
        print(f"{name:38s} {shares[0]:6.2f} {shares[1]:11.2f} {shares[2]:10.2f}", flush=True)
        voice.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--compare", action="store_true", help="more espeak voices, and piper")
    compare = parser.parse_args().compare
    speed()
    clarity(compare)


if __name__ == "__main__":
    main()
