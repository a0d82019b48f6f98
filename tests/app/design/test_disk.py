import errno
import os
import stat
import sys
import time
from pathlib import Path

import pytest

from app.design import disk
from app.design.disk import FileError, read_bytes, write_bytes
from app.design.owner import start_of, writer_mark

posix = pytest.mark.skipif(sys.platform == "win32", reason="permission bits and links of POSIX")


@pytest.fixture
def folder(tmp_path):
    """An empty folder; preferences of the tests live beside it."""
    made = tmp_path / "chassis"
    made.mkdir()
    return made


def names(folder):
    return sorted(entry.name for entry in folder.iterdir())


def failing(name):
    def fail(*_args, **_kwargs):
        raise OSError(name, os.strerror(name))

    return fail


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full; make room"),
        (errno.EDQUOT, "your share of the disk is used up"),
        (errno.EIO, "the disk reports a fault"),
        (errno.EROFS, "is read-only; choose another folder"),
        (errno.EACCES, "the system does not allow it"),
    ],
)
@pytest.mark.parametrize("moment", ["write", "fsync", "replace", "open"])
def test_a_save_that_fails_tells_why_keeps_the_old_file_and_leaves_nothing(
    folder, monkeypatch, number, words, moment
):
    path = folder / "a.json"
    path.write_bytes(b"old")
    with monkeypatch.context() as patch:
        if moment == "write":
            patch.setattr(disk, "_write_synced", half_written(number))
        elif moment == "fsync":
            patch.setattr(os, "fsync", failing(number))
        elif moment == "replace":
            patch.setattr(Path, "replace", failing(number))
        else:
            patch.setattr(Path, "open", failing(number))
        with pytest.raises(FileError) as error:
            write_bytes(path, b"new")
    assert words in str(error.value)
    assert str(path) in str(error.value)
    assert "untouched" in str(error.value)
    assert path.read_bytes() == b"old"
    assert names(folder) == ["a.json"]


def test_where_nothing_was_nothing_is_called_untouched(folder):
    with pytest.raises(FileError) as error:
        write_bytes(folder / "none" / "a.json", b"new")
    assert "no such file or folder" in str(error.value)
    assert "untouched" not in str(error.value)


def half_written(number):
    def write(temporary, data, mode):
        temporary.write_bytes(data[:1])
        raise OSError(number, os.strerror(number))

    return write


def test_a_full_disk_in_the_midst_of_writing_is_no_loss():
    # Linux has a device that is always full.
    if not Path("/dev/full").exists():
        pytest.skip("no device here that is always full")
    with Path("/dev/full").open("wb", buffering=0) as full, pytest.raises(OSError, match="No space") as error:
        full.write(b"x")
    assert "the disk is full" in disk.reason_of(error.value)


def test_an_interrupt_in_the_midst_of_a_save_leaves_nothing_over(folder, monkeypatch):
    def interrupt(_handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_bytes(folder / "a.json", b"new")
    assert names(folder) == []


def left_over(folder, mark, name="0123456789abcdef", hours=0.0):
    """A temporary file as a killed process leaves it."""
    path = folder / f".axlewright-{mark}{name}.tmp"
    path.write_bytes(b"half")
    then = time.time() - 3600.0 * hours
    os.utime(path, (then, then))
    return path.name


def test_the_next_write_removes_what_a_killed_process_left(folder):
    place, pid, hundredths = writer_mark().split("-")
    left_over(folder, f"{place}-{pid}-{int(hundredths) - 1000}-")
    left_over(folder, f"{place}-{2**22 + 5}-{hundredths}-")  # above the most that Linux gives
    write_bytes(folder / "a.json", b"new")
    assert names(folder) == ["a.json"]


def test_the_next_write_removes_what_was_left_long_ago_whoever_wrote_it(folder):
    left_over(folder, "", hours=1.1)  # by an earlier version
    left_over(folder, "00000000-7-7-", hours=1.1)  # on another machine
    write_bytes(folder / "a.json", b"new")
    assert names(folder) == ["a.json"]


def test_files_that_others_write_and_files_of_others_stay(folder):
    place, _, _ = writer_mark().split("-")
    parent = round(100 * start_of(os.getppid()))
    stay = [
        left_over(folder, "", hours=0.9),
        left_over(folder, "00000000-7-7-", hours=0.9),
        left_over(folder, f"{place}-{os.getppid()}-{parent}-", hours=0.9),
        left_over(folder, f"{writer_mark()}-", hours=0.9),
    ]
    for name in (".axlewright-mine.tmp", ".axlewright-0123456789abcdef.tmp.json", "x.axlewright-0123.tmp"):
        path = folder / name
        path.write_bytes(b"a person's own")
        os.utime(path, (0, 0))
        stay.append(name)
    (folder / ".axlewright-00000000-7-7-fedcba9876543210.tmp").mkdir()
    stay.append(".axlewright-00000000-7-7-fedcba9876543210.tmp")
    write_bytes(folder / "a.json", b"new")
    assert names(folder) == sorted(["a.json", *stay])


@posix
def test_a_link_with_the_name_of_a_left_over_file_stays(folder):
    (folder / "far").write_bytes(b"a person's own")
    link = folder / ".axlewright-0123456789abcdef.tmp"
    link.symlink_to(folder / "far")
    os.utime(link, (0, 0), follow_symlinks=False)
    write_bytes(folder / "a.json", b"new")
    assert names(folder) == [link.name, "a.json", "far"]


def test_left_over_files_that_cannot_be_removed_stop_no_save(folder, monkeypatch):
    left_over(folder, "", hours=2)
    monkeypatch.setattr(Path, "unlink", failing(errno.EACCES))
    write_bytes(folder / "a.json", b"new")
    assert (folder / "a.json").read_bytes() == b"new"


def test_a_temporary_file_is_named_so_that_it_is_known_again(folder, monkeypatch):
    seen = []
    monkeypatch.setattr(os, "fsync", lambda _handle: seen.extend(names(folder)))
    write_bytes(folder / "a.json", b"new")
    (temporary,) = [name for name in seen if name != "a.json"]
    assert temporary.startswith(f".axlewright-{writer_mark()}-")
    assert disk._TEMPORARY.fullmatch(temporary)


@posix
def test_the_new_content_is_never_open_to_more_than_the_old_was(folder, monkeypatch):
    path = folder / "a.json"
    path.write_bytes(b"old")
    path.chmod(0o600)
    seen = []
    monkeypatch.setattr(os, "fsync", lambda handle: seen.append(os.fstat(handle).st_mode & 0o777))
    before = os.umask(0)
    try:
        write_bytes(path, b"new")
    finally:
        os.umask(before)
    assert seen[0] == 0o600


def test_the_first_failure_is_told_when_clearing_up_fails_too(folder, monkeypatch):
    monkeypatch.setattr(os, "fsync", failing(errno.ENOSPC))
    monkeypatch.setattr(Path, "unlink", failing(errno.EACCES))
    with pytest.raises(FileError, match="disk is full"):
        write_bytes(folder / "a.json", b"new")


@posix
def test_permission_bits_of_the_old_file_are_kept(folder):
    path = folder / "a.json"
    path.write_bytes(b"old")
    path.chmod(0o640)
    write_bytes(path, b"new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


@posix
def test_a_new_file_follows_the_persons_mask(folder):
    mask = os.umask(0o027)
    try:
        write_bytes(folder / "a.json", b"new")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((folder / "a.json").stat().st_mode) == 0o640


@posix
def test_a_link_is_followed_and_stays_a_link(folder):
    (folder / "far").mkdir()
    target = folder / "far" / "real.json"
    target.write_bytes(b"old")
    link = folder / "link.json"
    link.symlink_to(target)
    write_bytes(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"
    assert names(folder / "far") == ["real.json"]


@posix
def test_a_pipe_is_neither_read_nor_replaced(folder):
    pipe = folder / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(FileError, match="not an ordinary file"):
        read_bytes(pipe)
    with pytest.raises(FileError, match="not an ordinary file"):
        write_bytes(pipe, b"x")
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@posix
def test_links_in_a_circle_are_told(folder):
    (folder / "a").symlink_to(folder / "b")
    (folder / "b").symlink_to(folder / "a")
    with pytest.raises(FileError, match="links lead round in a circle"):
        read_bytes(folder / "a")


def test_a_long_name_is_told(folder):
    with pytest.raises(FileError, match="name is too long"):
        write_bytes(folder / ("x" * 300), b"")


def test_a_name_of_full_length_can_be_saved(folder):
    path = folder / ("x" * 250 + ".json")
    write_bytes(path, b"new")
    assert path.read_bytes() == b"new"


def test_a_file_of_the_largest_size_is_read_and_one_byte_more_is_not(folder):
    path = folder / "a"
    path.write_bytes(b"x" * 100)
    assert read_bytes(path, 100) == b"x" * 100
    with pytest.raises(FileError, match="larger than"):
        read_bytes(path, 99)


def test_a_file_held_open_on_windows_is_told_as_in_use():
    error = OSError(errno.EACCES, "denied")
    error.winerror = 32
    assert "another program is using it" in disk.reason_of(error)


def test_an_unknown_failure_is_told_in_the_systems_words():
    assert disk.reason_of(OSError(errno.EXDEV, "Invalid cross-device link")) == "Invalid cross-device link"
    assert disk.reason_of(OSError()) == "the system gives no reason"
