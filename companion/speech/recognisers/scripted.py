"""The recogniser for tests: it knows beforehand what each clip says."""

from collections.abc import Mapping, Sequence

from companion.speech.language.phrases import Phrase, plain
from companion.speech.recognisers.recogniser import Judgement, Verdict
from companion.speech.sound.samples import Clip


class ScriptedRecogniser:
    """Hears what the script says: the next line for each clip that is judged or written down.

    Args:
        lines: what is said, in order. A line that ends with "?" is heard unsurely.
        scores: the score for a line, 1.0 by default.
    """

    name = "scripted"

    def __init__(self, lines: Sequence[str] = (), scores: Mapping[str, float] | None = None) -> None:
        self._lines = list(lines)
        self._scores = scores or {}
        self._phrases: tuple[Phrase, ...] = ()

    def say(self, line: str) -> None:
        """Add a line to the script."""
        self._lines.append(line)

    def expect(self, phrases: Sequence[Phrase]) -> None:
        """Set what may be said from now on."""
        self._phrases = tuple(phrases)

    def judge(self, clip: Clip) -> Judgement:
        """Accept the next line when it is one of the phrases; an unknown line stays, for `transcribe`."""
        if not self._lines or not len(clip.samples):
            return Judgement(Verdict.REJECTED, None, 0.0)
        line = self._lines[0]
        words = plain(line)
        phrase = next((p for p in self._phrases if p.text == words), None)
        if phrase is None:
            return Judgement(Verdict.REJECTED, None, 0.0)
        self._lines.pop(0)
        verdict = Verdict.UNSURE if line.endswith("?") else Verdict.ACCEPTED
        return Judgement(verdict, phrase, self._scores.get(words, 1.0))

    def transcribe(self, clip: Clip, bias: Sequence[str] = ()) -> str:
        """The next line, whatever it is."""
        return self._lines.pop(0) if self._lines and len(clip.samples) else ""

    def opening(self, clip: Clip) -> str:
        """The first words of the next line, which stays."""
        return " ".join(self._lines[0].split()[:6]) if self._lines and len(clip.samples) else ""
