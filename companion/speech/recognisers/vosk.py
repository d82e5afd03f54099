"""Vosk: a model directory of the user's own, heard with a grammar.

A grammar takes almost any speech for a command. So `[unk]` is in it where the model knows it, and a second
recogniser must confirm what changes the job, or everything when the model cannot reject. Where there is no
second one for the language, what changes the job is at best unsure, so that it is asked back. The wheel has
no endpointer to set, so the ear cuts.
"""

import json
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from companion.errors import ModelError
from companion.speech.language.phrases import Phrase, plain
from companion.speech.recognisers import settings
from companion.speech.recognisers.pinned import check_pinned
from companion.speech.recognisers.recogniser import Judgement, Recogniser, Verdict
from companion.speech.sound.samples import RATE, Clip, Samples

UNKNOWN = "[unk]"
_NOTHING = Judgement(Verdict.REJECTED, None, 0.0)
_PARTS = ("am/final.mdl", "conf/mfcc.conf", "graph")


class VoskRecogniser:
    """See `recogniser.Recogniser`.

    Args:
        folder: the model directory.
        confirm: a second recogniser, that must agree before anything changes the job; None when there is none
            for this language.

    Raises:
        ModelError: on first use, when the folder is no model, is not what was pinned (see `pinned.py`), or
            lacks a word of the phrases.

    While speech goes on it is decoded as a stream (see `recogniser.Streaming`); a clip that was not streamed,
    or whose speech went on after it was judged, is decoded whole.
    """

    name = "vosk"

    def __init__(self, folder: Path, confirm: Recogniser | None = None) -> None:
        self._folder = folder
        self._confirm = confirm
        self._phrases: tuple[Phrase, ...] = ()
        self._grammar: Any = None
        self._streamed: int | None = None
        """How many samples of the utterance were decoded; None when not all of them were."""
        self._words: list[dict[str, Any]] = []

    @cached_property
    def _model(self) -> Any:
        check_folder(self._folder)
        check_pinned(self._folder)
        try:
            import vosk
        except ImportError as error:
            raise ModelError(f"Vosk is not installed here ({error}); leave the Vosk model out") from error
        vosk.SetLogLevel(-1)
        try:
            return vosk.Model(str(self._folder))
        except Exception as error:
            raise ModelError(f"the Vosk model in {self._folder} cannot be loaded; unpack it again") from error

    def load(self) -> None:
        """Load now, so that the first command does not wait for it."""
        _ = self._model

    def expect(self, phrases: Sequence[Phrase]) -> None:
        """Set what may be said from now on.

        Raises:
            ModelError: a word is not in the model's vocabulary, so that it could never be heard.
        """
        if tuple(phrases) == self._phrases and self._grammar is not None:
            return
        self.check_vocabulary(phrases)
        self._phrases = tuple(phrases)
        if self._confirm:
            self._confirm.expect(phrases)
        self._grammar = None
        self._streamed = None
        if not phrases:
            return  # the engine crashes on an empty grammar
        texts = [*(phrase.text for phrase in phrases), *([UNKNOWN] if self.can_reject else [])]
        self._grammar = self._listener(json.dumps(texts, ensure_ascii=False))
        self._grammar.SetWords(True)

    @property
    def confirmed(self) -> bool:
        """Whether a second recogniser is asked."""
        return self._confirm is not None

    @property
    def can_reject(self) -> bool:
        """Whether the model knows `[unk]`: speech that is none of the phrases."""
        return bool(self._model.vosk_model_find_word(UNKNOWN) >= 0)

    def check_vocabulary(self, phrases: Sequence[Phrase]) -> None:
        """Check that the model knows every word.

        Raises:
            ModelError: it does not.
        """
        words = dict.fromkeys(word for phrase in phrases for word in phrase.text.split())
        unknown = [word for word in words if self._model.vosk_model_find_word(word) < 0]
        if unknown:
            raise ModelError(
                f"the Vosk model in {self._folder} does not know: {', '.join(unknown)}; "
                "use another model, or other phrases"
            )

    def begin(self) -> None:
        """See `recogniser.Streaming`."""
        self._words = []
        self._streamed = None if self._grammar is None else 0
        if self._grammar is not None:
            self._grammar.Reset()

    def hear(self, samples: Samples) -> None:
        """See `recogniser.Streaming`."""
        if self._streamed is None:
            return
        self._streamed += len(samples)
        if self._grammar.AcceptWaveform(_pcm(samples)):  # the engine takes a pause for an end
            self._words += json.loads(self._grammar.Result()).get("result", [])

    def _heard(self, clip: Clip) -> list[dict[str, Any]]:
        """The words of the clip: the end of what was streamed, or all of it decoded now."""
        streamed, self._streamed = self._streamed, None
        if streamed is None or streamed < len(clip.samples):
            found: list[dict[str, Any]] = _decode(self._grammar, clip).get("result", [])
            return found
        return self._words + list(json.loads(self._grammar.FinalResult()).get("result", []))

    def judge(self, clip: Clip) -> Judgement:
        """Judge one isolated utterance: the whole of it must be one phrase."""
        if not self._phrases or not len(clip.samples) or clip.duration > settings.LONGEST_COMMAND:
            return _NOTHING
        heard = self._heard(clip)
        words = [w for w in heard if w["word"] != UNKNOWN]
        text = " ".join(w["word"] for w in heard)
        phrase = next((p for p in self._phrases if p.text == text), None)
        if phrase is None or not words:
            return _NOTHING
        score = float(np.mean([w["conf"] for w in words]))
        judgement = Judgement(_verdict(score), phrase, score)
        changes = phrase.command in settings.CHANGES_THE_JOB
        if judgement.verdict is Verdict.REJECTED or not (changes or (self._confirm and not self.can_reject)):
            return judgement
        if self._confirm:
            return _both(judgement, self._confirm.judge(clip))
        return replace(judgement, verdict=Verdict.UNSURE)

    def transcribe(self, clip: Clip, bias: Sequence[str] = ()) -> str:
        """Write down free speech. Vosk takes no bias once its graph is built."""
        if not len(clip.samples):
            return ""
        text: str = _decode(self._listener(None), clip).get("text", "")
        return text.replace(UNKNOWN, "").strip()

    def opening(self, clip: Clip) -> str:
        """The first few words of a clip."""
        head = Clip(clip.samples[: 2 * RATE])
        return " ".join(plain(self.transcribe(head)).split()[:6])

    def _listener(self, grammar: str | None) -> Any:
        import vosk

        arguments = (self._model, float(RATE)) if grammar is None else (self._model, float(RATE), grammar)
        return vosk.KaldiRecognizer(*arguments)


def check_folder(folder: Path) -> None:
    """Check that a folder looks like a Vosk model, before the engine crashes on it.

    Raises:
        ModelError: it does not.
    """
    if not folder.is_dir():
        raise ModelError(f"there is no Vosk model folder {folder}; see models/README.md for where to get one")
    missing = [part for part in _PARTS if not (folder / part).exists()]
    empty = [p for p in ("am/final.mdl",) if (folder / p).is_file() and not (folder / p).stat().st_size]
    if missing or empty:
        raise ModelError(
            f"the Vosk model in {folder} is broken: {', '.join(missing or empty)} is missing or empty; "
            "unpack it again"
        )


def _decode(listener: Any, clip: Clip) -> dict[str, Any]:
    listener.Reset()
    listener.AcceptWaveform(_pcm(clip.samples))
    result: dict[str, Any] = json.loads(listener.FinalResult())
    return result


def _pcm(samples: Samples) -> bytes:
    return (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()


def _verdict(score: float) -> Verdict:
    if score >= settings.VOSK_ACCEPT:
        return Verdict.ACCEPTED
    return Verdict.UNSURE if score >= settings.VOSK_ASK else Verdict.REJECTED


def _both(first: Judgement, second: Judgement) -> Judgement:
    """Two opinions: accepted when both accept the same meaning, rejected when the second rejects outright."""
    agree = (
        first.phrase is not None
        and second.phrase is not None
        and (first.phrase.command, first.phrase.given) == (second.phrase.command, second.phrase.given)
    )
    score = min(first.score, second.score)
    if agree and Verdict.REJECTED not in (first.verdict, second.verdict):
        verdict = first.verdict if first.verdict is not Verdict.ACCEPTED else second.verdict
        return Judgement(verdict, first.phrase, score, first.runner_up)
    return Judgement(Verdict.REJECTED, first.phrase, score, second.phrase)
