"""The shipped fake voice: quiet of the right length, for work without sound and for fast tests."""

from datetime import timedelta

from companion.speech.sound.samples import Clip, silence


class SilentVoice:
    """Says nothing, but takes as long as saying it would."""

    name = "silent"

    def render(self, text: str, words_per_minute: int = 150) -> Clip:
        """As many minutes of silence as `text` has words for."""
        return Clip(silence(timedelta(minutes=len(text.split()) / words_per_minute)))

    def close(self) -> None:
        """Nothing to let go of."""
