"""Synthetic speech to train the ear on: texts, voices and the rendering of one by the other.

    python models/synthesise.py prepare FOLDER RECORDINGS    # texts, tokens, weights, voices: all a GPU needs

None of the voices here is fitted or reported on in `tests/benchmarks/hearing/data.py`.
"""

import ctypes
import json
import random
import shutil
import sys
import wave
from pathlib import Path

import numpy as np
from training_sounds import coded

ACCENTS = ("en-us", "en", "en-029", "en-gb-scotland")
VARIANTS = (
    "", "+m1", "+m2", "+m3", "+m4", "+m6", "+f1", "+f2", "+f3", "+klatt", "+klatt2", "+klatt3", "+adam",
    "+Alex", "+Alicia", "+Andrea", "+Andy", "+anika", "+Annie", "+antonio", "+aunty", "+belinda",
    "+benjamin", "+boris", "+caleb", "+david", "+Denis", "+Diogo", "+ed", "+edward", "+Gene",
    "+grandma", "+grandpa", "+Henrique", "+Hugo", "+iven", "+Jacky", "+john", "+Lee", "+marcelo",
    "+Marco", "+Mario", "+max", "+michel",
)  # fmt: skip
_THINGS = ("battery", "fuel", "coolant", "wheels", "ignition")
_STATES = ("disconnected", "isolated", "connected", "chocked", "off", "drained")
FLITE = ("kal",)
FLITE_LIBRARIES = ("libasound.so.2", "libflite.so.1", "libflite_usenglish.so.1", "libflite_cmulex.so.1")
TRADE = (Path(__file__).parent / "trade_words.txt").read_text().split()


def texts(count: int, words: list[str], phrases: list[str], seed: int = 1) -> list[str]:
    """Two in five are commands; the rest are words of the trade and common words, one to six at a time."""
    pick = random.Random(seed)
    made = []
    for _ in range(count):
        kind = pick.random()
        if kind < 0.4:
            made.append(pick.choice(phrases))
        elif kind < 0.7:
            made.append(" ".join(pick.choices(TRADE, k=pick.choice((1, 2, 2, 3, 3, 4, 5, 6)))))
        elif kind < 0.95:
            made.append(" ".join(pick.choices(words, k=pick.choice((1, 1, 2, 2, 3, 4, 6)))))
        else:
            opening = pick.choice(
                ("note", "take a note", "skip this step", "start a timer for", "well", "and then")
            )
            made.append(f"{opening} {' '.join(pick.choices(TRADE, k=pick.choice((2, 3, 4, 5))))}")
    return made


class Espeak:
    """espeak-ng through its library, in this process."""

    def __init__(self, folder: Path) -> None:
        self._library = ctypes.CDLL(str(next(folder.glob("libespeak-ng.so*"))))
        self._library.espeak_Initialize.argtypes = [ctypes.c_int, ctypes.c_int, ctypes.c_char_p, ctypes.c_int]
        self.rate = self._library.espeak_Initialize(2, 500, str(folder).encode(), 0)
        callback = ctypes.CFUNCTYPE(
            ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
        )
        self._pieces: list[bytes] = []

        def take(samples, count, _events):  # type: ignore[no-untyped-def]
            if count > 0:
                self._pieces.append(ctypes.string_at(samples, 2 * count))
            return 0

        self._callback = callback(take)
        self._library.espeak_SetSynthCallback(self._callback)

    def render(self, text: str, voice: str, speed: int, pitch: int) -> np.ndarray:
        """Whole numbers of 16 bit at `self.rate`."""
        self._pieces.clear()
        if self._library.espeak_SetVoiceByName(voice.encode()) != 0:
            raise RuntimeError(f"no voice {voice}")
        self._library.espeak_SetParameter(1, speed, 0)
        self._library.espeak_SetParameter(3, pitch, 0)
        data = text.encode() + b"\0"
        self._library.espeak_Synth(data, len(data), 0, 1, 0, 1, None, None)
        return np.frombuffer(b"".join(self._pieces), np.int16)


class _Wave(ctypes.Structure):
    _fields_ = (("type", ctypes.c_char_p), ("rate", ctypes.c_int), ("count", ctypes.c_int),
                ("channels", ctypes.c_int), ("samples", ctypes.POINTER(ctypes.c_short)))  # fmt: skip


class Flite:
    """flite through its libraries, in this process."""

    def __init__(self, folder: Path) -> None:
        for name in FLITE_LIBRARIES:
            library = ctypes.CDLL(str(folder / name), mode=ctypes.RTLD_GLOBAL)
            if name == "libflite.so.1":
                self._flite = library
                library.flite_init()
                library.flite_text_to_wave.restype = ctypes.POINTER(_Wave)
                library.flite_text_to_wave.argtypes = [ctypes.c_char_p, ctypes.c_void_p]
                library.feat_set_float.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_float]
                library.delete_wave.argtypes = [ctypes.c_void_p]
        self._voices = {}
        for voice in FLITE:
            register = getattr(
                ctypes.CDLL(str(folder / f"libflite_cmu_us_{voice}.so.1")), f"register_cmu_us_{voice}"
            )
            register.restype = ctypes.c_void_p
            register.argtypes = [ctypes.c_char_p]
            self._voices[voice] = register(None)

    def render(self, text: str, voice: str, stretch: float, pitch: float) -> tuple[np.ndarray, int]:
        """Whole numbers of 16 bit, and samples per second."""
        pointer = self._voices[voice]
        features = ctypes.cast(pointer, ctypes.POINTER(ctypes.c_void_p))[1]
        self._flite.feat_set_float(features, b"duration_stretch", stretch)
        self._flite.feat_set_float(features, b"int_f0_target_mean", pitch)
        wave = self._flite.flite_text_to_wave(text.encode(), pointer)
        samples = np.ctypeslib.as_array(wave.contents.samples, (wave.contents.count,)).copy()
        rate = wave.contents.rate
        self._flite.delete_wave(wave)
        return samples, rate


def render_share(job: tuple[int, int, str, list[str]]) -> list[tuple[str, np.ndarray]]:
    """One process's share: every n-th text, each by a voice picked at random. 16-bit samples at 16 kHz."""
    from scipy.signal import resample_poly

    start, step, folder, lines = job
    pick = random.Random(1000 + start)
    espeak, flite = Espeak(Path(folder) / "espeak"), Flite(Path(folder) / "flite")
    made = []
    for text in lines[start::step]:
        if pick.random() < 0.2:
            samples, rate = flite.render(
                text, pick.choice(FLITE), pick.uniform(0.8, 1.25), pick.uniform(80, 200)
            )
        else:
            voice = pick.choice(ACCENTS) + pick.choice(VARIANTS)
            samples, rate = (
                espeak.render(text, voice, pick.randint(115, 210), pick.randint(15, 85)),
                espeak.rate,
            )
        common = int(np.gcd(rate, 16000))
        sound = resample_poly(samples.astype(np.float32), 16000 // common, rate // common)
        loud = np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max() + 1)
        if len(loud):
            sound = sound[loud[0] : loud[-1] + 1]
            made.append(
                (text, np.clip(sound * (12000 / np.abs(sound).max()), -32767, 32767).astype(np.int16))
            )
    return made


PEOPLE = ("fr_CA_f_June", "it_IT_m_Carlo", "it_IT_f_Menardi", "ru_RU_f_IvrvoiceRU", "fr", "es")


def human(folder: Path, seconds: int = 1000) -> list[np.ndarray]:
    """Six people speaking French, Italian, Russian and Spanish, as 8-bit samples at 8 kHz (mu-law, 255).

    They are the prompts of the Debian packages asterisk-core-sounds-{fr,it,ru}-wav, and of asterisk-prompt-
    it-menardi-wav, -fr-armelle and -es-co, unpacked in `folder` (GSM made WAV by sox). The Spanish of
    asterisk-core-sounds-es is left out: its speaker is the one of the English prompts.
    """
    made = []
    for name in PEOPLE:
        left = seconds * 8000 // len(PEOPLE)
        paths = sorted(folder.rglob(f"sounds/{name}/**/*.wav"))
        random.Random(3).shuffle(paths)
        for path in paths:
            with wave.open(str(path)) as file:
                sound = np.frombuffer(file.readframes(10**9), np.int16).astype(np.float32) / 32768
            if 3500 < len(sound) < 24000 and np.abs(sound).max() > 0.05 and left > 0:
                sound /= np.abs(sound).max() * 1.01
                made.append(coded(sound))
                left -= len(sound)
    return made


def english() -> tuple[list[str], list[np.ndarray]]:
    """Short prompts of the fitting half of Debian's English ones, to choose between trainings."""
    from tests.benchmarks.hearing.data import english_prompts, is_for_fitting

    found: dict[str, np.ndarray] = {}
    for text, sound in english_prompts():
        if (
            is_for_fitting(text)
            and text.replace(" ", "").isalpha()
            and 3 < len(text) < 18
            and len(sound) < 26000
        ):
            found.setdefault(text, (sound[::2] / np.abs(sound).max() * 127).astype(np.int8))
    return list(found)[:60], list(found.values())[:60]


def _other_languages(_folder: str, names: list[str]) -> list[str]:
    return [name for name in names if name.endswith("_dict") and name != "en_dict"]


def prepare(folder: Path, recordings: Path) -> None:
    """Everything that training needs, in one folder; `recordings` holds the human prompts."""
    import ctranslate2
    import espeakng_loader
    from pocketsphinx import get_model_path
    from tokenizers import Tokenizer

    sys.path.insert(0, str(Path(__file__).parent.parent))
    from companion.job.facts.commands import Command
    from companion.speech.language.phrases import Phrase, language, phrases_for
    from companion.speech.network.installed import find_weights
    from companion.speech.network.mel import log_mel
    from companion.speech.network.weight_file import variables
    from companion.speech.recognisers.scorer import written

    folder.mkdir(parents=True, exist_ok=True)
    weights = find_weights()
    tokenizer = Tokenizer.from_file(str(weights / "tokenizer.json"))
    known = {
        line.split()[0] for line in Path(get_model_path("en-us/cmudict-en-us.dict")).read_text().splitlines()
    }
    vocabulary = [tokenizer.id_to_token(i) for i in range(1000, 20000)]
    common = [t[1:].lower() for t in vocabulary if t[0] == "Ġ" and t[1:].isalpha() and len(t) > 2]
    common = sorted({word for word in common if word in known})
    phrases = [p.text for p in phrases_for(list(Command), durations=True)]
    phrases += [f"{a} {b}" for a in _THINGS for b in _STATES]
    phrases += ["new seal fitted", "seal is good", "seal is bad", *language().numbers[:10]]
    lines = texts(48_000, common, phrases)
    ids = {
        text: tokenizer.encode(written(Phrase(text, "")), add_special_tokens=False).ids for text in set(lines)
    }
    words, sounds = english()
    extra = [tokenizer.encode(written(Phrase(w, "")), add_special_tokens=False).ids for w in words]
    used = sorted(
        {
            50256,
            *(i for row in extra for i in row),
            50257,
            50362,
            *range(4000),
            *(i for row in ids.values() for i in row),
        }
    )
    place = {token: n for n, token in enumerate(used)}
    (folder / "lines.json").write_text(
        json.dumps({"lines": lines, "tokens": {t: [place[i] for i in row] for t, row in ids.items()},
                    "start": [place[50257], place[50362]], "end": place[50256]})
    )  # fmt: skip
    data = (weights / "model.bin").read_bytes()
    arrays = {n: v.read(data) for n, v in variables(data).items() if v.dtype == np.float16}
    arrays["decoder/embeddings/weight"] = arrays["decoder/embeddings/weight"][used]
    np.savez_compressed(folder / "weights.npz", **arrays)

    data_folder = espeakng_loader.get_data_path()
    shutil.copytree(
        data_folder, folder / "espeak/espeak-ng-data", dirs_exist_ok=True, ignore=_other_languages
    )
    shutil.copy(espeakng_loader.get_library_path(), folder / "espeak/libespeak-ng.so.1")
    (folder / "flite").mkdir(exist_ok=True)
    for name in (*FLITE_LIBRARIES, *(f"libflite_cmu_us_{voice}.so.1" for voice in FLITE)):
        shutil.copy(Path("/usr/lib/x86_64-linux-gnu") / name, folder / "flite")

    people = human(recordings)
    rows_ = [[place[i] for i in row] for row in extra]
    (folder / "english.json").write_text(json.dumps({"words": words, "tokens": rows_}))
    np.savez(folder / "english.npz", sound=np.concatenate(sounds), ends=np.cumsum([len(x) for x in sounds]))
    np.savez(folder / "human.npz", sound=np.concatenate(people), ends=np.cumsum([len(p) for p in people]))

    model = ctranslate2.models.Whisper(str(weights), device="cpu", compute_type="float32")
    wave_ = Espeak(folder / "espeak").render("what size", "en-us", 150, 50)[:30000].astype(np.float32) / 32768
    picture = np.ascontiguousarray(log_mel(wave_, 32000))
    encoded = np.array(model.encode(ctranslate2.StorageView.from_array(picture[None]), to_cpu=True))
    tokens = tokenizer.encode(" What size?", add_special_tokens=False).ids
    aligned = model.align(ctranslate2.StorageView.from_array(encoded), [50257], [tokens], 200)[0]
    np.savez(folder / "reference.npz", wave=wave_, mel=picture, encoded=encoded[0],
             tokens=[place[t] for t in tokens], probabilities=aligned.text_token_probs)  # fmt: skip


if __name__ == "__main__" and sys.argv[1:2] == ["prepare"]:
    prepare(Path(sys.argv[2]), Path(sys.argv[3]))
