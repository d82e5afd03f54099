"""For which systems and Pythons do the locks hold: is there a wheel of every package?

    pip install uv; python -m tests.benchmarks.installed.platforms

Nothing is installed: uv resolves each lock for each system from wheels alone, and where it cannot it names a
package. That one is left out, and it tries again. So it tells what could be installed, and not what works.
Ends with 1 when a lock cannot be resolved even so.
"""

import re
import subprocess
import sys
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[3]
LOCKS = ("requirements-light.lock", "requirements.lock")
SYSTEMS = {
    "Linux x86-64": "x86_64-manylinux_2_28",
    "Linux arm64": "aarch64-manylinux_2_28",
    "Windows x86-64": "x86_64-pc-windows-msvc",
    "macOS arm64": "aarch64-apple-darwin",
    "macOS x86-64": "x86_64-apple-darwin",
}
"""As people say, and as uv does. Of Linux, those of 2018 and later with the GNU library."""
PYTHONS = ("3.11", "3.12", "3.13")
NO_WHEEL = re.compile(r"Because ([\w.-]+?)(?:\{[^}]*\})?==\S+ has no")


def without_wheel(lock: Path, system: str, python: str) -> list[str]:
    """The packages of a lock that have no wheel for that system and Python.

    Raises:
        RuntimeError: there is something else wrong with it.
    """
    text = re.sub(r" \\\n *--hash=\S+", "", lock.read_text(encoding="utf-8"))
    missing: list[str] = []
    while True:
        with TemporaryDirectory() as folder:
            tried = Path(folder) / "requirements.in"
            tried.write_text(text, encoding="utf-8")
            options = [
                "--no-deps",
                "--only-binary",
                ":all:",
                "--python-platform",
                system,
                "--python-version",
                python,
            ]
            done = subprocess.run(
                ["uv", "pip", "compile", "--quiet", *options, "-o", Path(folder) / "found.txt", tried],
                capture_output=True,
                text=True,
                check=False,
            )
        if done.returncode == 0:
            return missing
        named = NO_WHEEL.search(re.sub(r"\s+", " ", done.stderr))
        if named is None:
            raise RuntimeError(done.stderr)
        missing.append(named[1])
        text = re.sub(rf"^{re.escape(named[1])}==.*\n", "", text, flags=re.MULTILINE)


def main() -> int:
    print("| system | Python | light | whole |\n|---|---|---|---|")
    try:
        for name, system in SYSTEMS.items():
            told = {
                python: " | ".join(
                    ", ".join(without_wheel(ROOT / lock, system, python)) or "all wheels" for lock in LOCKS
                )
                for python in PYTHONS
            }
            for words, pythons in groupby(PYTHONS, key=told.__getitem__):
                print(f"| {name} | {', '.join(pythons)} | {words} |")
    except RuntimeError as error:
        print(error)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
