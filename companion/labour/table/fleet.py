"""Many shops in one table: on DuckDB, or on a distributed engine (PySpark through Ibis, the extra `fleet`).

The expressions are those of `asked_of_table.py`. Shops are kept apart by the column `shop`. Two shops may
have given jobs the same name and number, so each shop's numbers are moved on.
"""

import glob
import os
import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Protocol

from companion.errors import LabourError
from companion.labour.table.columns import COLUMNS
from companion.labour.table.kept_sql import expressions
from companion.labour.table.shop import shop_of

JAVA = 17
"""The oldest Java that PySpark 4 runs on; PySpark 3.5 runs on it too."""
APART = 1_000_000_000
"""The numbers of one shop's jobs are moved on by this much from those of the shop before."""


@dataclass(frozen=True)
class ShopTable:
    """The step table of one shop."""

    shop: str
    path: Path
    """A Parquet file."""
    faults: tuple[str, ...] = ()
    """What of its logs could not be read."""


class Asked(Protocol):
    """Step tables on an engine."""

    def ask(self, asked: Any) -> list[dict[str, Any]]:
        """The rows of a question, as plain data: by its name (`kept_sql.py`), or as an Ibis expression."""


@contextmanager
def shop_tables(places: Iterable[str]) -> Iterator[list[ShopTable]]:
    """The step tables at these places: folders of logs, step tables, or patterns of either.

    A shop goes by the name it says of itself (`shop.py`), otherwise by its folder. A folder that cannot be
    written to has its table in a temporary one meanwhile.

    Raises:
        LabourError: there is nothing at a place, or none of its logs can be read.
    """
    with TemporaryDirectory(prefix="shops-") as spare:
        found = [
            _table(path, Path(spare) / f"{number}.parquet") for number, path in enumerate(_paths(places))
        ]
        often = Counter(one.shop for one in found)
        so_far: Counter[str] = Counter()
        named = []
        for one in found:
            so_far[one.shop] += 1
            again = f"{one.shop} ({so_far[one.shop]})" if often[one.shop] > 1 else one.shop
            named.append(ShopTable(again, one.path, one.faults))
        yield named


def _paths(places: Iterable[str]) -> list[Path]:
    paths: dict[Path, None] = {}
    for place in places:
        found = sorted(glob.glob(os.path.expanduser(place)))
        if not found:
            raise LabourError(f"{place}: there is no such folder or step table; check the name")
        for one in map(Path, found):
            if one.is_dir() or one.suffix == ".parquet":
                paths[one.resolve()] = None
    if not paths:
        raise LabourError("no folder of logs and no step table (.parquet) was named")
    return list(paths)


def _table(path: Path, spare: Path) -> ShopTable:
    if path.is_file():
        folder = path.parent.parent if path.parent.name.startswith(".") else path.parent
        return ShopTable(folder.name or str(folder), path)
    from companion.labour.table.collect import collect

    with collect(path) as table:
        faults = tuple(map(str, table.faults))
        if table.parquet is None or table.joined:
            table.connection.execute(f"COPY (FROM steps) TO '{spare}' (FORMAT parquet)")
            return ShopTable(shop_of(path).name or path.name, spare, faults)
        return ShopTable(shop_of(path).name or path.name, table.parquet, faults)


@contextmanager
def here(tables: list[ShopTable]) -> Iterator[Asked]:
    """Step tables on DuckDB, on this machine.

    Raises:
        LabourError: one of them is no step table.
    """
    import duckdb

    from companion.labour.table.collect import MEMORY, THREADS, StepTable

    connection = duckdb.connect(config={"memory_limit": MEMORY, "threads": THREADS})
    connection.execute("SET TimeZone = 'UTC'")
    connection.execute("CREATE TABLE shops (path VARCHAR, shop VARCHAR, number BIGINT)")
    for number, one in enumerate(tables):
        connection.execute("INSERT INTO shops VALUES (?, ?, ?)", [str(one.path), one.shop, number])
    paths = ", ".join("'" + str(one.path).replace("'", "''") + "'" for one in tables)
    try:
        connection.execute(
            f"CREATE VIEW logged_steps AS SELECT {', '.join(COLUMNS)} FROM (SELECT p.* REPLACE ("
            f"n.shop AS shop, p.job_number + n.number * {APART} AS job_number) FROM "
            f"read_parquet([{paths}], filename = true) AS p JOIN shops AS n ON n.path = p.filename)"
        )
    except duckdb.Error as error:
        connection.close()
        raise LabourError(_no_table(error)) from error
    table = StepTable(connection, None)
    table.join(())
    with table:
        yield table


def _no_table(error: Exception) -> str:
    first = str(error).splitlines()[0]
    return f"a step table cannot be read ({first}); make it anew with 'companion times' in that shop"


class Fleet:
    """Step tables on Spark. Use it in a `with` statement."""

    def __init__(self, tables: list[ShopTable], master: str = "local[2]") -> None:
        """Start Spark.

        Args:
            master: where Spark runs.

        Raises:
            LabourError: PySpark, Ibis's backend or Java is missing, or Spark cannot be reached or read them.
        """
        check_engine()
        import ibis
        from pyspark.sql import SparkSession
        from pyspark.sql.functions import col, lit

        try:
            self._session = (
                SparkSession.builder.master(master)
                .config("spark.sql.session.timeZone", "UTC")
                .config("spark.ui.enabled", "false")
                .config("spark.sql.shuffle.partitions", "4")
                .getOrCreate()
            )
            self._session.sparkContext.setLogLevel("ERROR")
            self._backend: Any = ibis.pyspark.connect(self._session)
            steps = None
            for number, one in enumerate(tables):
                read = self._session.read.parquet(str(one.path)).withColumn("shop", lit(one.shop))
                read = read.withColumn("job_number", col("job_number") + lit(number * APART))
                read = read.select(*COLUMNS)
                steps = read if steps is None else steps.unionByName(read)
        except Exception as error:  # Spark and Java raise all sorts
            first = str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
            raise LabourError(f"Spark at {master!r} does not work ({first[:200]}); check --master") from error
        if steps is None:
            raise LabourError("no step table was named")
        from companion.labour.table.asked_of_table import per_job

        steps.createOrReplaceTempView("steps")
        self._session.sql(self._backend.compile(per_job())).createOrReplaceTempView("per_job")

    def __enter__(self) -> "Fleet":
        return self

    def __exit__(self, *_: object) -> None:
        self._session.stop()

    def ask(self, asked: Any) -> list[dict[str, Any]]:
        """The rows of a question, as plain data: by its name (`kept_sql.py`), or as an Ibis expression."""
        expression = expressions()[asked] if isinstance(asked, str) else asked
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
