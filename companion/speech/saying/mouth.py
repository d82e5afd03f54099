"""What is being said: sayings wait their turn, and their sound is pulled out piece by piece.

Whoever plays pulls: an audio callback in the workshop, the rehearsal in virtual time. Pulling never
waits for a render unless the mouth was made without a background thread, where rendering happens on
the spot and everything is repeatable.

Danger breaks in at once, urgent waits for the end of the sentence, routine for its turn. A new command drops
what was still to be said; safety sayings cut short are said again while the step is the same.
"""

from collections.abc import Callable, Generator, Iterator
from datetime import timedelta
from threading import RLock

import numpy as np

from companion.errors import VoiceError
from companion.job.facts.sayings import Priority, Tone
from companion.procedure.wording import sentences
from companion.speech.saying.happenings import Cut, Failed, Finished, Happening, Saying, Started
from companion.speech.saying.rendering import Rendering
from companion.speech.saying.tones import tone as tone_samples
from companion.speech.saying.voice import Voice
from companion.speech.sound.samples import RATE, Samples, silence
from companion.speech.sound.shaping import decibels, soft_limit

VOLUME_STEP = 3
QUIETEST, LOUDEST = -12, 12
"""dB from the starting level."""
PACE_STEP = 10
SLOWEST, FASTEST = 110, 200
"""Words a minute."""
TRIES = 3
"""Renders of a sentence that concerns safety before it is reported as failed; others get one."""

_AFTER_TONE = silence(timedelta(seconds=0.10))
_AFTER_SENTENCE = silence(timedelta(seconds=0.25))
_FADE = RATE // 200
"""Samples over which a sentence that is cut off dies away: 5 ms, no click."""


class Mouth:
    """The queue of sayings and the sound of the one in the air. Safe to use from two threads."""

    def __init__(
        self,
        voice: Voice,
        *,
        background: bool = False,
        words_per_minute: int = 150,
        tap: Callable[[Samples], None] | None = None,
    ) -> None:
        """With `background`, sentences are rendered in a thread; otherwise when they are pulled.

        `tap` is given all that is pulled, so that its echo can be known when it is heard.
        """
        self._rendering = Rendering(voice, background)
        self._pace = max(SLOWEST, min(FASTEST, words_per_minute))
        self._volume = 0
        self._queue: list[Saying] = []
        self._current: Saying | None = None
        self._ended: Saying | None = None  # a sentence of it ended; the pause after it is in the air
        self._sound: Iterator[Samples | None] = iter(())
        self._rest: Samples = np.zeros(0, dtype=np.float32)
        self._beside: Samples = np.zeros(0, dtype=np.float32)
        self._events: list[Happening] = []
        self._mute: str | None = None
        self._tap = tap
        self._lock = RLock()

    # --- saying ---

    def say(
        self,
        saying_id: str,
        text: str,
        priority: Priority = Priority.ROUTINE,
        tone: Tone | None = None,
    ) -> None:
        """Queue a saying, in words made for the ear; with no text, its tone alone.

        DANGER interrupts a lesser sentence at once, which is spoken again from its start afterwards.
        URGENT waits for the end of the sentence, ROUTINE for its turn. Without a tone of their own,
        urgent and dangerous sayings get the tone of their priority.
        """
        if tone is None and priority > Priority.ROUTINE:
            tone = Tone.DANGER if priority is Priority.DANGER else Tone.URGENT
        with self._lock:
            if self._mute is not None:
                self._events.append(Failed(saying_id, self._mute))
                return
            saying = Saying(saying_id, sentences(text) or [""], priority, tone)
            if priority > Priority.ROUTINE:
                self._rendering.clear()
            at_once = priority is Priority.DANGER and not self._in_danger
            if at_once and (interrupted := self._break_off()):
                self._put_back(interrupted)
            place = sum(other.priority >= priority for other in self._queue)
            self._queue.insert(place, saying)
            if place == 0:
                self._rendering.ahead(saying.sentences[0], self._pace)

    def sound(self, which: Tone) -> None:
        """A tone at once, over whatever is being said: the tick that a command was heard."""
        with self._lock:
            if self._mute is None:
                self._beside = tone_samples(which)

    def stop(self) -> None:
        """Be quiet: cut the saying in the air unless it is a danger, and drop the queued routine ones."""
        with self._lock:
            if not self._in_danger and (stopped := self._break_off()):
                self._events.append(Cut(stopped.saying_id))
            self._events += [Cut(s.saying_id) for s in self._queue if s.priority is Priority.ROUTINE]
            self._queue = [s for s in self._queue if s.priority is not Priority.ROUTINE]

    def mute(self, reason: str) -> None:
        """Nothing can be heard: report all that waits, and every later saying, as failed."""
        with self._lock:
            self._mute = reason
            self._events += [Failed(saying.saying_id, reason) for saying in self._drop_all()]

    def unmute(self) -> None:
        """Sound works again."""
        with self._lock:
            self._mute = None

    def again(self) -> None:
        """The last of the sound was lost on its way: begin the sentence anew that it was of."""
        with self._lock:
            lost = self._break_off()
            if lost is None and len(self._rest) and self._ended:
                lost = self._ended
                lost.at -= 1
            self._rest = self._rest[:0]
            if lost and all(saying is not lost for saying in self._queue):
                self._put_back(lost)

    def pull(self, n: int) -> Samples:
        """The next `n` samples at RATE; silence where there is nothing to say."""
        with self._lock:
            pieces: list[Samples] = []
            missing = n
            while missing and (len(self._rest) or self._advance()):
                piece, self._rest = self._rest[:missing], self._rest[missing:]
                pieces.append(piece * np.float32(self._gain()))
                missing -= len(piece)
            pulled = np.concatenate([*pieces, np.zeros(missing, dtype=np.float32)])
            if len(self._beside):
                beside, self._beside = self._beside[:n], self._beside[n:]
                pulled[: len(beside)] += beside * np.float32(decibels(self._volume))
            sound = soft_limit(pulled)
        if self._tap:
            self._tap(sound)
        return sound

    @property
    def speaking(self) -> str | None:
        """The sentence in the air now, or about to follow its tone; None in the pauses."""
        with self._lock:
            return self._current.sentences[self._current.at] if self._current else None

    @property
    def idle(self) -> bool:
        """Nothing is in the air and nothing waits."""
        with self._lock:
            return not (self._current or self._queue or len(self._rest) or len(self._beside))

    def events(self) -> list[Happening]:
        """What happened since the last call, in order."""
        with self._lock:
            happened, self._events = self._events, []
            return happened

    # --- how it is said ---

    def louder(self) -> int:
        """One step of 3 dB up, to a limit. Returns the volume in dB from the starting level."""
        return self._set_volume(VOLUME_STEP)

    def quieter(self) -> int:
        """One step of 3 dB down, to a limit; urgent and dangerous sayings never go below the start."""
        return self._set_volume(-VOLUME_STEP)

    def faster(self) -> int:
        """Ten words a minute more from the next sentence on, to a limit. Returns the pace."""
        return self._set_pace(PACE_STEP)

    def slower(self) -> int:
        """Ten words a minute fewer from the next sentence on, to a limit. Returns the pace."""
        return self._set_pace(-PACE_STEP)

    def close(self) -> None:
        """Stop rendering and close the voice; what was still to be said is reported as cut."""
        with self._lock:
            self._events += [Cut(saying.saying_id) for saying in self._drop_all()]
            self._mute = "the companion is closing"
        self._rendering.close()

    # --- inside; the lock is held ---

    @property
    def _in_danger(self) -> bool:
        return self._current is not None and self._current.priority is Priority.DANGER

    def _set_volume(self, change: int) -> int:
        with self._lock:
            self._volume = max(QUIETEST, min(LOUDEST, self._volume + change))
            return self._volume

    def _set_pace(self, change: int) -> int:
        with self._lock:
            self._pace = max(SLOWEST, min(FASTEST, self._pace + change))
            return self._pace

    def _gain(self) -> float:
        urgent = self._current is not None and self._current.priority > Priority.ROUTINE
        return decibels(max(0, self._volume) if urgent else self._volume)

    def _advance(self) -> bool:
        """Put the next stretch of sound into `_rest`; False when there is none yet."""
        self._ended = None
        if self._current is None:
            if not self._queue:
                return False
            self._current = self._queue.pop(0)
            self._sound = self._sentence(self._current)
        saying = self._current
        try:
            piece = next(self._sound)
        except StopIteration:
            self._current, piece = None, _AFTER_SENTENCE
            saying.at += 1
            self._ended = saying
            if saying.at < len(saying.sentences):
                self._put_back(saying)
            else:
                self._events.append(Finished(saying.saying_id))
        except VoiceError as error:
            self._current, piece = None, tone_samples(Tone.ERROR)
            self._events.append(Failed(saying.saying_id, str(error)))
        if piece is None:
            return False  # still being rendered
        self._rest = piece
        return True

    def _sentence(self, saying: Saying) -> Iterator[Samples | None]:
        """The sound of the sentence that is next, with its tone; None while it is being rendered."""
        text, pace = saying.sentences[saying.at], self._pace
        self._rendering.ahead(text, self._pace)
        if saying.tone and saying.at == 0:
            self._start(saying)
            yield tone_samples(saying.tone)
            if text:
                yield _AFTER_TONE
        if text:
            samples = yield from self._words(text, pace, TRIES if saying.priority > Priority.ROUTINE else 1)
            self._start(saying)
            if saying.at + 1 < len(saying.sentences):
                self._rendering.ahead(saying.sentences[saying.at + 1], self._pace)
            yield samples

    def _words(self, text: str, pace: int, tries: int) -> Generator[None, None, Samples]:
        """Yields while the render goes on, returns its samples; VoiceError after so many failures."""
        while True:
            rendered = self._rendering.ask(text, pace)
            while not rendered.done():
                yield None
            self._rendering.used(text, pace)
            if rendered.cancelled():
                continue  # something urgent went first
            try:
                return rendered.result().samples
            except VoiceError:
                tries -= 1
                if not tries:
                    raise

    def _start(self, saying: Saying) -> None:
        if not saying.started:
            saying.started = True
            self._events.append(Started(saying.saying_id))

    def _put_back(self, saying: Saying) -> None:
        """Into the queue, before others of its priority: it came first."""
        place = sum(other.priority > saying.priority for other in self._queue)
        self._queue.insert(place, saying)

    def _break_off(self) -> Saying | None:
        """End the sound in the air with a short fade; the saying it belonged to, if any."""
        stopped, self._current = self._current, None
        fading = self._rest[:_FADE]
        self._rest = fading * np.linspace(1, 0, len(fading), dtype=np.float32)
        return stopped

    def _drop_all(self) -> list[Saying]:
        dropped = ([self._current] if self._current else []) + self._queue
        self._current, self._queue, self._rest = None, [], self._rest[:0]
        return dropped
