"""From sound to messages: feeds the ear, keeps the sound of notes, and says what was heard."""

from companion.errors import LogbookError
from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.said.given import PartAndWait, Reason, Words
from companion.job.facts.sayings import Tone
from companion.job.rules.expected import Expecting
from companion.logbook.logbook import Logbook
from companion.procedure.model import Procedure
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.utterance import Hearing
from companion.speech.language.part_names import of_a_part
from companion.speech.language.phrases import language
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.saying.sayer import Sayer
from companion.speech.sound.samples import Clip, Samples

KEPT = (Command.NOTE, Command.WORDS, Command.SKIP)
"""The sound of these is the record; the text is a convenience."""


class Listener:
    """One ear, listening for what the job expects.

    Expectations may come from another thread than the frames; that thread never waits for a recogniser.
    """

    def __init__(
        self, ear: Ear, mouth: Sayer, logbook: Logbook, procedure: Procedure, lang: str = "en"
    ) -> None:
        self._ear = ear
        self._mouth = mouth
        self._logbook = logbook
        self._language = language(lang)
        self._bias = trade_words(procedure)
        self._saying: str | None = None
        self._wanted: Expecting | None = None
        self._met: Expecting | None = None

    def expect(self, expecting: Expecting) -> None:
        """Listen for this from the next frame on. Returns at once."""
        self._wanted = expecting

    def prepare(self) -> None:
        """Get the ear ready for what is expected; the first time, this loads the models."""
        wanted = self._wanted
        if wanted is None or wanted == self._met:
            return
        phrases = self._language.that_answer(wanted)
        self._ear.expect(phrases, wanted.free_speech, self._bias, wanted.reading)
        self._met = wanted

    def listen(self, frame: Samples) -> list[msg.Message]:
        """Take the next frame; mostly nothing comes of it."""
        self.prepare()
        saying = self._mouth.speaking
        if saying != self._saying:
            self._saying = saying
            self._ear.companion_speaking(saying)
        found = [self._message(hearing) for hearing in self._ear.feed(frame)]
        by = self._ear.hindrance()
        return [*found, msg.Hindered(by)] if by else found

    def _message(self, hearing: Hearing) -> msg.Message:
        judgement = hearing.judgement
        if judgement.phrase is None or judgement.verdict is Verdict.REJECTED:
            # Shown and logged, so that nobody waits for an answer to something that was not understood.
            return msg.NotUnderstood(near=hearing.near_a_command, short=hearing.short)
        command = Command(judgement.phrase.command)
        given = judgement.phrase.given
        if self._met and self._met.names_a_part:
            given = of_a_part(given)
        if judgement.verdict is Verdict.UNSURE:
            return msg.Unsure(command, given, judgement.phrase.text, judgement.score)
        self._mouth.sound(Tone.HEARD)
        words = isinstance(given, Words | PartAndWait | Reason)
        clip = self._keep(hearing.clip) if command in KEPT and words else None
        return msg.Heard(command, given, judgement.phrase.text, "voice", judgement.score, clip)

    def _keep(self, clip: Clip) -> str | None:
        """The file that the sound is kept in. A full disk must not make the companion deaf."""
        try:
            return self._logbook.keep_clip("note", clip)
        except LogbookError:
            return None


def trade_words(procedure: Procedure) -> tuple[str, ...]:
    """Words of this procedure that a note is likely to hold."""
    names = [i.name for i in procedure.items.values()] + [s.name for s in procedure.seals.values()]
    names += [f.what for s in procedure.steps for f in s.fasteners]
    return tuple(dict.fromkeys(names))
