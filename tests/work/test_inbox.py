"""The one inbox: in order, but for what cannot wait."""

from threading import Thread

import pytest

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.work.inbox import Inbox, Typed
from tests.helpers.waiting import PATIENCE

STOPS = [msg.Heard(Command.STOP_WORK), msg.Unsure(Command.STOP_WORK, None, "stop work", 0.5)]


@pytest.mark.parametrize("stop", STOPS)
def test_stop_work_goes_before_all_that_a_stuck_key_has_typed(stop):
    inbox = Inbox()
    for _ in range(1000):
        inbox.post(Typed(""))
    inbox.post(stop)
    inbox.post(msg.Woken())
    assert inbox.take(0) == stop
    assert inbox.drain() == [Typed("")] * 1000 + [msg.Woken()]
    assert inbox.take(0) is None


def test_everything_else_comes_in_order():
    inbox = Inbox()
    sent = [Typed("a"), msg.Heard(Command.DONE), msg.Woken(), Typed("b"), msg.Leaving()]
    for one in sent:
        inbox.post(one)
    assert inbox.drain() == sent


def test_who_waits_is_woken_by_it():
    inbox = Inbox()
    poster = Thread(target=lambda: inbox.post(STOPS[0]))
    poster.start()
    assert inbox.take(PATIENCE) == STOPS[0]
    poster.join()
