"""How long a product must cure before fluid goes in.

The data sheet's time rules. The model may only lengthen it:

- Depth: a one-part silicone cures from its surface inward, and the cured depth grows with the
  square root of time, so twice the depth takes four times as long (diffusion-limited cure; from
  memory). Applied only when the bead is deeper than the data sheet's.
- Temperature: every 10 °C below the data sheet's temperature doubles the time (the rule of thumb
  for epoxies; from memory). Applied only when the workshop is colder.
- Humidity: what cures by the moisture of the air takes longer in drier air, by the ratio of the data sheet's
  relative humidity to the air's (a rule of thumb; common practice, no source). Applied only where the data
  sheet states a humidity, and only when the air is drier.
"""

from dataclasses import dataclass
from datetime import timedelta

from companion.procedure.model import Consumable

LONGEST = timedelta(days=365)
_DRIEST = 0.01
"""% relative humidity; below it the wait is beyond `LONGEST` anyway."""


@dataclass(frozen=True)
class CureTime:
    """A wait, and why it is longer than the data sheet's, if it is."""

    wait: timedelta
    lengthened_by: tuple[str, ...] = ()
    """Reasons such as "deeper bead" and "cold workshop"; empty when the data sheet's value stands."""


def cure_time(
    product: Consumable,
    depth_mm: float | None = None,
    ambient_c: float | None = None,
    humidity: float | None = None,
) -> CureTime:
    """The full-cure wait of a bead `depth_mm` deep at `ambient_c` and `humidity` (% relative).

    Never under the data sheet's.

    At most `LONGEST`, unless the data sheet's own time is longer: beyond that the model means nothing.
    """
    factor = 1.0
    reasons = []
    if depth_mm and product.reference_depth and depth_mm > product.reference_depth:
        factor *= (depth_mm / product.reference_depth) ** 2
        reasons.append("deeper bead")
    reference = product.reference_temperature
    if ambient_c is not None and reference is not None and ambient_c < reference:
        factor *= 2 ** min((reference - ambient_c) / 10, 30)
        reasons.append("cold workshop")
    sheet = product.reference_humidity
    if humidity is not None and sheet is not None and humidity < sheet:
        factor *= sheet / max(humidity, _DRIEST)
        reasons.append("dry air")
    if not reasons:
        return CureTime(product.full_cure)
    seconds = min(product.full_cure.total_seconds() * factor, LONGEST.total_seconds())
    return CureTime(max(product.full_cure, timedelta(seconds=seconds)), tuple(reasons))
