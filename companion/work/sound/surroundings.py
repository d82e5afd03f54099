"""How loud the workshop is while nobody speaks, and when to show that the companion may not be heard over it.

Shown and never said: what cannot be heard is no warning.
"""

from collections.abc import Callable, Iterator
from datetime import timedelta

from companion.speech.saying.sayer import Sayer
from companion.speech.sound.level import Ambient, LevelMeter
from companion.speech.sound.loudness import niosh, osha, signal_level, whole_minutes
from companion.speech.sound.samples import FRAME_TIME, Samples

WINDOW = timedelta(seconds=10)
"""CHOSEN: how much sound makes one look."""
LOUDER = 10.0
"""CHOSEN: dB over the quietest look so far from which it is worth telling: twice as loud to the ear."""
ECHO = timedelta(milliseconds=500)
"""CHOSEN: how long the room goes on when the companion has fallen silent."""
PROTECT = 85.0
"""dB(A) from which the exposure is told: the recommended limit of NIOSH for eight hours (from memory)."""


class Surroundings:
    """Listens beside the ear. A new line is told when it has become louder, not as long as it stays so."""

    def __init__(self, mouth: Sayer, tell: Callable[[str], None], calibration: float | None = None) -> None:
        """`calibration` makes dB(A) of a level below full scale; None when nobody has measured it."""
        self._mouth = mouth
        self._tell = tell
        self._meter = LevelMeter(calibration, WINDOW)
        self._quiet_for = ECHO
        self._heard = timedelta()
        self._quietest: float | None = None
        self._told: float | None = None

    def feed(self, frame: Samples) -> None:
        """Take the next frame; those with the companion's own voice in them do not count."""
        self._quiet_for = self._quiet_for + FRAME_TIME if self._mouth.idle else timedelta()
        if self._quiet_for < ECHO:
            return
        self._meter.feed(frame)
        self._heard += FRAME_TIME
        if self._heard >= WINDOW:
            self._heard = timedelta()
            ambient = self._meter.ambient()
            if ambient is not None:
                self._look(ambient)

    def _look(self, ambient: Ambient) -> None:
        level = ambient.background
        self._quietest = level if self._quietest is None else min(self._quietest, level)
        if self._told is not None and level < self._told - LOUDER / 2:
            self._told = None
        loud = ambient.dba is not None and ambient.dba >= PROTECT
        risen = level - self._quietest >= LOUDER
        if (not loud and not risen) or (self._told is not None and level < self._told + LOUDER / 2):
            return
        self._told = level
        for line in self._lines(ambient, level - self._quietest):
            self._tell(line)

    @staticmethod
    def _lines(ambient: Ambient, risen: float) -> Iterator[str]:
        if ambient.dba is None:
            yield f"It has become {risen:.0f} dB louder here: say louder, or wear a headset, to hear me."
            yield "The microphone is not calibrated: how long ears may bear this I cannot tell."
            return
        signal = signal_level(ambient.dba)
        yield f"It is {ambient.dba:.0f} dB(A) here: tones must reach {signal.level:.0f} dB(A) to stand out."
        if signal.seen_too or not signal.enough:
            yield "Do not rely on hearing me here: keep the screen in sight."
        if ambient.dba >= PROTECT:
            yield f"{_bare_ears(ambient.dba)}."


def _bare_ears(dba: float) -> str:
    """How long a level may be borne a day by either rule."""
    text = f"Bare ears may have {whole_minutes(niosh(dba))} of this a day (NIOSH)"
    limit = osha(dba)
    return text if limit is None else f"{text}, never more than {whole_minutes(limit)} (OSHA)"
