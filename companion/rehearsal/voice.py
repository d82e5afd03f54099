"""The mechanic's voice: another synthesiser voice than the companion's, set to a steady level."""

import numpy as np

from companion.rehearsal.noise import Workshop
from companion.speech.saying.voice import Voice
from companion.speech.sound.samples import RATE, Samples


def spoken(voice: Voice, text: str, words_per_minute: int) -> Samples:
    """The mechanic says something, with the quiet around it trimmed, at the level of speech."""
    samples = voice.render(text, words_per_minute).samples
    loud = np.flatnonzero(np.abs(samples) > 0.01)
    if not len(loud):
        return samples
    kept = samples[loud[0] : loud[-1] + 1]
    edge = np.zeros(RATE // 50, dtype=np.float32)
    level = float(np.sqrt(np.mean(np.square(kept)))) or 1.0
    return np.concatenate([edge, kept * np.float32(Workshop.SPEECH_LEVEL / level), edge])
