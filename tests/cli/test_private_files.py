"""What is kept tells about people and their work: nobody else on the machine can read it."""

import stat
from pathlib import Path

PROCEDURE = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"


def test_logs_pages_and_folders_are_the_users_alone(companion, tmp_path):
    done = companion(
        "work", PROCEDURE, "--keys", "--quiet", typed="yes\nnote the clip is cracked\nhold the job\n"
    )
    assert done.returncode == 0, done.stderr
    assert companion("jobs", "--json").returncode == 0
    assert companion("due", "--ics", "due.ics").returncode == 0
    kept = [path for path in tmp_path.rglob("*") if not path.is_symlink()]
    assert any(path.suffix == ".html" for path in kept)
    for path in kept:
        open_to_others = stat.S_IMODE(path.stat().st_mode) & 0o077
        assert not open_to_others, f"{path} is open to others"
