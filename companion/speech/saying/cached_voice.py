"""A voice that remembers what it said lately: "repeat" and the fixed phrases cost nothing."""

from collections import OrderedDict
from threading import Lock

from companion.speech.saying.voice import Voice
from companion.speech.sound.samples import Clip


class CachedVoice:
    """Wraps a voice; keeps the most recently used clips. A failure is never kept."""

    def __init__(self, voice: Voice, keep: int = 64) -> None:
        """`keep` is how many clips are remembered; a sentence of five seconds takes 320 kB."""
        self.name = voice.name
        self._voice = voice
        self._keep = keep
        self._clips: OrderedDict[tuple[str, int], Clip] = OrderedDict()
        self._lock = Lock()

    def render(self, text: str, words_per_minute: int = 150) -> Clip:
        """The remembered clip, or a new one.

        Raises:
            VoiceError: when the voice could not render it.
        """
        key = (text, words_per_minute)
        with self._lock:
            if key in self._clips:
                self._clips.move_to_end(key)
                return self._clips[key]
        clip = self._voice.render(text, words_per_minute)
        with self._lock:
            self._clips[key] = clip
            self._clips.move_to_end(key)
            while len(self._clips) > self._keep:
                self._clips.popitem(last=False)
        return clip

    def close(self) -> None:
        """Close the voice beneath and forget the clips."""
        self._clips.clear()
        self._voice.close()
