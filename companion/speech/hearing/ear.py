"""The ear turns frames of sound into hearings. The same frames and expectations give the same hearings.

It runs in the caller's thread: a live microphone and a rehearsal faster than real time feed it alike.
Commands are judged during the silence that ends them, not after it.

It judges isolated utterances, and what stands out of others' talk. The inbox's thread never does this work;
the microphone's does. What is not understood is shown, never guessed.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from statistics import median
from time import perf_counter

from companion.job.facts.commands import Command
from companion.speech.hearing.activity import Activity, SileroActivity
from companion.speech.hearing.free_speech import one_breath, own_words, reading_in
from companion.speech.hearing.near import NearVoice
from companion.speech.hearing.own_voice import OwnVoice, at_once, obeyed_unsure, safely_obeyed
from companion.speech.hearing.thought import Expected, Thought
from companion.speech.hearing.through import Hindrance, Through
from companion.speech.hearing.utterance import Hearing, Segmenter, Utterance
from companion.speech.language.own_phrases import OwnPhrases, opened_by, with_own
from companion.speech.language.phrases import Phrase, language
from companion.speech.recognisers import settings
from companion.speech.recognisers.decision import among_voices
from companion.speech.recognisers.recogniser import Judgement, Recogniser, Streaming, Verdict
from companion.speech.sound.samples import FRAME_TIME, Samples, silence

_NOTHING = Judgement(Verdict.REJECTED, None, 0.0)
_FLUSHED = round(settings.DICTATION_ENDS / FRAME_TIME) + 1
_TAIL = round(settings.TAIL / FRAME_TIME)
_ENDS = round(settings.COMMAND_ENDS / FRAME_TIME)
_LOOKS = 3
"""Frames from one look for what stands out to the next, while a voice goes on."""
_EACH_SECOND = round(1 / FRAME_TIME.total_seconds())


class Ear:
    """Listens to one stream.

    Args:
        recogniser: judges the utterances.
        activity: tells speech from noise; Silero by default.
        lang: the language of the phrases.
        attention: a word of the user's own that must open every command except "stop work".
        own: the user's own words for commands.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        activity: Activity | None = None,
        lang: str = "en",
        attention: str | None = None,
        own: OwnPhrases | None = None,
    ) -> None:
        self.recogniser = recogniser
        self._language = language(lang)
        self._attention = attention
        self._own = own or {}
        self._segmenter = Segmenter(activity or SileroActivity())
        self._own_voice = OwnVoice()
        self._near = NearVoice()
        self._expected = Expected()
        self.reset()

    def reset(self) -> None:
        """Start a new stream at time zero; what is expected stays."""
        self._segmenter.reset()
        self._own_voice.reset()
        self._near.reset()
        self._through = Through()
        self._thought: Thought | None = None
        self._opening: str | None = None
        self._levels: deque[float] = deque(maxlen=8)

    @property
    def now(self) -> timedelta:
        """Stream time: how much sound was fed."""
        return (self._segmenter.number + 1) * FRAME_TIME

    def expect(
        self,
        phrases: Sequence[Phrase],
        dictation: bool = False,
        bias: Sequence[str] = (),
        reading: str | None = None,
    ) -> None:
        """Set what may be said from now on. Cheap when unchanged.

        Args:
            phrases: the closed set of commands.
            dictation: whether the mechanic's own words are wanted; the phrases stay live beside them.
            bias: trade words likely in free speech.
            reading: the unit of a measured value that is wanted.
        """
        said = opened_by(self._attention, with_own(phrases, self._own))
        expected = Expected(said, dictation, tuple(bias), reading)
        if expected != self._expected:
            self._expected = expected
            self._thought = None
            self.recogniser.expect(expected.phrases)

    def companion_speaking(self, text: str | None) -> None:
        """Tell that the companion begins to say `text`, or (None) has fallen silent."""
        self._own_voice.speaking(text, self.now)
        self._thought = None

    def feed(self, frame: Samples) -> list[Hearing]:
        """Take the next `FRAME` samples; gives what has been heard by now, mostly nothing."""
        begun = self._segmenter.utterance is not None
        self._segmenter.feed(frame)
        self._near.feed(frame)
        utterance = self._segmenter.utterance
        if utterance is None:
            return []
        if isinstance(self.recogniser, Streaming) and utterance.spoken <= settings.LONGEST_COMMAND:
            if not begun:
                self.recogniser.begin()
            self.recogniser.hear(utterance.latest(1 if begun else None))
        quiet = utterance.quiet(self._segmenter.number)
        if self._thought and self._thought.last != utterance.last:
            self._thought = None
        if quiet < settings.TAIL:
            if utterance.spoken > settings.LONGEST_DICTATION:
                return self._give_up(utterance)
            return self._heard_through(utterance)
        if self._thought is None and not utterance.is_click:
            self._thought = self._think(utterance)
        if quiet < self._patience():
            return []
        return self._finish(utterance)

    def hindrance(self) -> Hindrance | None:
        """What is now found to drown every command; mostly nothing. Words of one's own may go on and on."""
        if self._segmenter.number % _EACH_SECOND or self._expected.dictation or self._own_voice.speaks:
            return None
        unbroken = self._segmenter.utterance.spoken if self._segmenter.utterance else timedelta()
        usual = median(self._levels) if self._levels else None
        often, seldom = self._near.exceeded(50, 90)
        return self._through.look(self.now, unbroken, often, seldom, usual)

    def flush(self) -> list[Hearing]:
        """The stream has ended: give what is still in the air."""
        found = []
        for _ in range(_FLUSHED):
            found += self.feed(silence(FRAME_TIME))
        return found

    def _patience(self) -> timedelta:
        """How long a silence must last to end the utterance."""
        thought = self._thought
        if thought is None:
            return settings.COMMAND_ENDS
        dictating = self._expected.dictation and not at_once(thought.judgement)
        return settings.DICTATION_ENDS if dictating or thought.carries else settings.COMMAND_ENDS

    def _think(self, utterance: Utterance) -> Thought:
        """Judge the utterance as if it were over. The costly work begins here, in the silence after it."""
        began = perf_counter()
        over_voice = self._over_voice(utterance)
        judgement = self._judge(utterance, over_voice)
        transcript, carries, of = None, False, utterance
        sure = judgement.verdict is Verdict.ACCEPTED or obeyed_unsure(judgement)
        if not sure and not over_voice and not self._expected.dictation:
            of, judgement = self._standing_out(_TAIL, utterance) or (utterance, judgement)
        if judgement.verdict is not Verdict.ACCEPTED and not over_voice:
            if self._expected.reading:
                judgement, transcript = reading_in(
                    self.recogniser, utterance.clip(), self._expected.reading, judgement
                )
            if judgement.verdict is not Verdict.ACCEPTED and not self._expected.dictation:
                carries = self._opens_a_carrier(utterance)
        elif self._says_more(judgement, of):
            judgement, carries = replace(judgement, verdict=Verdict.UNSURE), True
        took = timedelta(seconds=perf_counter() - began)
        return Thought(utterance.last, of, judgement, transcript, self.now + took, carries)

    def _heard_through(self, utterance: Utterance) -> list[Hearing]:
        """A voice goes on. What stood out of it may have been a command all the same."""
        if self._expected.dictation or self._segmenter.number % _LOOKS:
            return []
        began = perf_counter()
        of, judgement = self._standing_out(_ENDS) or (utterance, _NOTHING)
        if judgement.verdict is not Verdict.ACCEPTED:
            return []
        carries = self._says_more(judgement, of)
        if carries:
            judgement = replace(judgement, verdict=Verdict.UNSURE)
        took = timedelta(seconds=perf_counter() - began)
        self._thought = Thought(utterance.last, of, judgement, None, self.now + took, carries)
        return self._finish(utterance)

    def _standing_out(self, quiet: int, whole: Utterance | None = None) -> tuple[Utterance, Judgement] | None:
        """The longest command among what stood out until `quiet` frames ago, and that nobody else said.

        What is nearly the whole of an utterance that is over was judged as the whole.
        """
        best = None
        for cut in self._near.cuts(quiet, _ENDS + _LOOKS):
            near = self._near.utterance(cut)
            if not cut.alone or self._over_voice(near) or (whole and near.nearly(whole)):
                continue
            if isinstance(self.recogniser, Streaming):
                self.recogniser.begin()
                self.recogniser.hear(near.latest())
            judgement = among_voices(self._judge(near, over_voice=False), cut.rise, cut.over)
            if judgement.verdict is Verdict.ACCEPTED or (judgement.verdict is Verdict.UNSURE and not best):
                best = near, judgement
        return best

    def _judge(self, utterance: Utterance, over_voice: bool) -> Judgement:
        if utterance.spoken > settings.LONGEST_COMMAND or self._too_far(utterance):
            return _NOTHING
        if not over_voice:
            return self.recogniser.judge(utterance.clip())
        live = self._own_voice.live(self._expected.phrases)
        if not live:
            return _NOTHING
        self.recogniser.expect(live)
        try:
            return safely_obeyed(self.recogniser.judge(utterance.clip()))
        finally:
            self.recogniser.expect(self._expected.phrases)

    def _over_voice(self, utterance: Utterance) -> bool:
        return self._own_voice.heard_in(utterance.start, utterance.end, self._expected.dictation)

    def _finish(self, utterance: Utterance) -> list[Hearing]:
        thought = self._thought
        over_voice = self._over_voice(utterance)
        opening = self._opening or ""
        self._end_utterance()
        if thought is None:
            return []
        utterance = thought.of
        judgement, transcript, ready = thought.judgement, thought.transcript, thought.ready
        if judgement.verdict is Verdict.ACCEPTED:
            self._levels.append(utterance.level())
            self._near.taken(utterance.first, utterance.last)
        elif over_voice:
            return []
        elif obeyed_unsure(judgement):
            pass  # Not even where words of one's own are wanted may it be taken for some of them.
        elif self._expected.dictation or thought.carries:
            began = perf_counter()
            text = self.recogniser.transcribe(utterance.clip(), self._expected.bias)
            if self._expected.dictation:
                judgement, transcript = own_words(text, self._expected.phrases, self._language), text
            else:
                judgement, transcript = one_breath(text, opening, self._carriers(), self._language), text
            ready = self.now + timedelta(seconds=perf_counter() - began)
        latency = max(self.now, ready) - utterance.end
        return [Hearing(utterance.start, utterance.end, judgement, utterance.clip(), transcript, latency)]

    def _give_up(self, utterance: Utterance) -> list[Hearing]:
        """Drop speech that goes on too long: a radio, or a machine that sounds like one. A note is kept."""
        if self._expected.dictation:
            self._thought = self._think(utterance)
            return self._finish(utterance)
        self._end_utterance()
        return []

    def _end_utterance(self) -> None:
        self._segmenter.finish()
        self._thought = None
        self._opening = None

    def _carriers(self) -> tuple[Command, ...]:
        commands = {phrase.command for phrase in self._expected.phrases}
        return tuple(command for command in self._language.carriers if command in commands)

    def _opens_a_carrier(self, utterance: Utterance) -> bool:
        """Whether it opens like a command that more words may follow. Asked once for each utterance."""
        carriers = self._carriers()
        if not carriers or self._too_far(utterance):
            return False
        if self._opening is None:
            self._opening = self.recogniser.opening(utterance.clip())
        opened = self._language.carrier(self._opening)
        return opened is not None and opened[0] in carriers

    def _says_more(self, judgement: Judgement, utterance: Utterance) -> bool:
        """Whether "start a timer" was only the opening of "start a timer for ten minutes"."""
        if self._expected.dictation or judgement.phrase is None:
            return False
        if judgement.phrase.command not in self._carriers() or not self._opens_a_carrier(utterance):
            return False
        opened = self._language.carrier(self._opening or "")
        return opened is not None and len(opened[1]) >= settings.LEAST_MORE

    def _too_far(self, utterance: Utterance) -> bool:
        """Whether it comes from far away, like a radio: it is much quieter than the last commands."""
        floor = settings.QUIETEST
        if len(self._levels) >= 3:
            floor = max(floor, median(self._levels) - settings.FARTHER)
        return utterance.level() < floor
