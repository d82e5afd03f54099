"""Work that is sent out."""

from datetime import timedelta
from decimal import Decimal

import pytest

from companion.errors import LabourError
from companion.labour.answers.away import send_out
from tests.labour.answers.forty_jobs import FITTED, TASKS


def test_what_a_weeks_wait_buys() -> None:
    found = send_out(
        FITTED, TASKS[:4], TASKS[4:6], lead=timedelta(days=7), price=Decimal(40), rate=Decimal(90)
    )
    assert found.bought == found.here.mean
    assert found.saved == found.here_cost - 40
    assert found.idle == timedelta(days=7) - FITTED.total(TASKS[4:6]).mean
    assert str(found).startswith("Waiting 7 days buys 0.")
    with pytest.raises(LabourError, match="negative"):
        send_out(FITTED, TASKS[:1], (), lead=timedelta(days=-1), price=Decimal(1), rate=Decimal(1))
    with pytest.raises(LabourError, match="no work"):
        send_out(FITTED, (), (), lead=timedelta(days=1), price=Decimal(1), rate=Decimal(1))
