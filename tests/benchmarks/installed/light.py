"""How large is a light install, and does it work?

    python -m tests.benchmarks.installed.light [--lock requirements-light.lock]

Makes a virtual environment as the README does, from the lock and this clone, and measures it with all that is
in it, pip too. Then it works a job by keys, checks the procedures, lists jobs and what is due, and asks for
something that is not there. Ends with 1 when it takes over 120 MB or one of these does not go as it should.
"""

import argparse
import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[3]
MOST = 120
"""MB of 2**20 bytes, as `du -m` has them."""


def size(folder: Path) -> float:
    """What it takes on the disk; a file with two names counts once."""
    seen = {(s.st_dev, s.st_ino): s.st_blocks * 512 for p in folder.rglob("*") if (s := p.lstat())}
    return sum(seen.values()) / 2**20


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--lock", default="requirements-light.lock", help="in the clone")
    options = parser.parse_args()
    with TemporaryDirectory() as folder:
        venv, work = Path(folder) / "venv", Path(folder) / "work"
        work.mkdir()
        subprocess.run([sys.executable, "-m", "venv", venv], check=True)
        pip = [venv / "bin" / "pip", "install", "--quiet", "--disable-pip-version-check"]
        subprocess.run([*pip, "--require-hashes", "-r", ROOT / options.lock], check=True)
        subprocess.run([*pip, "--no-deps", ROOT], check=True)
        taken = size(venv)
        print(f"{options.lock}: {taken:.0f} MB, Python {sys.version.partition(' ')[0]}")
        wrong = taken > MOST
        for words, typed, code in (
            (["check", "front-brakes", "sump-reseal", "coolant-pump"], "", 0),
            (
                ["work", "front-brakes", "--keys", "--quiet"],
                "yes\nyes\nbattery disconnected\nyes\nstop work\n",
                0,
            ),
            (["work", "--resume", "--keys", "--quiet"], "what is open\nstop work\n", 0),
            (["jobs"], "", 0),
            (["due"], "", 0),
            (["times"], "", 2),
        ):
            env = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
            program = [venv / "bin" / "companion", *words]
            done = subprocess.run(
                program, input=typed, capture_output=True, text=True, cwd=work, env=env, check=False
            )
            last = (done.stdout + done.stderr).strip().rpartition("\n")[2]
            print(f"companion {' '.join(words)}: exit code {done.returncode}; {last}")
            wrong |= done.returncode != code
    return int(wrong)


if __name__ == "__main__":
    sys.exit(main())
