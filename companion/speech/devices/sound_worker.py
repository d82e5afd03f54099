"""The process that a sound device is played or recorded in: PortAudio between two pipes.

A sound server that goes away can leave PortAudio hanging, and its libraries print what they like. So nothing
of the job runs here. Whoever started this process ends it and starts another, which lists the devices anew.

In: one JSON argument (see `main`), and to play, samples of 16 bits, block by block, as they are asked for.
Out: messages of a letter, a length, and so many bytes.
"""

import json
import os
import struct
import sys
from collections import deque
from contextlib import suppress
from threading import Event, Thread
from time import monotonic
from typing import Any, BinaryIO

OPENED, MORE, SOUND, TOLD, FAILED, LISTED = b"o", b"m", b"s", b"t", b"f", b"l"
"""Opened, with properties; one more block please; recorded sound; figures; why not; the devices."""
HEAD = struct.Struct("<cI")
WIDTH = 2
"""Bytes of a sample."""
GROWS = 1.5
MOST_LATENCY = 0.2
"""CHOSEN: seconds. With the blocks that wait, what is urgent still begins within 0.3 s."""
MOST_AHEAD = 5
"""CHOSEN: blocks of 16 ms that wait for the device, so that whoever sends them may be late."""
SETTLING = 1.0
"""CHOSEN: seconds after opening in which nothing counts as lost: many devices begin with a gap."""
WITHIN = 10.0
"""CHOSEN: two losses in so many seconds are more than chance."""


class Messages:
    """The way to the process that started this one."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out

    def send(self, kind: bytes, content: bytes = b"") -> None:
        self._out.write(HEAD.pack(kind, len(content)) + content)
        self._out.flush()

    def tell(self, kind: bytes, **figures: object) -> None:
        self.send(kind, json.dumps(figures).encode())


class Losses:
    """Counts how often sound was lost, and tells chance from a buffer that is too short."""

    def __init__(self) -> None:
        self.count = 0
        self._last = float("-inf")
        self.opened()

    def opened(self) -> None:
        """The device was opened anew."""
        self._opened = monotonic()

    def too_many(self) -> bool:
        """Sound was lost again. True when that makes two within ten seconds."""
        now = monotonic()
        if now - self._opened < SETTLING:
            return False
        self.count += 1
        before, self._last = self._last, now
        return now - before < WITHIN


def play(sd: Any, request: dict[str, Any], messages: Messages) -> None:
    """Play what comes through the pipe, through a buffer that grows until the device loses nothing.

    Each block is asked for while the one before it is written, which waits until the device has room. A
    callback with a buffer of our own was tried: where the device takes sound in bursts it ran dry, though the
    device itself had sound left.
    """
    device, latency, losses = request["device"], request["latency"], Losses()
    rate = usable_rate(sd.check_output_settings, sd.query_devices(device, "output"), device, request["rate"])
    block = WIDTH * round(request["frame"] * rate / request["rate"])

    def opened() -> Any:
        stream = sd.RawOutputStream(
            samplerate=rate, channels=1, dtype="int16", device=device, latency=latency
        )
        stream.start()
        losses.opened()
        return stream

    stream = opened()
    messages.tell(OPENED, **described(sd, stream, rate), block=block)
    messages.send(MORE)
    ahead, late = 1, Losses()
    while True:
        asked = monotonic()
        sound = sys.stdin.buffer.read(block)
        if len(sound) < block:
            return  # whoever sent it has ended
        waited = monotonic() - asked
        messages.send(MORE)
        if not stream.write(sound):
            continue
        if waited > latency / 2:  # not the device's fault
            if late.too_many() and ahead < MOST_AHEAD:
                ahead += 1
                messages.send(MORE)
        elif losses.too_many() and latency < MOST_LATENCY:
            latency = min(MOST_LATENCY, latency * GROWS)
            stream.close()
            stream = opened()
        messages.tell(TOLD, latency=stream.latency, lost=losses.count, late=late.count, ahead=ahead)


def record(sd: Any, request: dict[str, Any], messages: Messages) -> None:
    """Send what the device hears: its first two channels."""
    device = request["device"]
    found = sd.query_devices(device, "input")
    rate = usable_rate(sd.check_input_settings, found, device, request["rate"])
    channels = min(2, found["max_input_channels"])
    waiting: deque[bytes] = deque(maxlen=request["kept"])
    came = Event()
    lost = 0

    def take(block: Any, _frames: int, _time: Any, status: Any) -> None:
        """PortAudio's callback: it only copies."""
        nonlocal lost
        if status.input_overflow or len(waiting) == waiting.maxlen:
            lost += 1
        waiting.append(bytes(block))
        came.set()

    stream = sd.RawInputStream(
        samplerate=rate,
        channels=channels,
        dtype="int16",
        device=device,
        latency=request["latency"],
        blocksize=round(request["frame"] * rate / request["rate"]),
        callback=take,
    )
    Thread(target=end_with_parent, daemon=True).start()
    stream.start()
    messages.tell(OPENED, **described(sd, stream, rate), channels=channels)
    told = 0
    while stream.active:
        came.wait(0.25)
        came.clear()
        if lost != told:
            told = lost
            messages.tell(TOLD, lost=lost)
        while waiting:
            messages.send(SOUND, waiting.popleft())
    raise RuntimeError("the device stopped")


def end_with_parent() -> None:
    """The pipe ends with the process that started this one; then nobody listens any more."""
    sys.stdin.buffer.read()
    os._exit(0)


def described(sd: Any, stream: Any, rate: int) -> dict[str, object]:
    name = sd.query_devices(stream.device)["name"]
    return {"name": name, "rate": rate, "latency": stream.latency}


def usable_rate(check: Any, found: Any, device: Any, wanted: int) -> int:
    """The rate that is wanted where the device can do it, else one that it can."""
    for rate in (wanted, int(found["default_samplerate"]), 48_000, 44_100):
        with suppress(Exception):
            check(device=device, channels=1, dtype="int16", samplerate=rate)
            return rate
    raise ValueError("it can do none of 16, 44.1 or 48 kHz")


def listed(sd: Any) -> list[dict[str, object]]:
    """Every device that PortAudio finds."""
    default_in, default_out = sd.default.device
    return [
        {
            "number": d["index"],
            "name": d["name"],
            "rate": int(d["default_samplerate"]),
            "records": d["max_input_channels"] > 0,
            "plays": d["max_output_channels"] > 0,
            "default": (d["index"] == default_in, d["index"] == default_out),
        }
        for d in sd.query_devices()
    ]


def main() -> None:
    """Do what the argument asks: {"do": "play", "record" or "list", "device": its name, or null, ...}."""
    request = json.loads(sys.argv[1])
    messages = Messages(os.fdopen(os.dup(1), "wb"))
    os.dup2(2, 1)  # nothing that a library prints may land among the messages
    try:
        import sounddevice
    except (ImportError, OSError) as error:
        messages.tell(FAILED, missing=True, error=str(error))
        return
    with suppress(BrokenPipeError):  # nobody listens any more
        try:
            if request["do"] == "list":
                messages.tell(LISTED, devices=listed(sounddevice))
            else:
                {"play": play, "record": record}[request["do"]](sounddevice, request, messages)
        except (sounddevice.PortAudioError, ValueError, RuntimeError) as error:
            messages.tell(FAILED, missing=False, error=" ".join(str(error).split()))
    os._exit(0)  # a device that hangs must not keep the process


if __name__ == "__main__":
    main()
