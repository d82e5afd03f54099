"""The keyboard: every spoken command also works typed, and one key means done.

A foot pedal or a clip-on button is a keyboard with one key. Enter on an empty line means done too.
"""

import codecs
import os
import select
import stat
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import Thread

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.said.given import Length
from companion.job.rules.expected import Expecting
from companion.speech.language.part_names import name_and_wait, of_a_part
from companion.speech.language.phrases import language, parse_typed
from companion.work.inbox import NothingTyped, Post, TooLong, Typed

LEAVE = "\x03\x04"
"""Control-C and Control-D."""
LONGEST = 2000
"""Characters of a typed line or note. CHOSEN: some three hundred words, more than anyone reads out again."""
_MOST = 4 * LONGEST
"""Bytes that so many characters take at most."""


def understood(line: Typed, can: Expecting, lang: str = "en") -> msg.Message:
    """The message of a typed line, where `can` is what can be said. An empty line means done."""
    text = line.text
    if not text.strip():
        return msg.Heard(Command.DONE, None, "done", "keys")
    phrases = language(lang).that_answer(can)
    phrase = parse_typed(text, phrases, reading=can.reading, free_speech=can.free_speech, lang=lang)
    if phrase is None and can.durations:
        name, wait = name_and_wait(text)
        if wait is not None and not name:
            return msg.Heard(Command.DURATION, Length(wait), text.strip(), "keys")
    if phrase is None:
        return msg.NotUnderstood(text.strip(), "keys")
    given = of_a_part(phrase.given) if can.names_a_part else phrase.given
    return msg.Heard(Command(phrase.command), given, text.strip(), "keys")


class Keys:
    """Reads the keyboard in a thread and posts what is typed."""

    def __init__(self, post: Post, typing: Callable[[str], None], pedal: str = " ") -> None:
        """`pedal` is the key that means done at once, when nothing has been typed."""
        self._post = post
        self._typing = typing
        self._pedal = pedal

    def start(self) -> None:
        """Begin to read; the thread ends with the program."""
        read = self._read_keys if sys.stdin.isatty() else self._read_lines
        Thread(target=read, name="keys", daemon=True).start()

    def _read_lines(self) -> None:
        """Read a pipe or a file, a line at a time. At its end the program ends, if anything was typed."""
        typed = False
        for line, length in _lines():
            typed = True
            text = line.decode(sys.stdin.encoding, "replace")
            self._type(text, length if length > len(line) else len(text))
        self._post(msg.Leaving() if typed else NothingTyped())

    def _read_keys(self) -> None:
        """Read a terminal, a key at a time. When the terminal is gone, the program ends."""
        line, beyond = "", 0
        for key in _keys():
            if key in LEAVE:
                break
            if key in "\r\n" or (key == self._pedal and not line):
                text, length, line, beyond = line, len(line) + beyond, "", 0
                self._typing(line)
                self._type(text, length)
                continue
            if key.isprintable() and len(line) > LONGEST:
                beyond += 1
                continue
            if key in "\x7f\b":
                line, beyond = line if beyond else line[:-1], max(0, beyond - 1)
            elif key == "\x15":
                line, beyond = "", 0
            elif key.isprintable():
                line += key
            self._typing(line)
        self._post(msg.Leaving())

    def _type(self, text: str, length: int) -> None:
        """Post a line, or post that it is too long: a line that is cut could mean something else."""
        self._post(TooLong(length) if length > LONGEST else Typed(text))


def nothing_can_be_typed() -> bool:
    """Whether the standard input has ended already, as far as can be told without reading from it."""
    descriptor = sys.stdin.fileno()
    status = os.fstat(descriptor)
    if stat.S_ISREG(status.st_mode):
        return os.lseek(descriptor, 0, os.SEEK_CUR) >= status.st_size
    if stat.S_ISFIFO(status.st_mode) or stat.S_ISSOCK(status.st_mode):
        poll = select.poll()
        poll.register(descriptor, select.POLLIN)
        # With something to read in it, a pipe that was closed at the other end says so too.
        return any(what & select.POLLHUP and not what & select.POLLIN for _, what in poll.poll(0))
    return status.st_rdev == os.stat(os.devnull).st_rdev


def _lines() -> Iterator[tuple[bytes, int]]:
    """Lines as they are typed, each cut to what is kept, with its whole length. The last needs no newline.

    `sys.stdin` itself is not read: it would still hold its lock when a job that was closed by voice ends, and
    the interpreter aborts over that.
    """
    line, length = b"", 0
    while data := os.read(sys.stdin.fileno(), 1 << 16):
        for number, piece in enumerate(data.split(b"\n")):
            if number:
                yield line, length
                line, length = b"", 0
            line += piece[: _MOST - len(line)]
            length += len(piece)
    if length:
        yield line, length


def _keys() -> Iterator[str]:
    """Keys as they are pressed; a whole escape sequence (an arrow, say) comes to nothing."""
    descriptor = sys.stdin.fileno()
    decoder = codecs.getincrementaldecoder(sys.stdin.encoding)("replace")
    with suppress(OSError):
        while data := os.read(descriptor, 64):
            text = decoder.decode(data)
            if not text.startswith("\x1b"):
                yield from text


@contextmanager
def raw_keyboard() -> Iterator[None]:
    """Keys come at once and are not echoed; the terminal is put back as it was.

    Control-S stops nothing: a mechanic who leans on it must not lose the screen. Nothing here waits for the
    terminal to take its output: a stalled one never does.
    """
    if not sys.stdin.isatty():
        yield
        return
    import termios

    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    try:
        settings = termios.tcgetattr(descriptor)
        settings[0] &= ~termios.IXON
        settings[3] &= ~(termios.ECHO | termios.ICANON | termios.ISIG)
        settings[6][termios.VMIN], settings[6][termios.VTIME] = 1, 0
        termios.tcsetattr(descriptor, termios.TCSANOW, settings)
        yield
    finally:
        with suppress(termios.error):  # The terminal may be gone.
            termios.tcsetattr(descriptor, termios.TCSANOW, before)
