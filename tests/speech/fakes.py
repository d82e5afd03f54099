"""What the tests of speech speak and listen with, in one place.

Shipped with the program, each beside its protocol:

- `SilentVoice`: quiet that lasts as long as the words would.
- `ScriptedRecogniser`: hears the next line of a script, whatever sounds.
- `FileMicrophone`, `PacedMicrophone`: a WAV file as a microphone, at once or in real time.
- `WavPlayer`, `PacedWavPlayer`: a loudspeaker that writes a file.
- `NoCanceller`: leaves the echo in.

Here, for these tests alone:

- `NotedVoice` gives each sentence a constant of its own, so that samples tell who spoke.
- `Room` is a microphone that hears what was played, late and softer, and a mechanic.
- `tone` is one of any rate.

For every test, in `tests/helpers/sounds.py`: `Talker` says sentences with a real synthesiser (the fixture
`talker` has one for the whole run), `pause` is a quiet room, `write_wav` makes a WAV file of any kind.

To write an adapter of your own, inherit the contract of its protocol: `RecogniserContract` in
`recognisers/test_recognisers.py`, `VoiceContract` in `saying/test_voices.py`.
"""

from collections.abc import Iterator

import numpy as np

from companion.errors import VoiceError
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.saying.happenings import Happening
from companion.speech.saying.mouth import Mouth
from companion.speech.sound.played import Played
from companion.speech.sound.samples import FRAME, RATE, Clip, Samples

HALF_SECOND = RATE // 2


class NotedVoice:
    """Each sentence is half a second of its own constant, so that the samples tell who spoke."""

    name = "noted"

    def __init__(self, failures: dict[str, int] | None = None) -> None:
        self.values: dict[str, float] = {}
        self.failures = failures or {}
        self.asked: list[tuple[str, int]] = []

    def render(self, text: str, words_per_minute: int = 150) -> Clip:
        self.asked.append((text, words_per_minute))
        if self.failures.get(text, 0) > 0:
            self.failures[text] -= 1
            raise VoiceError("no breath")
        value = self.values.setdefault(text, 0.01 * (len(self.values) + 1))
        return Clip(np.full(HALF_SECOND, value, dtype=np.float32))

    def close(self) -> None:
        pass

    def heard(self, samples: Samples) -> list[str]:
        """The sentences in `samples` in order, with how many tenths of a second of each."""
        spoken: list[tuple[str, int]] = []
        for text, value in list(self.values.items()):
            at = np.isclose(samples, value, atol=1e-6)
            edges = np.flatnonzero(np.diff(np.concatenate([[0], at.astype(int), [0]])))
            for start, end in edges.reshape(-1, 2):
                if end - start > 200:  # not where a tone happens to pass
                    spoken.append((f"{text} {(end - start) / RATE:.1f}", int(start)))
        return [text for text, start in sorted(spoken, key=lambda one: one[1])]


def all_of(mouth: Mouth) -> Samples:
    pieces = []
    while not mouth.idle:
        pieces.append(mouth.pull(FRAME))
        assert len(pieces) < 10_000
    return np.concatenate(pieces) if pieces else np.zeros(0, dtype=np.float32)


def told(happened: list[Happening]) -> list[str]:
    return [f"{type(event).__name__} {event.saying_id}" for event in happened]


def late(sound: Samples, delay: int) -> Samples:
    return np.concatenate([np.zeros(delay, np.float32), sound])[: len(sound)]


class Room:
    """A microphone that hears what is played, some samples later, and what else is said."""

    name = "room"
    overflows = reopened = 0
    rate = dead_channel = None

    def __init__(self, played: Played, sound: Samples, delay: int, also: Samples | None = None) -> None:
        self._played = played
        self._sound = sound
        self._heard = 0.7 * late(sound, delay) + (0 if also is None else also)
        self._heard += np.float32(3e-4) * np.random.default_rng(2).standard_normal(len(sound)).astype("f4")

    def frames(self) -> Iterator[Samples]:
        pairs = zip(cut_in_frames(self._sound), cut_in_frames(self._heard), strict=True)
        for spoken, heard in pairs:
            self._played.add(spoken)
            yield heard

    def close(self) -> None:
        """Nothing to close."""


def tone(rate: int, seconds: float = 0.5) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * 440 * np.arange(round(rate * seconds)) / rate)
