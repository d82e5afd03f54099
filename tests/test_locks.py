"""The locks hold what the project asks for, on every platform, and name no host."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
LOCKS = {
    "requirements-light.lock": (),
    "requirements.lock": ("speech", "labour"),
    "requirements-test.lock": ("speech", "labour", "test"),
}
"""What each is made of, beside what is always installed."""


def pins(lock: str) -> dict[str, str]:
    """Name -> all that is said of it."""
    text = (ROOT / lock).read_text("utf-8").replace("\\\n", " ")
    return {line.partition("==")[0]: line for line in text.splitlines() if re.match(r"[a-z]", line)}


def asked_for(extras: tuple[str, ...]) -> Iterator[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    for wanted in [
        *project["dependencies"],
        *(w for e in extras for w in project["optional-dependencies"][e]),
    ]:
        yield re.split(r"[^\w.-]", wanted, maxsplit=1)[0].replace(".", "-").lower()


@pytest.mark.parametrize("lock", LOCKS)
def test_whatever_is_asked_for_is_pinned_with_its_hashes(lock):
    pinned = pins(lock)
    assert set(asked_for(LOCKS[lock])) - set(pinned) == set()
    assert [name for name, said in pinned.items() if "--hash=sha256:" not in said] == []


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_names_no_host_and_no_release_of_a_system(lock):
    """A pip of today ends where a marker compares the release of a kernel that is no version, as many are."""
    text = (ROOT / lock).read_text("utf-8")
    assert "://" not in text
    assert "platform_release" not in text


def test_the_light_one_has_nothing_that_the_whole_has_not():
    assert set(pins("requirements-light.lock")) < set(pins("requirements.lock"))
