"""A folder of job logs, asked what its step table holds."""

from pathlib import Path
from typing import Any

from companion.labour.table.asked_of_table import per_job
from companion.labour.table.collect import collect
from companion.labour.table.read_logs import Fault


def attempts(logs: Path) -> list[dict[str, Any]]:
    """All attempts at steps, in the order in which they were begun."""
    with collect(logs) as table:
        return table.query("SELECT * FROM steps ORDER BY job_number, began_at")


def faults(logs: Path) -> list[Fault]:
    """What could not be read."""
    with collect(logs) as table:
        return list(table.faults)


def in_jobs(logs: Path) -> list[dict[str, Any]]:
    """The labour of each step in each job."""
    with collect(logs) as table:
        return sorted(table.ask(per_job()), key=lambda r: (r["job_number"], r["step"]))
