"""A real sound server (PulseAudio) of the test's own, without hardware and out of everybody's way.

Its loudspeakers `mouth` and `other` are listened to; what is played into `ear` is heard by its microphone
`mic`. The null sinks take sound 50 ms at a time, as a sound card does; by themselves they take two seconds.
"""

import os
import shutil
import subprocess
from pathlib import Path
from threading import Thread
from time import monotonic

import numpy as np

from companion.speech.sound.samples import RATE, Samples
from tests.helpers.waiting import PATIENCE, until

NEEDED = ("pulseaudio", "pactl", "pacat", "parec")
MISSING = "apt install pulseaudio pulseaudio-utils libportaudio2 libasound2-plugins"
_MODULES = (
    "module-native-protocol-unix",
    "module-null-sink sink_name=mouth norewinds=1",
    "module-null-sink sink_name=other norewinds=1",
    "module-null-sink sink_name=ear norewinds=1",
    "module-remap-source master=ear.monitor source_name=mic",
)
LOUDSPEAKERS = ("mouth", "other")
LOUD = 300
"""Of 32,767: what is no silence."""
SILENT = 1.5
"""Seconds of silence after which nothing more is said."""
JUST_NOW = 0.3
LEAK = 1e-4
"""Seconds a block of 10 ms by which two clocks may differ."""
_STREAM = ("--raw", f"--rate={RATE}", "--channels=1", "--format=s16le")


def why_not() -> str | None:
    """Why there can be no sound server here; None where there can."""
    if not all(map(shutil.which, NEEDED)):
        return f"no sound server is installed: {MISSING}"
    try:
        import sounddevice  # noqa: F401
    except OSError:
        return f"PortAudio is not installed: {MISSING}"
    return None


class SoundServer:
    """Started, and killed, as often as a test likes."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
        (folder / "client.conf").write_text("autospawn = no\n")
        self.env = {
            **os.environ,
            "HOME": str(folder),
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_RUNTIME_PATH": str(folder),
            "PULSE_STATE_PATH": str(folder),
            "PULSE_COOKIE": str(folder / "cookie"),
            "PULSE_CLIENTCONFIG": str(folder / "client.conf"),
        }
        self._folder = folder
        self._server: subprocess.Popen[bytes] | None = None
        self._recorders: list[subprocess.Popen[bytes]] = []
        self.loud_at: dict[str, list[float]] = {sink: [] for sink in (*LOUDSPEAKERS, "ear")}
        """When there was sound on each loudspeaker, and into the microphone: every 10 ms of it."""
        self._listened_until = 0.0
        self.headset = ""
        """What unplugs it."""

    def start(self, *modules: str) -> None:
        """Start it, with more modules if there are any, and record what its loudspeakers play."""
        loaded = [part for module in (*_MODULES, *modules) for part in ("-L", module)]
        self._server = subprocess.Popen(
            ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", *loaded],
            env=self.env,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until(lambda: self._pactl("info").returncode == 0, lambda: "the sound server does not answer")
        self.use("mouth")
        self._pactl("set-default-source", "mic")
        for sink in self.loud_at:
            self._record(sink)

    def use(self, sink: str) -> None:
        """Make this the default loudspeaker."""
        self._pactl("set-default-sink", sink)

    def load(self, module: str) -> str:
        """Load a module; what unloads it."""
        return self._pactl("load-module", *module.split()).stdout.strip()

    def unload(self, module: str) -> None:
        self._pactl("unload-module", module)

    def plug_in_headset(self) -> None:
        """One more loudspeaker, `headset`."""
        self.headset = self.load("module-null-sink sink_name=headset norewinds=1")

    def loudness_of_loopback(self, decibels: float) -> None:
        """How loud the microphone hears the loudspeaker, once `module-loopback` leads one to the other."""
        inputs = [line.split() for line in self._pactl("list", "short", "sink-inputs").stdout.splitlines()]
        (number,) = (n for n, _, _, driver, *_ in inputs if driver == "module-loopback.c")
        self._pactl("set-sink-input-volume", number, f"{decibels}dB")

    def kill(self) -> None:
        """End it as a crash does."""
        assert self._server
        self._server.kill()
        self._server.wait(PATIENCE)
        for recorder in self._recorders:
            recorder.kill()
            recorder.wait(PATIENCE)
        self._recorders.clear()

    def speak(self, sound: Samples) -> float:
        """Play into the microphone in real time; when the last of it had been played."""
        player = subprocess.run(
            ["pacat", "--playback", "--device=ear", "--latency-msec=50", *_STREAM],
            env=self.env,
            input=(np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes(),
            timeout=PATIENCE + len(sound) / RATE,
            check=False,
        )
        assert player.returncode == 0
        return monotonic()

    def in_use(self) -> set[str]:
        """The loudspeakers that programs are playing on."""
        sinks = [line.split() for line in self._pactl("list", "short", "sinks").stdout.splitlines()]
        inputs = [line.split() for line in self._pactl("list", "short", "sink-inputs").stdout.splitlines()]
        return {name for number, name, *_ in sinks if number in [sink for _, sink, *_ in inputs]}

    def is_loud(self, sink: str = "mouth") -> bool:
        """Whether a loudspeaker gives sound just now."""
        return bool(self.loud_at[sink]) and monotonic() - self.loud_at[sink][-1] < JUST_NOW

    def has_spoken(self) -> bool:
        """Whether something was said since the last time, and all is silent now."""
        last = max((self.loud_at[sink][-1] for sink in LOUDSPEAKERS if self.loud_at[sink]), default=0.0)
        if last <= self._listened_until or monotonic() - last < SILENT:
            return False
        self._listened_until = last
        return True

    def _record(self, sink: str) -> None:
        recorder = subprocess.Popen(
            ["parec", f"--device={sink}.monitor", "--latency-msec=20", *_STREAM],
            env=self.env,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        self._recorders.append(recorder)
        Thread(target=self._listen, args=(recorder, self.loud_at[sink]), daemon=True).start()

    @staticmethod
    def _listen(recorder: "subprocess.Popen[bytes]", loud_at: list[float]) -> None:
        """Sound comes in bursts; how much of it has come tells better than the clock when it sounded."""
        assert recorder.stdout
        began, heard = float("inf"), 0
        while len(data := recorder.stdout.read(2 * RATE // 100)) == 2 * RATE // 100:
            heard += len(data) // 2
            began = min(began + LEAK, monotonic() - heard / RATE)
            if np.abs(np.frombuffer(data, "<i2").astype(int)).max() > LOUD:
                loud_at.append(began + heard / RATE)

    def _pactl(self, *arguments: str) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            ["pactl", *arguments], env=self.env, capture_output=True, text=True, timeout=PATIENCE, check=False
        )

    def __enter__(self) -> "SoundServer":
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()
