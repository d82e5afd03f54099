"""Sentences turned into clips before they are needed: at once, or in a thread beside the loudspeaker."""

from concurrent.futures import Executor, Future, ThreadPoolExecutor

from companion.errors import VoiceError
from companion.speech.saying.voice import Voice
from companion.speech.sound.samples import Clip


class _AtOnce(Executor):
    """Runs what it is given before it returns: the same order of things every time."""

    def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
        future: Future[Clip] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except VoiceError as error:
            future.set_exception(error)
        return future


class Rendering:
    """Clips asked for and not yet used. In the background only one is rendered at a time."""

    def __init__(self, voice: Voice, background: bool) -> None:
        self._voice = voice
        self._background = background
        self._executor: Executor = (
            ThreadPoolExecutor(1, thread_name_prefix="voice") if background else _AtOnce()
        )
        self._asked: dict[tuple[str, int], Future[Clip]] = {}

    def ahead(self, text: str, words_per_minute: int) -> None:
        """Start on a sentence that will be needed; does nothing without words or a background thread."""
        if self._background and text:
            self.ask(text, words_per_minute)

    def ask(self, text: str, words_per_minute: int) -> Future[Clip]:
        """The clip, done or under way. Asking twice renders once."""
        key = (text, words_per_minute)
        if key not in self._asked:
            self._asked[key] = self._executor.submit(self._voice.render, text, words_per_minute)
        return self._asked[key]

    def used(self, text: str, words_per_minute: int) -> None:
        """Forget a clip, or a failure, so that asking again renders anew."""
        self._asked.pop((text, words_per_minute), None)

    def clear(self) -> None:
        """Drop what has not begun, so that something urgent is next."""
        for future in self._asked.values():
            future.cancel()
        self._asked.clear()

    def close(self) -> None:
        """Stop the thread and close the voice."""
        self.clear()
        self._executor.shutdown(wait=False, cancel_futures=True)
        self._voice.close()
