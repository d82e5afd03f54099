"""Texts that train the verifier: commands, what sounds like them, and sentences with a command inside.

    python models/confusable.py FOLDER RECORDINGS    # everything that `train_verifier.py` needs

No sentence of `tests/benchmarks/hearing/sentences` is used.
"""

import json
import os
import random
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]
from synthesise import TRADE  # noqa: E402
from training_sounds import coded  # noqa: E402

COUNT, NATURAL = 60_000, 16_000
"""Texts spoken by espeak-ng and flite, and by the natural voices."""
_KOKORO = (
    ("tʃ", "ʧ"), ("dʒ", "ʤ"), ("eɪ", "A"), ("aɪ", "I"), ("ɔɪ", "Y"), ("aʊ", "W"), ("oʊ", "O"), ("əʊ", "Q"),
    ("ɚ", "əɹ"), ("ɜː", "ɜɹ"), ("r", "ɹ"), ("x", "k"), ("ç", "k"), ("ɬ", "l"), ("ɐ", "ə"), ("ɾ", "T"),
    ("g", "ɡ"), ("ː", ""),
)  # fmt: skip
"""From what espeak-ng writes to what the Kokoro model reads."""


class Sounds:
    """Which common words sound like which, by the edit distance of their sounds."""

    def __init__(self, dictionary: Path, common: list[str]) -> None:
        said = {}
        for line in dictionary.read_text().splitlines():
            word, *sounds = line.split()
            said.setdefault(word, sounds)
        self._said = said
        self._common = [w for w in common if w in said]
        self._like: dict[str, list[str]] = {}

    def like(self, word: str) -> list[str]:
        """The sixteen common words nearest to it."""
        if word not in self._like:
            own = self._said.get(word)
            if own is None:
                self._like[word] = []
            else:
                ranked = sorted(
                    (
                        w
                        for w in self._common
                        if self._said[w] != own and abs(len(self._said[w]) - len(own)) < 3
                    ),
                    key=lambda w: (distance(own, self._said[w]), w),
                )
                self._like[word] = ranked[:16]
        return self._like[word]


def distance(one: list[str], other: list[str]) -> float:
    """Edit distance of two lists of sounds; vowels for vowels and consonants for consonants cost less."""
    row = [float(i) for i in range(len(other) + 1)]
    for i, a in enumerate(one, 1):
        before, row[0] = row[0], float(i)
        for j, b in enumerate(other, 1):
            swap = 0.0 if a == b else 0.6 if (a[0] in "AEIOU") == (b[0] in "AEIOU") else 1.2
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + swap)
    return row[-1]


def near(phrase: str, sounds: Sounds, words: list[str], pick: random.Random) -> str:
    """A phrase with one word replaced by one that sounds like it, left out, or added."""
    parts = phrase.split()
    at, kind = pick.randrange(len(parts)), pick.random()
    if kind < 0.6:
        parts[at] = pick.choice(sounds.like(parts[at]) or words)
    elif kind < 0.75 and len(parts) > 1:
        del parts[at]
    else:
        parts.insert(pick.choice((0, len(parts))), pick.choice(words))
    return " ".join(parts)


def texts(count: int, phrases: list[str], words: list[str], sounds: Sounds, seed: int) -> list[str]:
    """A third commands; the rest what is none."""
    pick = random.Random(seed)
    made = []
    for _ in range(count):
        kind = pick.random()
        if kind < 0.36:
            made.append(pick.choice(phrases))
        elif kind < 0.54:
            made.append(near(pick.choice(phrases), sounds, words, pick))
        elif kind < 0.70:
            before, after = pick.choice(((0, 2), (1, 1), (2, 0), (2, 2), (3, 0), (0, 3), (3, 1)))
            spoken = pick.choices(words + TRADE * 10, k=before + after)
            made.append(" ".join([*spoken[:before], pick.choice(phrases), *spoken[before:]]))
        elif kind < 0.82:
            made.append(" ".join(pick.choices(TRADE, k=pick.choice((1, 2, 2, 3, 3, 4, 5)))))
        else:
            made.append(" ".join(pick.choices(words, k=pick.choice((1, 1, 1, 2, 2, 3, 4, 6)))))
    return made


def read_aloud(lines: list[str]) -> list[str]:
    """What the Kokoro model reads, for each text."""
    found = subprocess.run(
        ["espeak-ng", "-q", "--ipa=1", "--sep=", "-v", "en-us"], input="\n".join(f"{t}." for t in lines),
        capture_output=True, text=True, check=True,
    ).stdout.strip("\n").split("\n")  # fmt: skip
    read = []
    for line in found:
        for one, other in _KOKORO:
            line = line.replace(one, other)  # noqa: PLW2901
        read.append(line.replace("\u200d", "").strip())
    if len(read) != len(lines):
        raise RuntimeError("espeak-ng split a text into several lines")
    return read


def people(recordings: Path, samples: int) -> list[np.ndarray]:
    """People saying what is no English command: mu-law (255), 8 bit at 8 kHz, up to 1.6 s each.

    The prompts of `synthesise.human`, the syllables of Debian's klettres-data in twenty languages, and the
    voices of hedgewars-data in Polish, Russian, Spanish and Ukrainian.
    """
    groups = defaultdict(list)
    for path in sorted(
        Path(f, name) for f, _, names in os.walk(recordings, followlinks=True) for name in names
    ):
        group = path.parts[path.parts.index("share") :][:6] if "share" in path.parts else ()
        wanted = "klettres" in group or path.parent.name in (
            "Default_uk", "Default_ru", "Default_pl", "Default_es", "Russian", "Russian_pl"
        ) or ("asterisk" in group and path.parts[-2][:2] in ("fr", "it", "ru"))  # fmt: skip
        if wanted and path.suffix in (".ogg", ".wav"):
            groups["/".join(group)].append(path)
    made, left = [], samples
    pick = random.Random(4)
    for paths in groups.values():
        pick.shuffle(paths)
    for n in range(max(map(len, groups.values()))):
        for name in sorted(groups):
            if n < len(groups[name]) and left > 0:
                raw = subprocess.run(
                    ["sox", str(groups[name][n]), "-t", "f32", "-r", "8000", "-c", "1", "-"],
                    capture_output=True,
                    check=False,
                ).stdout
                sound = np.frombuffer(raw, np.float32)
                if len(sound) < 1500 or np.abs(sound).max() < 0.02:
                    continue
                sound = sound / (np.abs(sound).max() * 1.01)
                loud = np.flatnonzero(np.abs(sound) > 0.03)
                sound = sound[loud[0] : loud[-1] + 1][:13000]
                made.append(coded(sound))
                left -= len(sound)
    return made


def main() -> None:
    """Write texts, weights and recordings."""
    folder, recordings = Path(sys.argv[1]), Path(sys.argv[2])
    from pocketsphinx import get_model_path
    from tokenizers import Tokenizer

    from companion.job.facts.commands import Command
    from companion.speech.language.phrases import language, phrases_for
    from companion.speech.network.installed import find_weights
    from companion.speech.network.weight_file import variables

    weights = find_weights()
    tokenizer = Tokenizer.from_file(str(weights / "tokenizer.json"))
    dictionary = Path(get_model_path("en-us/cmudict-en-us.dict"))
    known = {line.split()[0] for line in dictionary.read_text().splitlines()}
    vocabulary = [tokenizer.id_to_token(i) for i in range(1000, 20000)]
    common = sorted(
        {t[1:].lower() for t in vocabulary if t[0] == "Ġ" and t[1:].isalpha() and len(t) > 2} & known
    )
    phrases = [p.text for p in phrases_for(list(Command), durations=False)]
    states = ("battery", "fuel line", "coolant", "wheels", "ignition", "pump", "sensor", "caliper", "sump")
    ends = ("disconnected", "connected", "off", "drained", "is out", "is on", "is tight", "is clean")
    phrases += [f"{a} {b}" for a in states for b in ends]
    phrases += ["new seal fitted", *language().numbers[:12]]
    sounds = Sounds(dictionary, common)
    lines = texts(COUNT, phrases, common, sounds, 1)
    natural = texts(NATURAL, phrases, common, sounds, 2)
    pick = random.Random(5)
    beside = {p: sorted({near(p, sounds, common, pick) for _ in range(40)} - set(phrases)) for p in phrases}
    (folder / "texts.json").write_text(
        json.dumps({"lines": lines, "natural": list(zip(natural, read_aloud(natural), strict=True)),
                    "phrases": phrases, "beside": beside, "common": common})
    )  # fmt: skip
    data = (weights / "model.bin").read_bytes()
    encoder = {n: v.read(data) for n, v in variables(data).items() if n.startswith("encoder")}
    np.savez(folder / "encoder.npz", **{n: a for n, a in encoder.items() if a.dtype == np.float16})
    found = people(recordings, 9_000_000)
    np.savez(folder / "people.npz", sound=np.concatenate(found), ends=np.cumsum([len(x) for x in found]))
    print(len(phrases), "phrases", len(found), "recordings", sum(map(len, found)) / 8000, "s")


if __name__ == "__main__":
    main()
