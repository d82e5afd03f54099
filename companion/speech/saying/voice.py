"""What a voice is: it turns words into sound, and plays nothing.

Adapters: `pyttsx3_voice.Pyttsx3Voice` (a worker process), `piper_voice.PiperVoice` (the extra `natural`),
and the fake below.
"""

from datetime import timedelta
from typing import Protocol

from companion.speech.sound.samples import Clip, silence


class Voice(Protocol):
    """Turns a sentence into a clip."""

    name: str

    def render(self, text: str, words_per_minute: int = 150) -> Clip:
        """Speak `text` into a clip.

        Raises:
            VoiceError: when the voice could not render it; the caller reports and retries.
        """

    def close(self) -> None:
        """Let go of worker processes. Safe to call twice."""


class SilentVoice:
    """The fake: quiet that lasts as long as the words would take."""

    name = "silent"

    def render(self, text: str, words_per_minute: int = 150) -> Clip:
        """As many minutes of silence as `text` has words for."""
        return Clip(silence(timedelta(minutes=len(text.split()) / words_per_minute)))

    def close(self) -> None:
        """Nothing to let go of."""
