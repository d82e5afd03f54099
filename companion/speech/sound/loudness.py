"""How loud a signal must be, and how long a noise may be borne. Pure.

- ISO 7731 for auditory danger signals: at least 15 dB over the ambient level, at least 65 dB, at most
  118 dB, and something to see as well where the ambient level is over 100 dB (all A-weighted; the 65 dB are
  from memory). The standard leaves speech out, so it is applied to the tones.
- OSHA 29 CFR 1910.95: table G-16, and the formula T = 8 h / 2^((L - 90) / 5) of its appendix A. The two
  differ: at 92 dBA the table allows 6 h and the formula 6.06 h. The shorter one is taken here. Levels under
  80 dBA do not count towards a dose (1910.95(d)(2)(i), for the hearing conservation programme).
- NIOSH recommended exposure limit: 8 h at 85 dBA, halved with every 3 dB (from memory).

Levels are dB(A). A level means nothing when the microphone is not calibrated: say so beside it.
"""

from dataclasses import dataclass
from datetime import timedelta

from companion.procedure.units import short

OVER_AMBIENT = 15.0
QUIETEST_SIGNAL = 65.0
LOUDEST_SIGNAL = 118.0
SEE_IT_TOO = 100.0
COUNTS_FROM = 80.0
"""dBA; what is quieter adds nothing to a dose."""

G_16 = {
    90: timedelta(hours=8),
    92: timedelta(hours=6),
    95: timedelta(hours=4),
    97: timedelta(hours=3),
    100: timedelta(hours=2),
    102: timedelta(hours=1, minutes=30),
    105: timedelta(hours=1),
    110: timedelta(minutes=30),
    115: timedelta(minutes=15),
}
"""Table G-16: permissible duration per day at a level; no longer exposure above 115 dBA."""

_LONGEST = timedelta(days=1)


@dataclass(frozen=True)
class SignalLevel:
    """How loud a tone should be."""

    level: float
    enough: bool
    """False when even the loudest signal allowed does not stand out: it cannot be relied on."""
    seen_too: bool
    """A sign to see is needed beside it."""


def signal_level(ambient: float) -> SignalLevel:
    """The level of a tone that stands out over an ambient level."""
    wanted = max(ambient + OVER_AMBIENT, QUIETEST_SIGNAL)
    return SignalLevel(min(wanted, LOUDEST_SIGNAL), wanted <= LOUDEST_SIGNAL, ambient > SEE_IT_TOO)


def osha_by_formula(level: float) -> timedelta:
    """The reference duration of 1910.95 appendix A (a day at most)."""
    return min(timedelta(hours=8) / 2 ** ((level - 90) / 5), _LONGEST)


def osha_by_table(level: float) -> timedelta | None:
    """The duration of the next level in table G-16 that is not lower; None under 90 dBA, 0 over 115."""
    if level < min(G_16):
        return None
    return next((time for listed, time in G_16.items() if level <= listed), timedelta())


def niosh(level: float) -> timedelta:
    """The recommended limit of NIOSH (a day at most)."""
    return min(timedelta(hours=8) / 2 ** ((level - 85) / 3), _LONGEST)


def osha(level: float) -> timedelta | None:
    """The shorter of OSHA's two figures; None where the table sets no limit."""
    by_table = osha_by_table(level)
    return None if by_table is None else min(by_table, osha_by_formula(level))


def osha_dose(level: float) -> float:
    """The dose of a shift of eight hours at one level, in percent of what OSHA permits."""
    return 100 * 2 ** ((level - 90) / 5) if level >= COUNTS_FROM else 0.0


def niosh_dose(level: float) -> float:
    """The same in percent of what NIOSH recommends."""
    return 100 * 2 ** ((level - 85) / 3) if level >= COUNTS_FROM else 0.0


def whole_minutes(limit: timedelta) -> str:
    """A limit for the screen, rounded down: it is never stretched."""
    return short(limit - limit % timedelta(minutes=1))
