"""What a voice is: words in, sound out. It renders; it never plays.

Adapters: `pyttsx3_voice.Pyttsx3Voice` (a worker process), `piper_voice.PiperVoice` (the
extra `natural`), and `silent.SilentVoice` (the fake: the right length of quiet).
"""

from typing import Protocol

from companion.speech.sound.samples import Clip


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
