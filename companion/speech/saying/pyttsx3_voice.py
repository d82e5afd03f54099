"""The everyday voice: pyttsx3 and espeak-ng in a worker process, no system package needed.

One watchdog kills a worker that hangs, so that a hang and a crash are one case. The espeak-ng library comes
from espeakng-loader.
"""

import json
import os
import subprocess
import sys
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from threading import Lock, Timer

import numpy as np

import companion
from companion.errors import VoiceError
from companion.speech.sound.samples import Clip
from companion.speech.sound.shaping import as_speech

_ADVICE = "if it goes on, reinstall it: pip install --force-reinstall pyttsx3 espeakng-loader"


class _WorkerError(Exception):
    """The worker ended in the middle: killed, crashed or out of time."""


class Pyttsx3Voice:
    """Renders in a worker process, started at the first sentence and replaced when it dies or hangs."""

    name = "pyttsx3"

    def __init__(
        self,
        voice: str = "gmw/en",
        pitch: int = 50,
        limit: timedelta = timedelta(seconds=4),
        interpreter: str = sys.executable,
    ) -> None:
        """`voice` is an espeak-ng voice; `limit` is how long one render may take, start-up included."""
        self._voice = voice
        self._pitch = pitch
        self._limit = limit
        self._interpreter = interpreter
        self._worker: subprocess.Popen[bytes] | None = None
        self._one_at_a_time = Lock()
        self._cancelled = False

    def render(self, text: str, words_per_minute: int = 150) -> Clip:
        """Speak `text` into a clip; a worker that dies or takes too long is replaced once.

        Raises:
            VoiceError: when the second worker failed as well, or `cancel` was called meanwhile.
        """
        if not text.strip():
            return Clip(np.zeros(0, dtype=np.float32))
        settings = {"rate": words_per_minute, "voice": self._voice, "pitch": self._pitch}
        request = json.dumps({"text": text, **settings}).encode()
        with self._one_at_a_time:
            self._cancelled = False
            for _ in range(2):
                try:
                    return self._ask(request)
                except _WorkerError as gone:
                    self._end()
                    reason = str(gone)
                    if self._cancelled:
                        raise VoiceError("the sentence was cancelled while it was being rendered") from None
        raise VoiceError(f"the voice cannot speak ({reason}); {_ADVICE}")

    def start(self) -> None:
        """Start the worker now, so that the first sentence need not wait for it."""
        with self._one_at_a_time:
            self._running()

    def cancel(self) -> None:
        """End the render under way, from another thread; the next one starts a new worker."""
        self._cancelled = True
        if self._worker:
            self._worker.kill()

    def close(self) -> None:
        """End the worker. Safe to call twice; a later render starts a new one."""
        self.cancel()
        with self._one_at_a_time:
            self._end()

    def _running(self) -> subprocess.Popen[bytes]:
        if self._worker is None or self._worker.poll() is not None:
            self._end()
            package = str(Path(companion.__file__).parent.parent)
            path = os.pathsep.join(filter(None, (package, os.environ.get("PYTHONPATH"))))
            try:
                self._worker = subprocess.Popen(
                    [self._interpreter, "-P", "-m", "companion.speech.saying.pyttsx3_worker"],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    env={**os.environ, "PYTHONPATH": path},
                )
            except OSError as error:
                raise VoiceError(f"the voice cannot start ({error}); {_ADVICE}") from error
        return self._worker

    def _ask(self, request: bytes) -> Clip:
        """One request and its answer. The watchdog kills a worker that hangs, so reading always ends."""
        worker = self._running()
        assert worker.stdin
        assert worker.stdout
        watchdog = Timer(self._limit.total_seconds(), worker.kill)
        watchdog.daemon = True
        watchdog.start()
        try:
            with suppress(BrokenPipeError):  # a worker that could not start has left its reason to read
                worker.stdin.write(request + b"\n")
                worker.stdin.flush()
            header = json.loads(worker.stdout.readline() or b"null")
            if header is None:
                raise _WorkerError("its process ended, or took too long, before the sentence was rendered")
            if "error" in header:
                raise _WorkerError(header["error"])
            samples = worker.stdout.read(header["bytes"])
            if len(samples) < header["bytes"]:
                raise _WorkerError("its process ended in the middle of a sentence")
        except (OSError, ValueError) as error:
            raise _WorkerError(str(error)) from error
        finally:
            watchdog.cancel()
        return as_speech(np.frombuffer(samples, dtype="<i2") / np.float32(32768.0), header["rate"])

    def _end(self) -> None:
        if self._worker:
            worker, self._worker = self._worker, None
            worker.kill()
            worker.wait()
            for pipe in (worker.stdin, worker.stdout):
                if pipe:
                    with suppress(BrokenPipeError):  # the request that the dead worker never read
                        pipe.close()
