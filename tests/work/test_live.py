"""The live loop with files in place of sound hardware, at the pace of real time."""

import json
import signal
import subprocess
import sys
import time
import wave
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from threading import Event, Thread
from types import SimpleNamespace

import numpy as np
import pytest

from companion.errors import ModelError
from companion.job import messages as msg
from companion.speech.devices import microphone as microphones
from companion.speech.devices.microphone import MicrophoneLostError, SoundDeviceMicrophone
from companion.speech.devices.player import ScreenOnlyPlayer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.samples import FRAME, FRAME_TIME, RATE, Samples, silence
from companion.work.inbox import Inbox, Typed
from companion.work.live import Live, Microphoning
from companion.work.views.lines import PlainLines

SHORT = Path(__file__).parents[1] / "rehearsal" / "short-job.yaml"


@dataclass
class Working:
    """`companion work` in a process of its own; what it shows is read as it comes."""

    process: "subprocess.Popen[str]"
    shown: list[str] = field(default_factory=list)

    def until(self, wanted: str, seconds: float = 60) -> None:
        """Read until a line holds `wanted`. The limit is for a busy machine, not for the companion."""
        reader = Thread(target=self._read, args=(wanted,), daemon=True)
        reader.start()
        reader.join(seconds)
        assert not reader.is_alive(), f"no {wanted!r} in {self.shown}"
        assert self.shown, "it ended at once"
        assert wanted in self.shown[-1], self.shown

    def _read(self, wanted: str) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self.shown.append(line)
            if wanted in line:
                return

    def terminate(self) -> int:
        self.process.send_signal(signal.SIGTERM)
        out, _ = self.process.communicate(timeout=60)
        self.shown += out.splitlines()
        return self.process.returncode


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("live")


@pytest.fixture(scope="module")
def worked(folder: Path, spoken: Callable[..., Path]) -> Working:
    """Begun, told "repeat" over the companion's voice, and "yes" when it is silent; ended by a signal.

    Each is said twice: a machine that is busy with other things can be late with the first.
    """
    said = {1.0: "repeat", 6.0: "repeat", 12.0: "yes it is", 18.0: "yes it is"}
    mic = spoken(folder / "mic.wav", said)
    command = [sys.executable, "-m", "companion", "work", str(SHORT), "--recogniser", "embedded"]
    process = subprocess.Popen(
        [*command, "--mic", str(mic), "--speaker", str(folder / "out.wav")],
        cwd=folder,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    working = Working(process)
    try:
        working.until("< repeat")
        working.until("< yes it is")
        working.until("> Step 1")
        working.terminate()
    finally:
        process.kill()
    return working


def events(folder: Path) -> list[dict]:
    (log,) = (folder / "logs").glob("*.jsonl")
    return [json.loads(line) for line in log.read_text().splitlines()]


class TestProcess:
    def test_what_is_said_into_the_microphone_is_heard_and_obeyed(self, worked, folder):
        heard = [e for e in events(folder) if e["event"] == "heard"]
        assert list(dict.fromkeys(e["command"] for e in heard))[:2] == ["repeat", "yes"]
        assert all(e["source"] == "voice" for e in heard)
        assert any(e["event"] == "part_checked" and e["on_bench"] for e in events(folder))

    def test_the_companion_speaks_into_the_speaker(self, worked, folder):
        with wave.open(str(folder / "out.wav")) as file:
            assert file.getframerate() == RATE
            sound = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float)
        loud = np.abs(sound) > 1000
        assert loud.any()
        # It begins to speak at once: the recording begins when the loudspeaker is opened.
        assert np.argmax(loud) / RATE < 5
        assert loud.mean() > 0.02

    def test_a_signal_ends_it_cleanly_with_the_end_in_the_log(self, worked, folder):
        assert worked.process.returncode == 0
        assert events(folder)[-1]["event"] == "session_ended"
        assert not any("Traceback" in line for line in worked.shown)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGHUP, signal.SIGTERM])
def test_any_way_of_asking_it_to_end_ends_it_cleanly(tmp_path, number):
    command = [sys.executable, "-m", "companion", "work", str(SHORT), "--keys", "--quiet"]
    process = subprocess.Popen(
        command,
        cwd=tmp_path,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        Working(process).until("Yes or no?")
        time.sleep(0.3)
        process.send_signal(number)
        _, errors = process.communicate(timeout=30)
    finally:
        process.kill()
    assert process.returncode == 0
    assert errors == ""
    assert events(tmp_path)[-1]["event"] == "session_ended"


def test_leaving_while_the_models_are_loading_is_clean_too(tmp_path, spoken):
    mic = spoken(tmp_path / "mic.wav", {1.0: "repeat"})
    command = [sys.executable, "-m", "companion", "work", str(SHORT), "--recogniser", "embedded"]
    process = subprocess.Popen(
        [*command, "--mic", str(mic), "--speaker", "out.wav"],
        cwd=tmp_path,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        Working(process).until("Yes or no?")
        process.send_signal(signal.SIGTERM)
        _, errors = process.communicate(timeout=40)
    finally:
        process.kill()
    assert process.returncode == 0
    assert errors == ""
    assert events(tmp_path)[-1]["event"] == "session_ended"


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


def next_of(inbox: Inbox, kind: type, seconds: float = 5) -> tuple[msg.Message | Typed, float]:
    """The next message of a kind, and how long it took to come."""
    begun = time.monotonic()
    while time.monotonic() - begun < seconds:
        message = inbox.take(0.05)
        if isinstance(message, kind):
            return message, time.monotonic() - begun
    raise AssertionError(f"no {kind.__name__} within {seconds} s")


class TestMicrophoning:
    def test_a_lost_microphone_is_told_at_once_and_found_again_when_it_is_back(self):
        tries = [Flaky(3), None, None, Flaky(None)]
        inbox, listener = Inbox(), Deaf()
        microphoning = Microphoning(lambda: self._opened(tries.pop(0)), lambda: listener, inbox)
        microphoning.start()
        lost, took = next_of(inbox, msg.MicrophoneLost)
        assert "headset stopped delivering" in lost.reason
        assert took < 2
        before = listener.taken
        next_of(inbox, msg.MicrophoneBack, 10)
        assert not tries
        time.sleep(0.3)
        assert listener.taken > before, "it listens again"
        microphoning.close()

    @staticmethod
    def _opened(microphone: Flaky | None) -> Flaky:
        if microphone is None:
            raise MicrophoneLostError("there is no microphone 'headset'")
        return microphone

    def test_a_device_that_falls_silent_is_lost_within_two_seconds(self, monkeypatch):
        """The real microphone on a sound system that delivers ten blocks and then no more."""
        monkeypatch.setattr(microphones, "import_sounddevice", lambda: pulled_out_after(10))
        inbox, listener = Inbox(), Deaf()
        microphoning = Microphoning(SoundDeviceMicrophone, lambda: listener, inbox)
        begun = time.monotonic()
        microphoning.start()
        lost, _ = next_of(inbox, msg.MicrophoneLost)
        assert time.monotonic() - begun < 2.0 + 10 * FRAME_TIME.total_seconds()
        assert listener.taken == 10
        assert "headset" in lost.reason
        microphoning.close()

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
        lost, _ = next_of(inbox, msg.HearingFailed)
        assert says in lost.reason
        assert microphoning.failure is error
        time.sleep(0.2)  # The traceback of a bug goes to stderr when the thread ends.


def pulled_out_after(blocks: int) -> SimpleNamespace:
    """The sound system, as far as `SoundDeviceMicrophone` uses it."""

    class InputStream:
        def __init__(self, callback: Callable[..., None], **_: object) -> None:
            self._callback = callback

        def __enter__(self) -> None:
            Thread(target=self._deliver, daemon=True).start()

        def _deliver(self) -> None:
            for _ in range(blocks):
                time.sleep(FRAME_TIME.total_seconds())
                self._callback(np.zeros((FRAME, 1), np.float32), FRAME, None, None)

        def __exit__(self, *_: object) -> None:
            """Nothing to close."""

    return SimpleNamespace(
        PortAudioError=OSError,
        InputStream=InputStream,
        query_devices=lambda *_: {"name": "headset", "index": 0, "default_samplerate": RATE},
        check_input_settings=lambda **_: None,
    )


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
    deadline = time.monotonic() + 10
    while sum(e["event"] == "microphone_changed" for e in logged(bench)) < 2:
        assert time.monotonic() < deadline, logged(bench)
        time.sleep(0.1)
    inbox.post(Typed("help"))
    inbox.post(msg.Leaving())
    loop.join(10)
    assert not loop.is_alive()
    microphoning.close()
    changes = [e for e in logged(bench) if e["event"] == "microphone_changed"]
    assert [e["present"] for e in changes] == [False, True]
    after = [e["text"] for e in logged(bench) if e["event"] == "said" and e["seq"] > changes[0]["seq"]]
    assert "icrophone" in after[0]
    assert any(e["event"] == "heard" and e["command"] == "help" for e in logged(bench))
    assert logged(bench)[-1]["event"] == "session_ended"


def logged(bench) -> list[dict]:
    return [json.loads(line) for line in bench.log.read_text().splitlines() if line.endswith("}")]


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
    for line in ("waiting for the oil filter\n", typed, "yes\n"):
        inbox.post(Typed(line))
    inbox.post(msg.Leaving())
    live.run(msg.Opened(bench.clock.boot()))
    (awaited,) = [d for d in bench.session.state.deadlines.values() if d.kind == "part expected"]
    assert awaited.due == bench.clock.now().wall + timedelta(days=days)
    assert "oil filter" in awaited.what
