"""How long a product must cure. The data sheet rules; the model only lengthens.

Depth squared: diffusion-limited cure, from memory. Common practice for one-part silicone, marked so: 2 to
3 mm in 24 h at 23 °C and 50 % relative humidity; so 6 mm take four times 24 h.
"""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.job.rules.cure import LONGEST, cure_time
from companion.procedure.model import Consumable
from companion.procedure.units import parse_duration


def silicone(**changed) -> Consumable:
    sheet = {"name": "silicone", "product_class": "one-part silicone", "full_cure": "24 h",
             "reference_temperature": 23, "reference_humidity": 50, "reference_depth": 3}  # fmt: skip
    return Consumable.model_validate({**sheet, **changed})


def test_the_data_sheet_rules_at_its_own_conditions():
    assert cure_time(silicone(), 3, 23).wait == timedelta(hours=24)
    assert cure_time(silicone(), 3, 23).lengthened_by == ()


def test_twice_the_depth_takes_four_times_as_long():
    cure = cure_time(silicone(), 6, 23)
    assert cure.wait == timedelta(hours=96)
    assert cure.lengthened_by == ("deeper bead",)


def test_ten_degrees_colder_takes_twice_as_long():
    cure = cure_time(silicone(), 3, 13)
    assert cure.wait == timedelta(hours=48)
    assert cure.lengthened_by == ("cold workshop",)


@pytest.mark.parametrize(("depth", "ambient"), [(0.1, 23), (1, 60), (None, None), (3, float("inf"))])
def test_a_thin_bead_or_a_warm_shop_shortens_nothing(depth, ambient):
    assert cure_time(silicone(), depth, ambient).wait == timedelta(hours=24)


def test_half_the_moisture_in_the_air_takes_twice_as_long():
    """The rule of thumb (common practice, no source): time times reference humidity over humidity."""
    cure = cure_time(silicone(), 3, 23, 25)
    assert cure.wait == timedelta(hours=48)
    assert cure.lengthened_by == ("dry air",)
    assert cure_time(silicone(), 6, 13, 25).wait == timedelta(hours=24 * 4 * 2 * 2)
    assert cure_time(silicone(), 3, 23, 0).wait == LONGEST


@pytest.mark.parametrize("humidity", [50, 51, 100, None, float("nan")])
def test_moist_air_shortens_nothing(humidity):
    assert cure_time(silicone(), 3, 23, humidity).wait == timedelta(hours=24)


def test_what_the_data_sheet_does_not_state_is_not_modelled():
    unknown = silicone(reference_depth=None, reference_temperature=None, reference_humidity=None)
    assert cure_time(unknown, 30, -10, 5).wait == timedelta(hours=24)


@given(
    hours=st.floats(0.01, 20_000),
    depth=st.none() | st.floats(1e-6, 1e9),
    reference=st.none() | st.floats(1e-6, 1e9),
    ambient=st.none() | st.floats(allow_nan=True, allow_infinity=True),
    sheet=st.none() | st.floats(-40, 200),
    humidity=st.none() | st.floats(allow_nan=True, allow_infinity=True),
    moisture=st.none() | st.floats(0, 100),
)
def test_never_shorter_than_the_data_sheet_and_the_reason_is_always_told(
    hours, depth, reference, ambient, sheet, humidity, moisture
):
    product = silicone(
        full_cure=timedelta(hours=hours),
        reference_depth=reference,
        reference_temperature=sheet,
        reference_humidity=moisture,
    )
    cure = cure_time(product, depth, ambient, humidity)
    assert product.full_cure <= cure.wait <= max(LONGEST, product.full_cure)
    assert cure.wait == product.full_cure or cure.lengthened_by


@given(*[st.floats(3, 30)] * 2, *[st.floats(-20, 23)] * 2, *[st.floats(0, 100)] * 2)
def test_deeper_or_colder_or_drier_is_never_shorter(one, other, warm, cold, moist, dry):
    thin, deep = sorted((one, other))
    cold, warm = sorted((cold, warm))
    dry, moist = sorted((dry, moist))
    assert cure_time(silicone(), thin, warm, moist).wait <= cure_time(silicone(), deep, cold, dry).wait


@pytest.mark.parametrize("text", ["P1M", "P1Y", "P1Y2M", "P1MT5M"])
def test_calendar_months_and_years_are_no_fixed_wait(text):
    """ISO 8601: the length of a month or a year depends on where it starts."""
    with pytest.raises(ValueError, match="months and years have no fixed length"):
        parse_duration(text)
    assert parse_duration("PT1M") == timedelta(minutes=1)
