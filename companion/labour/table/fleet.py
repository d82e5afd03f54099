"""The same questions for a fleet of shops, on a distributed engine: PySpark through Ibis (the extra `fleet`).

The expressions are those of `questions.py`. No command leads here yet.
"""

import os
import re
import shutil
import subprocess
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from companion.errors import LabourError

JAVA = 17
"""The oldest Java that PySpark 4 runs on; PySpark 3.5 runs on it too."""


class Fleet:
    """Step tables on Spark. Use it in a `with` statement."""

    def __init__(self, tables: list[Path], master: str = "local[2]") -> None:
        """Start Spark.

        Args:
            tables: the step tables (Parquet) of one or many shops.
            master: where Spark runs.

        Raises:
            LabourError: PySpark, Ibis's backend or Java is missing, or a table is.
        """
        check_engine()
        import ibis
        from pyspark.sql import SparkSession

        missing = next((t for t in tables if not t.exists()), None)
        if missing or not tables:
            raise LabourError(
                f"{missing or 'no step table'}: there is no such table; run 'companion times' first"
            )
        self._session = (
            SparkSession.builder.master(master)
            .config("spark.sql.session.timeZone", "UTC")
            .config("spark.ui.enabled", "false")
            .config("spark.sql.shuffle.partitions", "4")
            .getOrCreate()
        )
        self._session.sparkContext.setLogLevel("ERROR")
        self._backend: Any = ibis.pyspark.connect(self._session)
        from companion.labour.table.questions import per_job

        self._session.read.parquet(*(str(t) for t in tables)).createOrReplaceTempView("steps")
        self._session.sql(self._backend.compile(per_job())).createOrReplaceTempView("per_job")

    def __enter__(self) -> "Fleet":
        return self

    def __exit__(self, *_: object) -> None:
        self._session.stop()

    def ask(self, expression: Any) -> list[dict[str, Any]]:
        """The rows of an expression over `questions.STEPS` or `questions.JOBS`, as plain data."""
        rows = self._session.sql(self._backend.compile(expression)).collect()
        return [row.asDict(recursive=True) for row in rows]


def check_engine() -> None:
    """Check that all is there that Spark needs.

    Raises:
        LabourError: something is missing; it says what to install.
    """
    for package in ("pyspark", "pandas", "pyarrow"):
        if find_spec(package) is None:
            raise LabourError(
                f"{package} is missing: install the extra with pip install 'bonnet-companion[fleet]'"
            )
    found = _java_version()
    if found is None:
        raise LabourError(
            f"Java is missing: install Java {JAVA} (Debian: openjdk-{JAVA}-jre-headless) for PySpark"
        )
    if found < JAVA:
        raise LabourError(
            f"Java {found} is too old for PySpark: install Java {JAVA} and let JAVA_HOME name it"
        )


def _java_version() -> int | None:
    home = os.environ.get("JAVA_HOME")
    java = str(Path(home) / "bin" / "java") if home else shutil.which("java")
    if java is None or not Path(java).exists():
        return None
    told = subprocess.run([java, "-version"], capture_output=True, text=True, check=False)
    match = re.search(r'version "(?:1\.)?(\d+)', told.stderr + told.stdout)
    return int(match[1]) if match else None
