"""How loud a signal must be, and how long a noise may be borne. Pure.

- ISO 7731 for auditory danger signals: at least 15 dB over the ambient level, at least 65 dB, at most
  118 dB, and something to see as well where the ambient level is over 100 dB (all A-weighted; the 65 dB are
  from memory). The standard leaves speech out, so it is applied to the tones.
- OSHA 29 CFR 1910.95: table G-16, and the formula T = 8 h / 2^((L - 90) / 5) of its appendix A. The two
  differ: at 92 dBA the table allows 6 h and the formula 6.06 h. The shorter one is taken here.
- NIOSH recommended exposure limit: 8 h at 85 dBA, halved with every 3 dB (from memory).

Levels are dB(A). A level means nothing when the microphone is not calibrated: say so beside it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from math import log10

OVER_AMBIENT = 15.0
QUIETEST_SIGNAL = 65.0
LOUDEST_SIGNAL = 118.0
SEE_IT_TOO = 100.0

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


def longest_exposure(level: float) -> timedelta:
    """The shortest of the three."""
    by_table = osha_by_table(level)
    limits = [osha_by_formula(level), niosh(level)]
    return min(limits if by_table is None else [*limits, by_table])


def dose(exposures: Iterable[tuple[float, timedelta]]) -> float:
    """The noise dose of a day in percent of what OSHA permits, from levels and how long each lasted.

    Levels under 80 dBA do not count (1910.95(d)(2)(i), for the hearing conservation programme).
    """
    return 100 * sum(lasted / _unlimited(level) for level, lasted in exposures if level >= 80)


def _unlimited(level: float) -> timedelta:
    return timedelta(hours=8) / 2 ** ((level - 90) / 5)


def time_weighted_average(percent: float) -> float:
    """The level that gives the same dose in 8 h (ValueError when there was no noise to speak of)."""
    if percent <= 0:
        raise ValueError("a dose of nothing has no level")
    return 16.61 * log10(percent / 100) + 90
