"""The live loop: a microphone that goes and comes back, an ear that fails, lines that are typed."""

import os
import sys
from collections.abc import Iterator
from datetime import timedelta
from threading import Event, Thread

import pytest

from companion.errors import ModelError
from companion.job import messages as msg
from companion.speech.devices.microphone import MicrophoneLostError
from companion.speech.devices.player import ScreenOnlyPlayer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.samples import FRAME_TIME, Samples, silence
from companion.work import live
from companion.work.inbox import Inbox, Typed
from companion.work.keys import Keys
from companion.work.live import Live, Microphoning
from companion.work.views.plain_view import PlainLines
from tests.helpers.waiting import PATIENCE, until


class Flaky:
    """A microphone that is pulled out after some frames."""

    name = "headset"
    overflows = 0

    def __init__(self, frames: int | None) -> None:
        """Lost after so many frames; None stays."""
        self._frames = frames
        self.closed = Event()

    def frames(self) -> Iterator[Samples]:
        sent = 0
        while not self.closed.wait(FRAME_TIME.total_seconds()):
            if sent == self._frames:
                raise MicrophoneLostError("the microphone headset stopped delivering; plug it in again")
            sent += 1
            yield silence(FRAME_TIME)

    def close(self) -> None:
        self.closed.set()


class Deaf:
    """A listener that counts frames."""

    def __init__(self, fails: Exception | None = None) -> None:
        self.taken = 0
        self._fails = fails

    def expect(self, expecting: object) -> None:
        """Nothing."""

    def listen(self, frame: Samples) -> list[msg.Message]:
        self.taken += 1
        if self._fails:
            raise self._fails
        return []


def next_of(inbox: Inbox, kind: type) -> msg.Message | Typed:
    """The next message of a kind."""

    def taken() -> msg.Message | Typed | None:
        return message if isinstance(message := inbox.take(0.05), kind) else None

    return until(taken, lambda: f"no {kind.__name__} came")


class TestMicrophoning:
    def test_a_lost_microphone_is_told_at_once_and_found_again_when_it_is_back(self):
        tries = [Flaky(3), None, None, Flaky(None)]
        inbox, listener, told = Inbox(), Deaf(), list[str]()
        microphoning = Microphoning(
            lambda: self._opened(tries.pop(0)), lambda: listener, inbox, tell=told.append
        )
        microphoning.start()
        lost = next_of(inbox, msg.MicrophoneLost)
        assert "headset stopped delivering" in lost.reason
        assert told == ["Listening."]
        next_of(inbox, msg.MicrophoneBack)
        assert not tries
        before = listener.taken
        until(lambda: listener.taken > before, lambda: "it does not listen again")
        assert told == ["Listening."] * 2
        microphoning.close()

    @staticmethod
    def _opened(microphone: Flaky | None) -> Flaky:
        if microphone is None:
            raise MicrophoneLostError("there is no microphone 'headset'")
        return microphone

    @pytest.mark.parametrize(
        ("error", "says"),
        [
            (ModelError("the Vosk model does not know: torque"), "does not know: torque"),
            (ZeroDivisionError("a bug"), "listening failed (a bug)"),
        ],
    )
    @pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
    def test_an_ear_that_fails_is_told_and_never_leaves_a_deaf_machine(self, error, says):
        inbox = Inbox()
        microphoning = Microphoning(lambda: Flaky(None), lambda: Deaf(error), inbox)
        microphoning.start()
        lost = next_of(inbox, msg.HearingFailed)
        assert says in lost.reason
        assert microphoning.failure is error
        microphoning.close()

    def test_an_ear_that_hangs_is_told_once_and_told_again_when_it_answers(self, monkeypatch):
        """Nobody talks to a machine that hears nothing; what it heard in the end still counts."""
        monkeypatch.setattr(live, "HUNG", 0.1)
        inbox, answers = Inbox(), Event()

        class Hung(Deaf):
            def listen(self, frame: Samples) -> list[msg.Message]:
                answers.wait(PATIENCE)
                return super().listen(frame)

        listener = Hung()
        microphoning = Microphoning(lambda: Flaky(None), lambda: listener, inbox)
        microphoning.start()

        def lost_by_now() -> msg.MicrophoneLost | None:
            microphoning.watch()
            return message if isinstance(message := inbox.take(0.05), msg.MicrophoneLost) else None

        lost = until(lost_by_now)
        assert "what listens has not answered" in lost.reason
        microphoning.watch()
        assert inbox.take(0.05) is None, "it is told once"
        answers.set()
        next_of(inbox, msg.MicrophoneBack)
        microphoning.close()

    @pytest.mark.parametrize("hangs", ["listener", "microphone"])
    def test_one_that_hangs_while_it_is_loaded_is_told_and_not_waited_for_without_end(
        self, monkeypatch, hangs
    ):
        monkeypatch.setattr(live, "LOADS_WITHIN", 0.1)
        monkeypatch.setattr(live, "LOADED_BY", 0.1)
        inbox, loaded = Inbox(), Event()

        def slowly(kind: str, made: object) -> object:
            if kind == hangs:
                loaded.wait(PATIENCE)
            return made

        microphoning = Microphoning(
            lambda: slowly("microphone", Flaky(None)), lambda: slowly("listener", Deaf()), inbox
        )
        microphoning.start()

        def lost_by_now() -> msg.MicrophoneLost | None:
            microphoning.watch()
            return message if isinstance(message := inbox.take(0.05), msg.MicrophoneLost) else None

        assert "what listens has not answered" in until(lost_by_now).reason
        microphoning.watch()
        assert inbox.take(0.05) is None, "it is told once"
        microphoning.close()
        assert not microphoning.ready.is_set(), "leaving does not wait for it"
        loaded.set()
        next_of(inbox, msg.MicrophoneBack)


def test_the_loss_is_announced_and_logged_and_the_job_goes_on_by_keys(bench):
    bench.begin("front-brakes")
    inbox = Inbox()
    tries = [Flaky(3), Flaky(None)]
    mouth = Mouth(SilentVoice())
    microphoning = Microphoning(lambda: tries.pop(0), Deaf, inbox)
    live = Live(
        bench.session,
        inbox,
        mouth,
        ScreenOnlyPlayer(mouth),
        bench.clock,
        PlainLines(),
        microphoning,
        quiet=True,
    )
    microphoning.start()
    loop = Thread(target=live.run, args=(msg.Opened(bench.clock.boot()),), daemon=True)
    loop.start()

    def changes() -> list[dict]:
        return [e for e in bench.logged() if e["event"] == "microphone_changed"]

    until(lambda: len(changes()) == 2, bench.logged)
    inbox.post(Typed("help"))
    inbox.post(msg.Leaving())
    loop.join(PATIENCE)
    assert not loop.is_alive()
    microphoning.close()
    assert [e["present"] for e in changes()] == [False, True]
    lost, *_ = changes()
    after = [e["text"] for e in bench.logged() if e["event"] == "said" and e["seq"] > lost["seq"]]
    assert "icrophone" in after[0]
    assert any(e["event"] == "heard" and e["command"] == "help" for e in bench.logged())
    assert bench.logged()[-1]["event"] == "session_ended"


def test_typed_lines_are_understood_when_their_turn_comes(bench):
    """Three lines at once: the third can only be said once the second has been answered."""
    bench.begin("sump-reseal")
    inbox = Inbox()
    mouth = Mouth(SilentVoice())
    live = Live(
        bench.session, inbox, mouth, ScreenOnlyPlayer(mouth), bench.clock, PlainLines(), None, quiet=True
    )
    for line in ("yes", "yes", "yes", "yes", "battery disconnected"):
        inbox.post(Typed(line))
    inbox.post(msg.Leaving())
    live.run(msg.Opened(bench.clock.boot()))
    assert bench.session.state.is_done(bench.session.state.procedure.steps[0].id)


@pytest.mark.parametrize(("typed", "days"), [("three days", 3), ("3 days\n", 3), ("in 45 days", 45)])
def test_any_number_of_days_can_be_typed_for_a_part(bench, typed, days):
    bench.begin("sump-reseal")
    mouth = Mouth(SilentVoice())
    inbox = Inbox()
    live = Live(
        bench.session, inbox, mouth, ScreenOnlyPlayer(mouth), bench.clock, PlainLines(), None, quiet=True
    )
    for line in ("waiting for the oil filter\n", "yes\n", typed, "yes\n"):
        inbox.post(Typed(line))
    inbox.post(msg.Leaving())
    live.run(msg.Opened(bench.clock.boot()))
    (awaited,) = [d for d in bench.session.state.deadlines.values() if d.kind == "part expected"]
    assert awaited.due == bench.clock.now().wall + timedelta(days=days)
    assert "oil filter" in awaited.what


def test_lines_come_whole_however_they_are_written(monkeypatch: pytest.MonkeyPatch) -> None:
    read, write = os.pipe()
    monkeypatch.setattr(sys, "stdin", os.fdopen(read, encoding="utf-8"))
    inbox = Inbox()
    Keys(inbox.post, lambda _: None).start()
    for part in (b"re", b"peat\n\nnote the ", b"clip\nlast"):
        os.write(write, part)
    os.close(write)
    typed = [until(lambda: inbox.take(0.05)) for _ in range(5)]
    assert [t.text for t in typed if isinstance(t, Typed)] == ["repeat", "", "note the clip", "last"]
    assert isinstance(typed[-1], msg.Leaving)
