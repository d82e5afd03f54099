"""Every failure a user can cause: one clear line, exit code 2, nothing lost."""

import json
import os
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from companion.cli import COMMANDS
from companion.speech.sound.samples import RATE
from tests.helpers.programs import PYTHON, Program, run
from tests.helpers.sounds import pause, write_wav

PROCEDURES = Path(__file__).parents[2] / "procedures"
BRAKES = PROCEDURES / "front-brakes.yaml"


def refused(result: CompletedProcess[str]) -> str:
    assert result.returncode == 2, result
    assert "Traceback" not in result.stderr
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, lines
    return lines[0]


def a_wav(path: Path, rate: int = RATE, channels: int = 1, seconds: float = 1.0) -> Path:
    return write_wav(path, pause(seconds), rate, channels=channels)


@pytest.mark.parametrize("command", ["work", "plan"])
@pytest.mark.parametrize(
    ("option", "value", "says"),
    [
        ("--ambient", 200, "--ambient 200 is no workshop temperature; give it in °C, -40 to 60"),
        ("--humidity", 120, "--humidity 120 is no relative humidity; give it in %, 0 to 100"),
        ("--humidity", "nan", "--humidity nan is no relative humidity"),
    ],
)
def test_a_workshop_that_cannot_be(companion, tmp_path, command, option, value, says):
    assert says in refused(companion(command, BRAKES, option, value))
    assert not (tmp_path / "logs").exists()


TWICE = BRAKES.read_bytes() + b"title: B\n"


class TestProcedures:
    @pytest.mark.parametrize(
        ("content", "where", "says"),
        [
            (b"", "1:1", "empty"),
            (b"\x00\x01\x02\xff" * 50, "", ""),
            (b"title: [unclosed", "", ""),
            (b"title: A\n", "1:1", "is missing"),
            (TWICE, f"{len(TWICE.splitlines())}:1", "given twice"),
        ],
    )
    def test_a_broken_file_is_told_with_its_place(self, companion, tmp_path, content, where, says):
        path = tmp_path / "broken.yaml"
        path.write_bytes(content)
        line = refused(companion("work", path, "--keys", "--quiet"))
        assert "broken.yaml" in line
        assert where in line
        assert says in line
        assert not (tmp_path / "logs").exists()

    def test_a_missing_file(self, companion):
        assert "nowhere.yaml" in refused(companion("work", "nowhere.yaml", "--keys", "--quiet"))

    def test_a_huge_file(self, companion, tmp_path):
        path = tmp_path / "huge.yaml"
        path.write_text("# x\n" * 400_000)
        assert "huge.yaml" in refused(companion("rehearse", path))

    def test_a_torque_in_the_wrong_unit_is_converted_in_the_message(self, companion, tmp_path):
        path = tmp_path / "wrong.yaml"
        path.write_text(BRAKES.read_text().replace("torque: 105 N·m", "torque: 81 lbf·ft", 1))
        line = refused(companion("work", path, "--keys", "--quiet"))
        assert "109.8 N·m" in line

    def test_a_cycle_is_named(self, companion, tmp_path):
        path = tmp_path / "cycle.yaml"
        path.write_text(
            "title: T\nrevision: '1'\napplies_to: [x]\nsource_of_torques: none\nsteps:\n"
            "  - {id: a, act: inspect, say: A., book: 1 min, after: [b]}\n"
            "  - {id: b, act: inspect, say: B., book: 1 min, after: [a]}\n"
        )
        result = companion("check", path)
        assert result.returncode == 2
        assert "cycle.yaml:" in result.stdout

    def test_an_unknown_step_is_answered_with_the_nearest(self, companion):
        first = json.loads(companion("phrases", "--procedure", BRAKES, "--json").stdout.splitlines()[0])
        assert first["command"]
        line = refused(companion("phrases", "--procedure", BRAKES, "--step", "slaken-wheels"))
        assert "did you mean" in line

    def test_check_lists_every_fault(self, companion, tmp_path):
        path = tmp_path / "two.yaml"
        path.write_text(
            BRAKES.read_text()
            .replace("torque: 105 N·m", "torque: 81 lbf·ft")
            .replace("book: 1 min", "book: 1 moon", 1)
        )
        result = companion("check", path)
        assert result.returncode == 2
        assert result.stdout.count("two.yaml:") >= 2


class TestRecordings:
    def test_an_empty_recording(self, companion, tmp_path):
        (tmp_path / "empty.wav").write_bytes(b"")
        assert "empty.wav" in refused(companion("hear", "empty.wav"))

    def test_a_recording_without_samples(self, companion, tmp_path):
        a_wav(tmp_path / "none.wav", seconds=0)
        assert "none.wav" in refused(companion("hear", "none.wav"))

    def test_a_truncated_recording(self, companion, tmp_path):
        path = a_wav(tmp_path / "cut.wav")
        path.write_bytes(path.read_bytes()[:9000])
        assert "cut short" in refused(companion("hear", "cut.wav"))

    def test_any_rate_and_stereo_are_taken(self, companion, tmp_path):
        a_wav(tmp_path / "stereo.wav", rate=44100, channels=2)
        a_wav(tmp_path / "slow.wav", rate=8000)
        result = companion("hear", "stereo.wav", "slow.wav", "--json")
        assert result.returncode == 0, result.stderr

    def test_text_is_no_recording(self, companion, tmp_path):
        (tmp_path / "text.wav").write_text("not sound")
        assert "text.wav" in refused(companion("hear", "text.wav"))

    def test_a_broken_vosk_model(self, companion, tmp_path):
        a_wav(tmp_path / "a.wav")
        (tmp_path / "model").mkdir()
        line = refused(companion("hear", "a.wav", "--recogniser", "vosk", "--model", "model"))
        assert "model" in line

    def test_no_vosk_model_at_all(self, companion, tmp_path):
        a_wav(tmp_path / "a.wav")
        assert "--model" in refused(companion("hear", "a.wav", "--recogniser", "vosk"))


class TestLogs:
    @pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
    def test_a_read_only_folder(self, companion, tmp_path):
        (tmp_path / "logs").mkdir(mode=0o500)
        assert "--logs" in refused(companion("work", BRAKES, "--keys", "--quiet"))

    def test_a_file_in_place_of_the_folder(self, companion, tmp_path):
        (tmp_path / "logs").write_text("a file")
        assert "logs" in refused(companion("work", BRAKES, "--keys", "--quiet"))

    def test_a_full_disk_loses_nothing_that_was_acknowledged(self, tmp_path):
        """A limit on the size of files stands in for the disk; the log ends at a whole line."""
        program = (
            "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (40000, 40000));"
            "import signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
            "from companion.cli import main; sys.argv[0] = 'companion'; main()"
        )
        typed = "help\n" * 400
        result = run(PYTHON, "-c", program, "work", BRAKES, "--keys", "--quiet", typed=typed, folder=tmp_path)
        line = refused(result)
        assert "full" in line
        (log,) = (tmp_path / "logs").glob("*.jsonl")
        lines = [json.loads(each) for each in log.read_text().splitlines()]
        assert [each["seq"] for each in lines] == list(range(1, len(lines) + 1))
        said = [each["text"] for each in lines if each["event"] == "said"]
        shown = [each[2:].strip() for each in result.stdout.splitlines() if each.startswith(">")]
        failed = next(n for n, each in enumerate(shown) if "cannot write the log" in each)
        assert set(shown[:failed]) <= set(said)

    def test_a_second_companion_on_the_same_job(self, companion, tmp_path):
        with Program.companion("work", BRAKES, "--keys", "--quiet", folder=tmp_path) as first:
            first.line()
            line = refused(companion("work", "--resume", "--keys", "--quiet"))
            assert str(first.pid) in line
            first.types("help")
            first.hang_up()
            assert first.ends() == 0

    def test_nothing_to_resume(self, companion, tmp_path):
        (tmp_path / "logs").mkdir()
        assert "companion work PROCEDURE" in refused(companion("work", "--resume", "--keys", "--quiet"))

    def test_an_unknown_job(self, companion, tmp_path):
        (tmp_path / "logs").mkdir()
        assert "no-such-job" in refused(companion("jobs", "no-such-job"))

    def test_a_job_name_cannot_leave_the_folder(self, companion, tmp_path):
        (tmp_path / "logs").mkdir()
        assert "cannot name a job" in refused(companion("jobs", "../../etc/passwd"))


class TestSound:
    def test_without_portaudio_the_way_out_is_told(self, companion_process, tmp_path):
        """A sounddevice that cannot find the library stands in for a machine without it."""
        (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')")
        env = os.environ | {"PYTHONPATH": str(tmp_path)}
        line = refused(companion_process("work", BRAKES, env=env))
        assert "libportaudio2" in line
        assert "--keys" in line
        line = refused(companion_process("work", BRAKES, "--keys", env=env, typed="help\n"))
        assert "--quiet" in line

    def test_a_microphone_file_that_is_not_there(self, companion):
        assert "gone.wav" in refused(companion("work", BRAKES, "--mic", "gone.wav", "--quiet"))

    def test_a_loudspeaker_file_that_cannot_be_written(self, companion, tmp_path):
        a_wav(tmp_path / "mic.wav")
        line = refused(companion("work", BRAKES, "--mic", "mic.wav", "--speaker", "no/such/folder/out.wav"))
        assert "out.wav" in line


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(companion, name):
    result = companion(name, "--help")
    assert result.returncode == 0, result.stderr
    assert "Example" in result.stdout


def test_an_unknown_command_is_refused(companion):
    result = companion("wokr")
    assert result.returncode == 2
    assert "Traceback" not in result.stderr


def test_the_version_is_told(companion):
    assert companion("--version").stdout.startswith("companion")
