"""What a terminal must not get, and what becomes of a thread of the companion that dies."""

import pytest

from companion.job import messages as msg
from companion.job.facts.sayings import Saying
from companion.speech.devices.player import ScreenOnlyPlayer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.work.inbox import Inbox
from companion.work.live import Live
from companion.work.views.plain_view import PlainLines
from companion.work.views.screen import FullScreen


def test_nothing_that_a_terminal_obeys_gets_through_a_say(bench, terminal, tmp_path):
    """The words of a procedure wipe no screen and put no false ones there."""
    evil = "Take it off.\x1b[2J\x1b[HALL SAFE\x07\x9b1mbattery dead\r\nStep 9\u202e done"
    bench.begin("front-brakes")
    screen = FullScreen(terminal.slave)
    screen.said(Saying(evil))
    screen.heard(msg.NotUnderstood(evil))
    screen.warn(evil)
    screen.typing(evil)
    screen.show(bench.session.state, bench.clock.now().wall)
    terminal.until("ALL SAFE")
    screen.close([evil])
    terminal.until_written("\x1b[?1049l")
    while terminal.takes(0.5):
        pass
    for forbidden in ("\x1b[2J", "\x1b[H", "\x07", "\x9b", "\u202e"):
        assert forbidden not in terminal.raw
    assert "Take it off. [2J [HALL SAFE 1mbattery dead Step 9 done" in terminal.raw


def test_a_fault_in_the_thread_that_draws_is_no_silence(bench, terminal, monkeypatch):
    """It ends the program where the job can be taken up again, says so, and gives the terminal back."""
    from companion.errors import CompanionError
    from companion.work.faults import Faults
    from companion.work.views import screen as screens

    bench.begin("front-brakes")
    inbox, mouth = Inbox(), Mouth(SilentVoice())

    def broken(*_: object) -> None:
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr(screens, "page", broken)
    told: list[object] = []
    monkeypatch.setattr("threading.excepthook", lambda fault: told.append(fault.exc_value))
    with Faults(inbox.post):
        view = FullScreen(terminal.slave)
        bench.shown_on(view, mouth)
        live = Live(bench.session, inbox, mouth, ScreenOnlyPlayer(mouth), bench.clock, view, quiet=True)
        with pytest.raises(CompanionError, match="'display' of the companion died"):
            live.run(msg.Opened(bench.clock.boot()))
        view.close(["go on: companion work --resume"])
        while "companion work --resume" not in terminal.raw:
            assert terminal.takes(20)
        assert not told, "nothing is printed over the screen"
    assert isinstance(told[0], ZeroDivisionError)
    assert "\x1b[?1049l" in terminal.raw
    logged = bench.logged()
    assert logged[-1]["event"] == "session_ended"
    assert "I have a fault and must stop" in [e for e in logged if e["event"] == "said"][-1]["text"]


def test_a_key_thread_that_dies_takes_the_program_to_its_end(bench):
    from companion.errors import CompanionError
    from companion.work.inbox import Died

    bench.begin("front-brakes")
    mouth, inbox, view = Mouth(SilentVoice()), Inbox(), PlainLines()
    live = Live(bench.session, inbox, mouth, ScreenOnlyPlayer(mouth), bench.clock, view, quiet=True)
    inbox.post(Died("keys", RuntimeError("deque mutated")))
    with pytest.raises(CompanionError, match="deque mutated"):
        live.run(msg.Opened(bench.clock.boot()))
    assert bench.logged()[-1]["event"] == "session_ended"
