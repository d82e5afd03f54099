"""The process that pyttsx3 renders in: one JSON line in, one JSON line and raw samples out.

In:  {"text": ..., "rate": words per minute, "voice": ..., "pitch": 0 to 99}
Out: {"bytes": N, "rate": samples per second} and N bytes of 16-bit mono, or {"error": ...}

It is a process of its own because a synthesiser that hangs can only be stopped by ending it.
pyttsx3's engine is passed by: with version 2.99, of 900 renders to a file 3 came out empty, because
its loop ends before the file is written, and 37 lost the rate that was asked for. Its binding to
espeak in synchronous mode, with our own callback, lost none of 4,000 and needs no file at all.
"""

import ctypes
import json
import os
import signal
import sys
from typing import Any, BinaryIO


class Espeak:
    """espeak-ng, loaded from espeakng-loader before pyttsx3 looks for a system library."""

    def __init__(self) -> None:
        import espeakng_loader

        os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
        ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
        from pyttsx3.drivers import _espeak

        self._espeak = _espeak
        self._pieces: list[bytes] = []
        self.rate: int = _espeak.Initialize(_espeak.AUDIO_OUTPUT_SYNCHRONOUS, 1000)
        if self.rate <= 0:
            raise RuntimeError("espeak-ng did not start")
        _espeak.SetSynthCallback(self._take)

    def render(self, text: str, rate: int, voice: str, pitch: int) -> bytes:
        """16-bit mono samples at `self.rate`.

        Raises:
            RuntimeError: espeak refused a setting, or gave no sound.
        """
        self._pieces.clear()
        refusals = (
            self._espeak.SetVoiceByName(voice.encode()),
            self._espeak.SetParameter(self._espeak.RATE, rate, 0),
            self._espeak.SetParameter(self._espeak.PITCH, pitch, 0),
            self._espeak.Synth(text.encode(), flags=self._espeak.CHARS_UTF8),
        )
        if any(refusals):
            raise RuntimeError(f"espeak-ng refused (voice, rate, pitch, text: {refusals})")
        if not self._pieces:
            raise RuntimeError(f"espeak-ng gave no sound for {text!r}")
        return b"".join(self._pieces)

    def _take(self, samples: Any, count: int, events: Any) -> int:
        if count > 0:
            self._pieces.append(ctypes.string_at(samples, count * ctypes.sizeof(ctypes.c_short)))
        return 0  # go on


def answer(espeak: Espeak, request: dict[str, Any], out: BinaryIO) -> None:
    """Render one request and write the answer; a failure is an answer too."""
    samples = b""
    try:
        samples = espeak.render(**request)
        header: dict[str, Any] = {"bytes": len(samples), "rate": espeak.rate}
    except Exception as error:  # whatever it is, the parent must hear of it
        header = {"error": f"{type(error).__name__}: {error}"}
    out.write(json.dumps(header).encode() + b"\n" + samples)
    out.flush()


def main() -> None:
    """Answer until the parent closes the pipe."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides when to end
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # nothing that a library prints may land among the samples
    try:
        espeak = Espeak()
    except Exception as error:  # missing package, broken library: say so to the parent, then end
        out.write(json.dumps({"error": f"{type(error).__name__}: {error}"}).encode() + b"\n")
        out.flush()
        return
    for line in sys.stdin.buffer:
        answer(espeak, json.loads(line), out)


if __name__ == "__main__":
    main()
