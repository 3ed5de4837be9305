"""Files appear whole or not at all."""

from __future__ import annotations

import subprocess
import sys
import textwrap

import pytest

from kitting.errors import KittingError
from kitting.outputs.folder import staging


def names(folder):
    return sorted(p.name for p in folder.iterdir())


def test_files_are_nowhere_before_they_are_placed(tmp_path):
    """A new folder is made only when everything is written, and nothing else is left."""
    folder = tmp_path / "new" / "orders"
    with staging(folder) as staged:
        staged.add("one", ".xlsx", b"1")
        staged.add("two", ".xlsx", b"2")
        assert not folder.exists()
        placed = staged.place()
    assert [p.name for p in placed] == ["one.xlsx", "two.xlsx"]
    assert names(folder) == ["one.xlsx", "two.xlsx"]
    assert names(tmp_path) == ["new"]


def test_what_is_not_placed_is_gone(tmp_path):
    """A fault between writing and placing leaves no trace."""

    def record() -> None:
        with staging(tmp_path / "a") as staged:
            staged.add("one", ".xlsx", b"1")
            raise ValueError("recording failed")

    with pytest.raises(ValueError, match="recording failed"):
        record()
    assert names(tmp_path) == []


def test_ctrl_c_while_writing_leaves_nothing(tmp_path):
    """An interrupt is no different."""

    def write() -> None:
        with staging(tmp_path) as staged:
            staged.add("one", ".xlsx", b"1")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write()
    assert names(tmp_path) == []


def test_a_file_that_is_there_is_never_written_over(tmp_path):
    """The second of three is there already: none is placed and the old one is untouched."""
    (tmp_path / "two.xlsx").write_bytes(b"sent last week")
    with staging(tmp_path) as staged:
        for name in ("one", "two", "three"):
            staged.add(name, ".xlsx", b"new")
        with pytest.raises(KittingError, match=r"two\.xlsx is there already.*nothing was changed"):
            staged.place()
    assert names(tmp_path) == ["two.xlsx"]
    assert (tmp_path / "two.xlsx").read_bytes() == b"sent last week"


def test_names_that_fall_together_get_a_number(tmp_path):
    """Also names that differ only by case, which are one on some disks."""
    with staging(tmp_path) as staged:
        for name in ("a/b", "a:b", "A-B"):
            staged.add(name, ".xlsx", name.encode())
        staged.place()
    assert names(tmp_path) == ["A-B (3).xlsx", "a-b (2).xlsx", "a-b.xlsx"]


def test_a_file_in_place_of_the_folder_is_told(tmp_path):
    """``--into FILE`` is a mistake with a clear answer."""
    (tmp_path / "orders").write_text("I am a file")
    with (
        pytest.raises(KittingError, match="is a file; give a folder"),
        staging(tmp_path / "orders"),
    ):
        pass
    assert names(tmp_path) == ["orders"]


def test_nothing_to_place_makes_no_folder(tmp_path):
    with staging(tmp_path / "orders") as staged:
        assert staged.place() == []
    assert names(tmp_path) == []


@pytest.mark.skipif(sys.platform == "win32", reason="limits of file sizes are not known there")
def test_a_full_disk_leaves_nothing_and_is_told(tmp_path):
    """A process that may write no more than 2000 bytes to a file fails on the second file."""
    script = textwrap.dedent(
        """
        import resource, signal, sys
        from pathlib import Path
        from kitting.errors import KittingError
        from kitting.outputs.folder import staging
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
        try:
            with staging(Path(sys.argv[1])) as staged:
                staged.add("small", ".xlsx", b"1" * 1000)
                staged.add("large", ".xlsx", b"1" * 5000)
                staged.place()
        except KittingError as fault:
            print(fault)
        """
    )
    command = [sys.executable, "-B", "-c", script, str(tmp_path / "orders")]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "large.xlsx cannot be written: file too large; nothing was changed" in done.stdout
    assert names(tmp_path) == []
