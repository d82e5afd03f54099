"""A job by voice through a real sound server: `python -m tests.benchmarks.sound_server [--each N]`.

PulseAudio without hardware (see `tests/helpers/sound_server.py`), `companion work` as its user starts it, and
questions by a synthesiser into the microphone, in real time. Nothing else goes on; every core is busy; the
microphone hears the loudspeaker 10 dB below the mechanic, and as loud; the server is killed and started; the
default is changed; a headset is taken away and brought back. `--minutes` adds a long shift with busy cores.

Answer times go from the last loud sample of the question to the first of the tone that says it was heard, and
to the first of the words, both as they sound at the loudspeaker: the server's buffers are in them. A question
that is not answered in 15 s was not heard. After a fault the time runs until sound comes again: from the
moment that the server answers, the default is changed, or the headset is there. Lost are sayings that the
companion could not play; underruns are those that the sound libraries reported.
"""

import argparse
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic, sleep

import numpy as np

from companion.job.facts.sayings import Priority, Tone
from companion.speech.devices.device_player import SoundDevicePlayer
from companion.speech.devices.sound_process import LOG_NAME
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.tones import tone
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.samples import RATE
from tests.helpers.programs import Program
from tests.helpers.sound_server import SoundServer, why_not
from tests.helpers.sounds import Talker
from tests.helpers.waiting import until

PROCEDURE = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"
ASKED = ("repeat", "what size", "what is open", "what tools", "help", "what torque")
ANSWERS_WITHIN = 15.0
TONE = len(tone(Tone.HEARD)) / RATE
VOICE = "gmw/en-us"
COLUMNS = "{:24} {:>7} {:>13} {:>13} {:>11} {:>5} {:>9} {:>5}"
"""Times in seconds: median and 95th percentile; the longest way back, and how many there were."""


@dataclass
class Counted:
    """What came of the questions of one scene."""

    asked: int = 0
    tones: list[float] = field(default_factory=list)
    words: list[float] = field(default_factory=list)
    recovered: list[float] = field(default_factory=list)


class Scene:
    """One companion at one server."""

    def __init__(self, server: SoundServer, working: Program, talker: Talker) -> None:
        self.server, self.working, self.counted = server, working, Counted()
        self._talker = talker

    def hears_it_out(self) -> None:
        """Wait until the companion has spoken and is silent."""
        end = monotonic() + 60
        while not self.server.has_spoken() and monotonic() < end:
            sleep(0.02)

    def asks(self, question: str) -> None:
        """Ask, and measure the answer."""
        sound = self._talker.stream(0.2, question, 0.6)
        loud = np.flatnonzero(np.abs(sound) > 0.01)
        began = monotonic()
        self.server.speak(sound)
        self.counted.asked += 1
        heard = self.working.shows(f"< {question}", ANSWERS_WITHIN)
        self.hears_it_out()
        onset = next((t for t in self.server.loud_at["ear"] if t > began), None)
        if not heard or onset is None:
            return
        ended = onset + (loud[-1] - loud[0]) / RATE
        after = [t for t in self.server.loud_at["mouth"] if t > ended - 0.05]
        if after:
            self.counted.tones.append(after[0] - ended)
        if word := next((t for t in after if t > after[0] + TONE + 0.02), None):
            self.counted.words.append(word - ended)

    def recovers(self, fault: Callable[[], None], mended: Callable[[], object]) -> None:
        """Do something to the sound, and measure until it is as it should be."""
        began = monotonic()
        fault()
        until(mended)
        self.counted.recovered.append(monotonic() - began)

    def reads(self) -> None:
        """Make it say something, and wait until that sounds."""
        self.working.types("repeat")
        until(lambda: self.server.is_loud("mouth") or self.server.is_loud("other"))


@contextmanager
def busy(processes: int) -> Iterator[None]:
    """Programs that do nothing but compute."""
    burning = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(processes)]
    try:
        yield
    finally:
        for process in burning:
            process.kill()
            process.wait()


def ask_all(scene: Scene, each: int) -> None:
    for n in range(each):
        scene.asks(ASKED[n % len(ASKED)])


def echo(decibels: float) -> Callable[[Scene, int], None]:
    def scene_of(scene: Scene, each: int) -> None:
        scene.server.load("module-loopback source=mouth.monitor sink=ear latency_msec=60")
        scene.server.loudness_of_loopback(decibels)
        ask_all(scene, each)

    return scene_of


def killed(scene: Scene, each: int) -> None:
    for _ in range(max(1, each // 4)):
        scene.reads()
        scene.server.kill()
        sleep(0.5)
        scene.server.start()
        scene.recovers(lambda: None, lambda: scene.server.is_loud("mouth"))
        scene.hears_it_out()
        ask_all(scene, 2)


def switched(scene: Scene, each: int) -> None:
    for n in range(max(1, each // 2)):
        sink = ("other", "mouth")[n % 2]
        scene.reads()
        scene.recovers(lambda sink=sink: scene.server.use(sink), lambda sink=sink: scene.server.is_loud(sink))  # type: ignore[misc]
        scene.hears_it_out()


def unplugged(scene: Scene, each: int) -> None:
    """It was chosen by its name; the server plays on elsewhere while it is away."""
    for _ in range(max(1, each // 4)):
        scene.server.unload(scene.server.headset)
        until(lambda: scene.server.in_use() == {"mouth"})
        scene.recovers(scene.server.plug_in_headset, lambda: scene.server.in_use() == {"headset"})


def first_after(times: list[float], began: float) -> float:
    """Wait for the first of these times that comes after another."""
    return until(lambda: next((t for t in times if t > began), 0.0))


def urgent(server: SoundServer, times: int) -> list[float]:
    """Seconds from a danger being said to its tone at the loudspeaker, while something else is read."""
    os.environ.update(server.env)
    mouth = Mouth(SilentVoice())
    player = SoundDevicePlayer(mouth)
    player.start()
    waited = []
    for n in range(times):
        mouth.say(f"routine {n}", "Undo the six bolts of the pump cover and keep them in the marked bag.")
        sleep(1 + n % 10 / 100)
        began = monotonic()
        mouth.say(f"danger {n}", "", Priority.DANGER)
        waited.append(first_after(server.loud_at["mouth"], began) - began)
        sleep(1.5)
        mouth.stop()
    player.close()
    return waited


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=12, help="questions in each scene")
    parser.add_argument("--minutes", type=float, default=0, help="then so long a shift with every core busy")
    parser.add_argument("--only", default="", help="scenes with this in their name")
    options = parser.parse_args()
    if reason := why_not():
        sys.exit(f"nothing is measured: {reason}")
    cores = os.cpu_count() or 1
    scenes: list[tuple[str, int, tuple[str, ...], Callable[[Scene, int], None]]] = [
        ("idle", 0, (), ask_all),
        ("every core busy", cores, (), ask_all),
        ("echo at -10 dB", 0, (), echo(-10)),
        ("echo at 0 dB", 0, (), echo(0)),
        ("server killed", 0, (), killed),
        ("default changed", 0, (), switched),
        ("headset away and back", 0, ("--speaker", "headset"), unplugged),
    ]
    if options.minutes:
        scenes.append((f"busy for {options.minutes:g} min", cores, (), shift(options.minutes)))
    print(f"load before: {os.getloadavg()[0]:.1f} on {cores} cores")
    print(COLUMNS.format("scene", "heard", "tone", "word", "back after", "lost", "underruns", "load"))
    if options.only in "urgent":
        with TemporaryDirectory() as kept, SoundServer(Path(kept) / "pulse") as server:
            print(f"what is urgent sounds after {spread(urgent(server, options.each))} s", flush=True)
    talker = Talker(VOICE)
    for name, burning, arguments, does in scenes:
        if options.only in name:
            show(name, *play(talker, burning, arguments, does, options.each))
    talker.close()


def shift(minutes: float) -> Callable[[Scene, int], None]:
    def scene_of(scene: Scene, each: int) -> None:
        end = monotonic() + minutes * 60
        while monotonic() < end:
            ask_all(scene, min(each, len(ASKED)))

    return scene_of


def play(
    talker: Talker, burning: int, arguments: tuple[str, ...], does: Callable[[Scene, int], None], each: int
) -> tuple[Counted, int, int, float]:
    """One scene from its start; what was counted, sayings lost, underruns, and the load at its end."""
    with TemporaryDirectory() as kept, SoundServer(Path(kept) / "pulse") as server, busy(burning):
        server.plug_in_headset()
        work = ("work", PROCEDURE, "--recogniser", "embedded", *arguments)
        with Program.companion(*work, folder=Path(kept), env=server.env) as working:
            scene = Scene(server, working, talker)
            working.until("Yes or no?")
            scene.hears_it_out()
            working.types("yes", "yes", "yes")
            working.until("Step 1")
            scene.hears_it_out()
            does(scene, each)
            load = os.getloadavg()[0]
        shown = "".join(working.shown)
        printed = (Path(kept) / "logs" / LOG_NAME).read_text()
        return scene.counted, shown.count("not played"), len(re.findall("underrun", printed)), load


def show(name: str, counted: Counted, lost: int, underruns: int, load: float) -> None:
    heard = f"{len(counted.tones)}/{counted.asked}"
    back = f"{max(counted.recovered):.1f} ({len(counted.recovered)})" if counted.recovered else "-"
    row = (name, heard, spread(counted.tones), spread(counted.words), back, lost, underruns, f"{load:.1f}")
    print(COLUMNS.format(*row), flush=True)


def spread(times: list[float]) -> str:
    """Median and 95th percentile."""
    return f"{np.median(times):.2f} / {np.percentile(times, 95):.2f}" if times else "-"


if __name__ == "__main__":
    main()
