"""The sound server's own names for its devices, and how a process is made to use one of them.

PortAudio sees a server (PulseAudio, or PipeWire in its place) as one device. Which loudspeaker or microphone
that is, the server's client library reads from the environment.
"""

import json
import os
import subprocess
from contextlib import suppress
from dataclasses import dataclass
from threading import Event
from typing import Any, Literal

from companion.errors import SoundError
from companion.speech.devices.sound_process import listed

Kind = Literal["microphone", "loudspeaker"]
_ASKS_WITHIN = 3.0
"""Seconds; a server that does not answer by then is none."""
_PLAIN = {"LC_ALL": "C"}
"""Answers in the words that are looked for here."""
_NO_SERVER = 1.0
"""Seconds between looks for a server."""
_SERVER_DEVICES = ("pulse", "pipewire", "default")
"""PortAudio's names for the whole server, the best first."""


@dataclass(frozen=True)
class Device:
    """A device to play or record with."""

    number: int
    """As `companion hear --devices` lists it."""
    name: str
    rate: int
    """Its own samples per second."""
    is_default: bool
    described: str = ""
    """In the server's words; empty for a device that PortAudio finds itself."""
    through: str | None = None
    """PortAudio's device that leads to it; None when that is `name`."""

    def settings(self, kind: Kind) -> dict[str, str]:
        """The environment that makes the server's client library use it."""
        if self.through is None:
            return {}
        pulse = "PULSE_SOURCE" if kind == "microphone" else "PULSE_SINK"
        return {pulse: self.name, "PIPEWIRE_NODE": self.name}


def devices(kind: Kind) -> list[Device]:
    """Every device of a kind: those that PortAudio finds, then those that the sound server names.

    Raises:
        SoundError: PortAudio is not installed.
    """
    way = 0 if kind == "microphone" else 1
    direct = [
        Device(d["number"], d["name"], d["rate"], d["default"][way])
        for d in listed()
        if d["records" if kind == "microphone" else "plays"]
    ]
    names = {d.name for d in direct}
    through = next((name for name in _SERVER_DEVICES if name in names), None)
    if through is None:
        return direct
    first = 1 + max(d.number for d in direct)
    return direct + [
        Device(first + n, d["name"], _rate(d), d["name"] == default, d["description"], through)
        for default in (_default(kind),)
        for n, d in enumerate(_named(kind))
    ]


def find(kind: Kind, wanted: str) -> Device:
    """The device of that number or name, or of which that is part of the name or description.

    Raises:
        SoundError: there is none.
    """
    found = devices(kind)
    part = wanted.casefold()
    of_the_server = [d for d in found if d.through is not None]
    likely = (
        *(d for d in found if wanted in (str(d.number), d.name, d.described)),
        *(d for d in of_the_server if part in f"{d.name} {d.described}".casefold()),
        *(d for d in found if part in d.name.casefold()),
    )
    if not likely:
        raise SoundError(f"there is no {kind} {wanted!r}")
    return likely[0]


def plugged_in(kind: Kind, name: str) -> int | None:
    """A number that is new each time that a device of that name is plugged in; None while it is not there."""
    return next((int(d["index"]) for d in _named(kind) if d["name"] == name), None)


def default_rate(kind: Kind) -> int | None:
    """Samples per second of the server's default device; None where there is no server."""
    default = _default(kind)
    return next((_rate(d) for d in _named(kind) if d["name"] == default), None)


class Changes:
    """Tells when devices of the server come and go."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[str] | None = None

    def wait(self, ended: Event) -> None:
        """Wait for the next change; without a server, for a while."""
        if self._process is None or self._process.poll() is not None:
            with suppress(OSError):
                self._process = subprocess.Popen(
                    ["pactl", "subscribe"],
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    text=True,
                    env={**os.environ, **_PLAIN},
                )
        if ended.is_set():
            self.close()
            return
        for line in self._process.stdout or () if self._process else ():
            if " on sink #" in line or " on source #" in line:
                return
        ended.wait(_NO_SERVER)

    def close(self) -> None:
        """Wait no more. From any thread."""
        if self._process:
            self._process.kill()
            self._process.wait()


def _named(kind: Kind) -> list[dict[str, Any]]:
    """What the server lists; nothing where there is no server. What a loudspeaker plays is no microphone."""
    found = _ask("--format=json", "list", "sources" if kind == "microphone" else "sinks")
    try:
        listed_there: list[dict[str, Any]] = json.loads(found or "[]")
    except ValueError:
        return []
    return [d for d in listed_there if kind == "loudspeaker" or not d["name"].endswith(".monitor")]


def _default(kind: Kind) -> str:
    return (_ask("get-default-source" if kind == "microphone" else "get-default-sink") or "").strip()


def _rate(device: dict[str, Any]) -> int:
    """From the likes of "s16le 2ch 44100Hz"."""
    return int(device["sample_specification"].split()[-1].removesuffix("Hz"))


def _ask(*arguments: str) -> str | None:
    """What `pactl` answers; None without a server, or without pactl."""
    try:
        done = subprocess.run(
            ["pactl", *arguments],
            capture_output=True,
            text=True,
            timeout=_ASKS_WITHIN,
            check=False,
            env={**os.environ, **_PLAIN},
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout if done.returncode == 0 else None
