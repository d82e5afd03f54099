"""Where the sound of a mouth goes: a loudspeaker, a file, or nowhere but the screen."""

import wave
from pathlib import Path
from typing import Protocol

from companion.errors import SoundError
from companion.speech.sound.samples import RATE, Samples


class Mutes(Protocol):
    """What must know when nothing can be heard."""

    def mute(self, reason: str) -> None:
        """Nothing can be heard from now on, and why."""


class Source(Mutes, Protocol):
    """Where a player takes its sound from: the mouth."""

    def pull(self, n: int) -> Samples:
        """The next `n` samples at RATE; silence where there is nothing to say."""

    def unmute(self) -> None:
        """Sound works again."""

    def again(self) -> None:
        """The last of the sound was lost on its way: begin the sentence anew that it was of."""


class Player(Protocol):
    """Plays what a mouth says. Adapters: SoundDevicePlayer, PacedWavPlayer, ScreenOnlyPlayer."""

    def start(self) -> None:
        """Begin. Raises SoundError when there is no way to play."""

    def watch(self) -> str | None:
        """Call about once a second: why nothing is heard, or None while all is well.

        While nothing is heard the mouth is muted, so each saying is reported as failed.
        """

    def news(self) -> list[str]:
        """What is worth showing since the last call: which device plays, and how late."""

    def close(self) -> None:
        """End. Safe to call twice."""


class WavPlayer:
    """Writes what is said into a WAV file (mono, 16 bit, RATE), in whatever time `play` is called."""

    def __init__(self, mouth: Source, path: Path) -> None:
        self._mouth = mouth
        self._path = path
        self._file: wave.Wave_write | None = None

    def start(self) -> None:
        """Open the file. Raises SoundError when it cannot be written."""
        try:
            self._raw = self._path.open("wb")
        except OSError as error:
            raise self._failed(error) from error
        self._file = wave.open(self._raw, "wb")  # noqa: SIM115 - it lives as long as the player
        self._file.setparams((1, 2, RATE, 0, "NONE", "not compressed"))

    def play(self, n: int) -> Samples:
        """Pull `n` samples, write them, and return them. Raises SoundError when the disk is full."""
        if self._file is None:
            self.start()
        assert self._file
        samples = self._mouth.pull(n)
        try:
            self._file.writeframes((samples * 32767).astype("<i2").tobytes())
        except OSError as error:
            raise self._failed(error) from error
        return samples

    def watch(self) -> str | None:
        """A file is always there."""
        return None

    def news(self) -> list[str]:
        """A file has none."""
        return []

    def close(self) -> None:
        """Complete the file. Raises SoundError when the disk is full."""
        if self._file:
            file, self._file = self._file, None
            try:
                file.close()
                self._raw.close()
            except OSError as error:
                raise self._failed(error) from error

    def _failed(self, error: OSError) -> SoundError:
        return SoundError(
            f"{self._path}: cannot be written ({error.strerror}); choose another place or free some"
        )


class ScreenOnlyPlayer:
    """No sound at all: every saying is reported as not played, for the screen to show."""

    def __init__(self, mouth: Mutes, reason: str = "working without sound") -> None:
        self._mouth = mouth
        self._reason = reason

    def start(self) -> None:
        """From now on the mouth reports each saying as failed, with the reason."""
        self._mouth.mute(self._reason)

    def watch(self) -> str | None:
        """The reason that was given."""
        return self._reason

    def news(self) -> list[str]:
        """There is none."""
        return []

    def close(self) -> None:
        """Nothing to end."""
