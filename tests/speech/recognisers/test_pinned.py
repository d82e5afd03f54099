"""A model of the user's own is what it was when its sums were written down, or it is not used."""

import shutil
from pathlib import Path

import pytest

from companion.errors import ModelError
from companion.speech.recognisers.pinned import check_pinned, pin, sums
from tests.helpers.programs import run


@pytest.fixture
def model(tmp_path: Path) -> Path:
    folder = tmp_path / "vosk-model"
    (folder / "am").mkdir(parents=True)
    (folder / "am" / "final.mdl").write_bytes(b"abc")
    (folder / "README").write_bytes(b"")
    return folder


def test_the_sums_are_those_of_the_standard(model: Path) -> None:
    """SHA-256 of "abc" and of nothing: FIPS 180-4, examples of NIST; the latter from memory."""
    assert sums(model) == {
        "vosk-model/README": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        "vosk-model/am/final.mdl": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    }


def test_a_model_that_was_never_pinned_is_told_from_one_that_is_as_it_was(model: Path) -> None:
    assert not check_pinned(model)
    pin(model)
    assert check_pinned(model)


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="GNU coreutils")
def test_sha256sum_reads_what_was_written(model: Path) -> None:
    path = pin(model)
    done = run("sha256sum", "-c", "--quiet", path.name, folder=path.parent)
    assert done.returncode == 0, done


@pytest.mark.parametrize("change", ["altered", "missing", "new"])
def test_any_change_is_told_in_one_line(model: Path, change: str) -> None:
    pin(model)
    name = {"altered": "am/final.mdl", "missing": "README", "new": "graph"}[change]
    if change == "missing":
        (model / name).unlink()
    else:
        (model / name).write_bytes(b"abd")
    with pytest.raises(ModelError, match=rf"vosk-model/{name} is not what .*vosk-model.sha256 says") as told:
        check_pinned(model)
    assert "\n" not in str(told.value)
