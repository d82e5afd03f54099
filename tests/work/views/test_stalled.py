"""A terminal that takes nothing any more: the job, its check-ins and its alarms go on."""

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import timedelta
from pathlib import Path
from threading import Thread

import pytest

from companion.job import messages as msg
from companion.job.facts.deadlines import REPEAT_EVERY
from companion.job.facts.sayings import Saying
from companion.speech.devices.player import ScreenOnlyPlayer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.work.inbox import Inbox, Typed
from companion.work.live import Live
from companion.work.views.outlet import MOST, Behind
from companion.work.views.plain_view import PlainLines
from companion.work.views.screen import FullScreen
from companion.work.views.view import View
from tests.helpers.logs import lines_of
from tests.helpers.programs import PYTHON, Program, run
from tests.helpers.terminal import Emulator
from tests.helpers.waiting import PATIENCE, until

WORK = ("work", Path(__file__).parents[2] / "rehearsal" / "short-job.yaml", "--keys", "--quiet")


def on_the_screen(terminal: Emulator) -> View:
    return FullScreen(terminal.slave)


def in_plain_lines(terminal: Emulator) -> View:
    return PlainLines(Behind(terminal.slave, "utf-8", lambda _: None))


@pytest.mark.parametrize("shown", [on_the_screen, in_plain_lines])
def test_check_ins_and_the_alarm_come_while_the_terminal_takes_nothing(bench, terminal, shown):
    """Nobody answers, and nobody reads: each stage is logged, and shown once the terminal takes it."""
    terminal.fills_up()
    bench.begin("sump-reseal")
    mouth, inbox, view = Mouth(SilentVoice()), Inbox(), shown(terminal)
    bench.shown_on(view, mouth)
    live = Live(bench.session, inbox, mouth, ScreenOnlyPlayer(mouth), bench.clock, view, quiet=True)
    opened = msg.Opened(bench.clock.boot(), None, timedelta(minutes=15))
    loop = Thread(target=live.run, args=(opened,), daemon=True)
    loop.start()

    def stages() -> list[int]:
        return [e["stage"] for e in bench.logged() if e["event"] == "check_in_escalated"]

    for stage, silence in enumerate((timedelta(minutes=15), REPEAT_EVERY, REPEAT_EVERY), start=1):
        bench.clock.advance(silence)
        inbox.post(msg.Woken())
        until(lambda stage=stage: stages() == list(range(1, stage + 1)))
    said = [e["text"] for e in bench.logged() if e["event"] == "said"]
    assert "Alarm: no answer from the mechanic." in said
    inbox.post(Typed("got it"))
    until(lambda: bench.logged()[-1]["event"] == "said" and bench.logged()[-1]["text"] == "Good.")
    inbox.post(msg.Leaving())
    loop.join(PATIENCE)
    assert not loop.is_alive()
    view.close(["kept"])  # It waits for nobody: nothing is taken before it is back.
    terminal.until_written("kept")
    if shown is in_plain_lines:
        assert "Alarm: no answer" in terminal.raw


def test_a_screen_that_was_stalled_shows_what_is_so_now_and_none_of_what_was(bench, terminal):
    bench.begin("sump-reseal")
    terminal.fills_up()
    screen = FullScreen(terminal.slave)
    for n in range(500):
        screen.said(Saying(f"Saying number {n}."))
        screen.show(bench.session.state, bench.clock.now().wall)
    shown = terminal.until("Saying number 499.")
    assert "Saying number 250." not in terminal.raw
    assert "Sump reseal" in shown
    screen.close()


def test_lines_that_a_pipe_does_not_take_are_dropped_and_counted(terminal):
    terminal.fills_up()
    behind = Behind(terminal.slave, "utf-8", lambda _: None)
    lines = PlainLines(behind)
    for n in range(3 * MOST):
        lines.said(Saying(f"Saying number {n}."))
    terminal.until_written(f"number {3 * MOST - 1}.")
    assert "lines were not taken in time and are not shown" in terminal.raw
    behind.close()


def test_what_is_told_from_many_threads_while_it_is_drawn_breaks_nothing(bench, terminal):
    bench.begin("sump-reseal")
    screen = FullScreen(terminal.slave)
    failed: list[BaseException] = []

    def talk(who: int) -> None:
        try:
            for n in range(400):
                screen.tell(f"{who}: {n}")
                screen.typing("x" * (n % 5))
                screen.show(bench.session.state, bench.clock.now().wall)
        except BaseException as error:
            failed.append(error)

    threads = [Thread(target=talk, args=(who,), daemon=True) for who in range(4)]
    for thread in threads:
        thread.start()
    until(lambda: terminal.takes(0.02) is not None and not any(thread.is_alive() for thread in threads))
    assert not failed
    screen.tell("the last word")
    terminal.until("the last word")
    screen.close()


class TestProcess:
    """`companion work` on a terminal of its own."""

    @pytest.fixture
    def work(self, terminal, tmp_path) -> Iterator[Callable[..., Program]]:
        with ExitStack() as ending:

            def begin(*options: str, **environment: str) -> Program:
                env = os.environ | {"TERM": "xterm"} | environment
                working = Program.companion(
                    *WORK, *options, folder=tmp_path, env=env, terminal=terminal.slave
                )
                return ending.enter_context(working)

            yield begin

    @staticmethod
    def log(folder: Path) -> list[dict]:
        return [event for path in (folder / "logs").glob("*.jsonl") for event in lines_of(path)]

    def heard(self, folder: Path) -> int:
        return sum(event["event"] == "heard" for event in self.log(folder))

    def test_what_is_typed_is_obeyed_though_nobody_reads_the_screen(self, work, terminal, tmp_path):
        process = work()
        until(lambda: any(e["event"] == "asked" for e in self.log(tmp_path)))
        for n in range(1, 81):
            terminal.types("repeat\r")
            until(lambda n=n: self.heard(tmp_path) == n)
        process.signal(signal.SIGTERM)
        assert process.ends() == 0
        assert self.log(tmp_path)[-1]["event"] == "session_ended"

    def test_control_s_stops_nothing_and_the_terminal_is_given_back_as_it_was(self, work, terminal, tmp_path):
        import termios

        before = termios.tcgetattr(terminal.slave)
        process = work()
        terminal.until("Yes or no?")
        terminal.types("\x13")
        terminal.types("help\r")
        terminal.until("you: help")
        terminal.types("\x03")
        assert process.ends() == 0
        assert termios.tcgetattr(terminal.slave) == before

    def test_after_the_screen_is_left_the_summary_stays(self, work, terminal, tmp_path):
        process = work("--vehicle", "Marlow Tern")
        terminal.until("Yes or no?")
        terminal.types("\x03")
        assert process.ends() == 0
        while terminal.takes(0.5):
            pass
        kept = terminal.raw.rpartition("\x1b[?1049l")[2]
        (log,) = (tmp_path / "logs").glob("*.jsonl")
        assert f"Job {log.stem}: Cover gasket, Marlow Tern" in kept
        assert f"Go on with: companion work --job {log.stem} --keys --quiet" in kept
        assert "\x1b[?1049l" in terminal.raw

    def test_any_byte_may_be_typed(self, work, terminal, tmp_path):
        process = work()
        terminal.until("Yes or no?")
        terminal.types(b"yes\r")
        terminal.until("step 1 of")
        terminal.types(b"hold the job because caf\xe9 \xff\xfe\r")
        terminal.until("HELD")
        terminal.types("\x03")
        assert process.ends() == 0
        (held,) = [e for e in self.log(tmp_path) if e["event"] == "job_held"]
        assert held["because"].startswith("caf")

    def test_a_terminal_without_the_letters_is_written_in_those_it_has(self, work, terminal, tmp_path):
        process = work("--vehicle", "Štarn × 2°", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
        shown = terminal.until("Yes or no?")
        assert "Starn x 2deg" in shown
        assert shown.isascii()
        terminal.types("\x03")
        assert process.ends() == 0
        assert process.errors == []

    def test_a_terminal_that_goes_away_ends_it_cleanly(self, work, terminal, tmp_path):
        process = work()
        terminal.until("Yes or no?")
        os.close(terminal.master)
        terminal.master = os.open(os.devnull, os.O_RDWR)
        process.ends()
        assert self.log(tmp_path)[-1]["event"] == "session_ended"
        assert not any("Traceback" in line for line in process.errors)


@pytest.mark.parametrize("words", ["caf\xe9 \xff".encode("latin-1"), b"\xf0\x28\x8c\x28", b"\x80\x00\x1b[2J"])
def test_any_byte_may_come_through_a_pipe_and_stand_on_the_handover_page(tmp_path, words):
    typed = b"yes\nhold the job because " + words + b"\n"
    for locale in ({}, {"LC_ALL": "C"}, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}):
        folder = tmp_path / str(len(locale))
        folder.mkdir()
        done = run(PYTHON, "-m", "companion", *WORK, typed=typed, folder=folder, env=os.environ | locale)
        assert done.returncode == 0, done.stderr
        assert b"Traceback" not in done.stderr
        assert b"\x1b" not in done.stdout
        (page,) = (folder / "logs").glob("*.handover.html")
        assert "Held: " in page.read_text(encoding="utf-8")
