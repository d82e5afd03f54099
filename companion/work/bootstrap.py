"""The one place where real adapters are made and wired."""

from pathlib import Path

from companion.errors import ModelError
from companion.speech.recogniser import Recogniser

MODELS = Path("models")


def make_recogniser(which: str = "auto", model: Path | None = None, lang: str = "en") -> Recogniser:
    """The recogniser that is asked for; `auto` takes a Vosk model when there is one, else the embedded one.

    Raises:
        ModelError: Vosk is asked for and there is no usable model.
    """
    if which == "auto":
        which = "vosk" if model or found_model(lang) else "embedded"
    if which == "embedded":
        from companion.speech.embedded import EmbeddedRecogniser

        return EmbeddedRecogniser()
    from companion.speech.vosk import VoskRecogniser

    folder = model or found_model(lang)
    if folder is None:
        raise ModelError(
            f"there is no Vosk model in {MODELS}/; name one with --model, or see {MODELS}/README.md"
        )
    return VoskRecogniser(folder)


def found_model(lang: str = "en") -> Path | None:
    """A Vosk model folder in `models/`, by its name; None when there is none."""
    marked = [p for p in sorted(MODELS.glob("vosk*")) if p.is_dir() and f"-{lang}" in p.name]
    return marked[0] if marked else None
