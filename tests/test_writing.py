"""Files are written whole or not at all, several as one, and nothing is lost of those at once."""

import os
import resource
import signal
import stat
import threading
import time

import numpy as np
import pytest

import mixlab
from mixlab import writing
from mixlab.errors import MixlabError, TableError
from mixlab.paint.add import add_paint, add_to_table
from mixlab.targets.photo_files import write_picture
from mixlab.writing import alone, together, writable, write_whole

pytestmark = pytest.mark.skipif(os.name != "posix", reason="files as POSIX has them")


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_new_file_is_as_open_as_umask_says(tmp_path):
    usual = os.umask(0o027)
    try:
        write_whole(tmp_path / "a.csv", "a")
    finally:
        os.umask(usual)
    assert stat.S_IMODE((tmp_path / "a.csv").stat().st_mode) == 0o640


def test_a_file_that_was_made_read_only_is_left_alone(run, tmp_path):
    kept = tmp_path / "a.csv"
    kept.write_text("kept")
    kept.chmod(0o444)
    ran = run("tints", "PB29", "--csv", kept)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == f"mixlab: {kept}: it is read-only; make it writable, or name another\n"
    assert kept.read_text() == "kept" and names(tmp_path) == ["a.csv"]


def test_a_name_may_be_as_long_as_the_folder_allows(tmp_path):
    write_whole(tmp_path / ("a" * 251 + ".csv"), "a")
    assert names(tmp_path) == ["a" * 251 + ".csv"]
    with pytest.raises(MixlabError, match="cannot be written: File name too long"):
        writable(tmp_path / ("a" * 256), MixlabError)


def test_a_link_to_itself_is_no_place(run, tmp_path):
    loop = tmp_path / "loop.csv"
    loop.symlink_to(loop.name)
    ran = run("tints", "PB29", "--csv", loop)
    assert (ran.status, ran.out) == (2, "") and "a link that leads to itself" in ran.err
    assert loop.is_symlink() and names(tmp_path) == ["loop.csv"]


def test_a_folder_that_cannot_be_looked_into(run, tmp_path, monkeypatch):
    def refuse(path, *given, **named):
        if str(path).startswith(str(tmp_path)):
            raise PermissionError(13, "Permission denied", str(path))
        return stat_of(path, *given, **named)

    stat_of = os.stat
    monkeypatch.setattr(os, "stat", refuse)
    ran = run("paints", "add", "PB29", "mine", "--out", tmp_path / "t.csv")
    monkeypatch.undo()
    assert (ran.status, ran.out) == (2, "") and ran.err.count("\n") == 1
    assert "cannot be written: Permission denied" in ran.err and not names(tmp_path)


def test_a_folder_that_was_deleted(run, tmp_path, monkeypatch):
    (tmp_path / "gone").mkdir()
    monkeypatch.chdir(tmp_path / "gone")
    (tmp_path / "gone").rmdir()
    for words in ("tints PB29 --csv a.csv", "paints add PB29 mine --out a.csv"):
        ran = run(*words.split())
        assert (ran.status, ran.out) == (2, "")
        assert ran.err == "mixlab: a.csv: the folder that it was to be in is gone\n"
    assert run("mix", "PB29").status == 0


def test_a_pipe_that_nobody_reads_is_not_waited_for(tmp_path, monkeypatch):
    monkeypatch.setattr(writing, "_UNREAD", 0.05)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(MixlabError, match="nothing reads from this pipe"):
        write_whole(tmp_path / "pipe", "lost")


def test_bytes_are_on_the_disk_before_the_file_is_moved(tmp_path, monkeypatch):
    done = []
    for name in ("fsync", "replace"):
        does = getattr(os, name)
        monkeypatch.setattr(os, name, lambda *a, n=name, d=does: (done.append(n), d(*a)))
    with together():
        write_whole(tmp_path / "a", "a")
        write_whole(tmp_path / "b", "b")
        assert not done and not names(tmp_path)
    assert done == ["fsync", "fsync", "replace", "replace"] and names(tmp_path) == ["a", "b"]


# --- all or none --------------------------------------------------------------------------------


@pytest.mark.parametrize("fails", [("open", 2), ("fsync", 2), ("replace", 1), ("replace", 2)])
@pytest.mark.parametrize("links", [True, False])
def test_files_are_written_all_or_none(run, tmp_path, monkeypatch, fails, links):
    """The first is there already, the second is new; one of them cannot be written."""
    first, second = tmp_path / "a.csv", tmp_path / "b.png"
    first.write_text("old")
    name, which = fails
    does, calls = getattr(os, name), []

    def fail(*given, **named):
        if name != "open" or ".mixlab-" in str(given[0]):
            calls.append(given)
            if len(calls) == which:
                raise OSError(28, "No space left on device")
        return does(*given, **named)

    def no_link(*_):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, name, fail)
    if not links:
        monkeypatch.setattr(os, "link", no_link)
    with pytest.raises(MixlabError, match="cannot be written: No space left on device"), together():
        write_whole(first, "new")
        write_whole(second, "new")
    monkeypatch.undo()
    assert names(tmp_path) == ["a.csv"] and first.read_text() == "old"


def test_what_is_written_twice_is_the_same(run, tmp_path):
    from PIL import Image

    for name in "ab":
        (tmp_path / name).mkdir()
        ran = run("tints", "PB29", "--csv", tmp_path / name / "1.csv", "--plot",
                  tmp_path / name / "1.svg")  # fmt: skip
        assert ran.status == 0
    for file in ("1.csv", "1.svg"):
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()
    write_picture(tmp_path / "1.png", np.zeros((2, 2, 3), np.uint8))
    with Image.open(tmp_path / "1.png") as picture:  # to the second, it would be of today
        assert picture.info["icc_profile"][24:36] == bytes.fromhex("07e8000a0011000f00000000")


def test_a_disk_that_is_full(run, tmp_path):
    """A limit on the length of a file stands for it."""
    most = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1_000, most[1]))
    try:
        ran = run("tints", "PB29", "--csv", tmp_path / "a.csv")
        with pytest.raises(MixlabError, match="b: cannot be written: File too large"), together():
            write_whole(tmp_path / "a", "fits")
            write_whole(tmp_path / "b", 2_000 * "-")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, most)
    assert (ran.status, ran.out) == (2, "") and ran.err.count("\n") == 1
    assert "a.csv: cannot be written: File too large" in ran.err and not names(tmp_path)


def test_what_fails_after_a_file_was_made_leaves_none(tmp_path):
    with pytest.raises(ZeroDivisionError), together():
        write_whole(tmp_path / "a", "a")
        1 / 0  # noqa: B018
    assert not names(tmp_path)


# --- signals ------------------------------------------------------------------------------------


class Stopped(BaseException):
    pass


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize("moment", ["open", "fsync", "chmod", "link", "replace", "unlink"])
def test_a_signal_waits_until_files_are_in_place(tmp_path, monkeypatch, moment, number):
    for name in ("a", "b"):
        (tmp_path / name).write_text("old")
    does = getattr(os, moment)

    def interrupted(*given, **named):
        signal.raise_signal(number)
        made = does(*given, **named)
        signal.raise_signal(number)
        return made

    def stop(*_):
        raise Stopped

    usual = signal.signal(number, stop)
    try:
        monkeypatch.setattr(os, moment, interrupted)
        with pytest.raises(Stopped), together():
            write_whole(tmp_path / "a", "new")
            write_whole(tmp_path / "b", "new")
    finally:
        monkeypatch.undo()
        signal.signal(number, usual)
    assert [(tmp_path / name).read_text() for name in names(tmp_path)] == ["new", "new"]


# --- several at once ----------------------------------------------------------------------------


def test_paints_added_at_once_are_all_there(table, tmp_path, monkeypatch):
    """Each holds the table from reading to writing; threads hold it apart as processes do."""
    path, wrong = tmp_path / "t.csv", []
    written = mixlab.paint.add.write_table
    monkeypatch.setattr(
        mixlab.paint.add, "write_table", lambda *given: (time.sleep(0.02), written(*given))[1]
    )

    def add(i):
        try:
            add_to_table(add_paint(table["burnt-sienna"], f"mine-{i}"), path)
        except MixlabError as error:
            wrong.append(error)

    threads = [threading.Thread(target=add, args=(i,)) for i in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong and names(tmp_path) == ["t.csv"]
    assert sorted(mixlab.read_table(path).ids) == [f"mine-{i}" for i in range(8)]


def test_who_holds_a_folder_for_ever_is_not_waited_for(tmp_path, monkeypatch):
    monkeypatch.setattr(writing, "_HELD", 0.05)
    with (
        alone(tmp_path / "a", TableError),
        pytest.raises(TableError, match="another program holds its folder"),
        alone(tmp_path / "b", TableError),
    ):
        raise AssertionError("both hold it")
    with alone(tmp_path / "a", TableError):
        write_whole(tmp_path / "a", "a")
    assert names(tmp_path) == ["a"]
