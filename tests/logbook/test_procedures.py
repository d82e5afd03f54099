"""The procedures kept beside the logs."""

from __future__ import annotations

import hashlib

import pytest

from companion.errors import LogbookError
from companion.logbook.procedures import keep_procedure, kept_procedure

PROCEDURE = "title: Ölwanne\r\nsteps: []\n".encode()


def test_a_procedure_is_kept_byte_by_byte_under_its_digest(tmp_path):
    digest = keep_procedure(tmp_path / "logs", PROCEDURE)
    assert digest == hashlib.sha256(PROCEDURE).hexdigest()
    path = kept_procedure(tmp_path / "logs", digest)
    assert path == tmp_path / "logs" / "procedures" / f"{digest[:16]}.yaml"
    assert path.read_bytes() == PROCEDURE
    assert list(path.parent.iterdir()) == [path]


def test_the_same_one_is_kept_once(tmp_path):
    digest = keep_procedure(tmp_path, PROCEDURE)
    before = kept_procedure(tmp_path, digest).stat()
    assert keep_procedure(tmp_path, PROCEDURE) == digest
    after = kept_procedure(tmp_path, digest).stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


def test_one_that_was_altered_is_refused_and_not_written_over(tmp_path):
    digest = keep_procedure(tmp_path, PROCEDURE)
    path = kept_procedure(tmp_path, digest)
    path.write_bytes(b"title: other\n")
    for use in (lambda: kept_procedure(tmp_path, digest), lambda: keep_procedure(tmp_path, PROCEDURE)):
        with pytest.raises(LogbookError, match=f"{path.name}: this kept procedure was altered"):
            use()
    assert path.read_bytes() == b"title: other\n"


def test_one_that_is_missing(tmp_path):
    with pytest.raises(LogbookError, match="is missing"):
        kept_procedure(tmp_path, "0" * 64)


@pytest.mark.parametrize("digest", ["", "../../etc/passwd", "0" * 63, "../" + "0" * 61, "G" * 64])
def test_a_digest_that_is_none_leads_nowhere(tmp_path, digest):
    with pytest.raises(LogbookError, match="no SHA-256"):
        kept_procedure(tmp_path, digest)


def test_a_folder_without_permission(open_folder, as_nobody):
    open_folder.chmod(0o555)
    with as_nobody(), pytest.raises(LogbookError, match="permission denied"):
        keep_procedure(open_folder, PROCEDURE)
