"""One companion at a time on a job.

The lock is on the log itself and belongs to the process: the system drops it when the process ends, however
it ends, so there is no lock file to go stale.
"""

import fcntl
import os
from pathlib import Path

from companion.errors import JobInUseError


def lock(descriptor: int, job: str) -> None:
    """Hold the open log for as long as it is open (JobInUseError when another companion holds it)."""
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        holder = _holder(descriptor)
        who = f"another companion (process {holder})" if holder else "another companion"
        raise JobInUseError(
            f"{job}: {who} is at work on this job: end it first, or take another job"
        ) from None


def _holder(descriptor: int) -> int | None:
    """The process that holds the lock, where the system tells (Linux)."""
    status = os.fstat(descriptor)
    file = f"{os.major(status.st_dev):02x}:{os.minor(status.st_dev):02x}:{status.st_ino}"
    try:
        held = Path("/proc/locks").read_text(encoding="ascii").splitlines()
    except OSError:
        return None
    for line in held:
        # 1: FLOCK  ADVISORY  WRITE 1234 fe:00:5678 0 EOF
        fields = line.split()
        if len(fields) >= 6 and fields[1] == "FLOCK" and fields[5] == file and int(fields[4]) > 0:
            return int(fields[4])
    return None
