"""Files in place of sound hardware, at the pace of real time: the live loop with nothing plugged in."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from threading import Event, Thread
from time import monotonic

from companion.errors import SoundError
from companion.files import check_sound_name
from companion.speech.devices.microphone import FileMicrophone
from companion.speech.devices.player import Source, WavPlayer
from companion.speech.sound.samples import FRAME, FRAME_TIME, Samples, silence


class PacedMicrophone(FileMicrophone):
    """A WAV file heard in real time, then silence until it is closed."""

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        pace = Pace()
        for frame in super().frames():
            pace.wait()
            yield frame
        while self._open:
            pace.wait()
            yield silence(FRAME_TIME)


class PacedWavPlayer:
    """Writes what is said into a WAV file while it would be heard."""

    def __init__(self, mouth: Source, path: Path) -> None:
        check_sound_name(path)
        self._player = WavPlayer(mouth, path)
        self._ended = Event()
        self._fault: str | None = None
        self._thread = Thread(target=self._play, name="player", daemon=True)

    def start(self) -> None:
        """Begin. Raises SoundError when the file cannot be written."""
        self._player.start()
        self._thread.start()

    def watch(self) -> str | None:
        """Why nothing is written any more, or None."""
        return self._fault

    def news(self) -> list[str]:
        """A file has none."""
        return []

    def close(self) -> None:
        """Complete the file. Safe to call twice."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join()
        self._player.close()

    def _play(self) -> None:
        pace = Pace()
        while not self._ended.is_set():
            pace.wait()
            try:
                self._player.play(FRAME)
            except SoundError as error:
                self._fault = str(error)
                return


class Pace:
    """Waits so that frames come one every 32 ms on average, however late one was."""

    def __init__(self, step: timedelta = FRAME_TIME) -> None:
        self._step = step.total_seconds()
        self._next = monotonic()
        self._never = Event()

    def wait(self) -> None:
        """Wait for the time of the next frame."""
        self._next += self._step
        self._never.wait(max(0.0, self._next - monotonic()))
