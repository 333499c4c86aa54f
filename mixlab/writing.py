"""How files are written: whole or not at all, several as one, and one who writes after another."""

import csv
import errno
import io
import os
import secrets
import shutil
import signal
import stat
import threading
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path
from typing import Any, NamedTuple

from mixlab.errors import MixlabError
from mixlab.files import FORMULA

_UNREAD = 3.0  # how long a pipe may lack a reader [s]
_HELD = 30.0  # how long others may hold a file [s]
_STOPS = ("SIGTERM", "SIGHUP", "SIGINT")


class _File(NamedTuple):
    """What is to be written."""

    path: str | os.PathLike[str]
    data: bytes | memoryview
    mistake: type[MixlabError]


_waiting: ContextVar[list[_File] | None] = ContextVar("waiting", default=None)


def writable(path: str | os.PathLike[str], mistake: type[MixlabError]) -> Path:
    """Return the path of a file to be written; raise `mistake` if it cannot be.

    Asked before the work is done, so that a wrong name costs no time.
    """
    _place(path, mistake)
    return Path(path)


def write_whole(
    path: str | os.PathLike[str], content: str | bytes | memoryview,
    mistake: type[MixlabError] = MixlabError,
) -> None:  # fmt: skip
    """Write a file so that it is either there whole or not changed at all.

    Under :func:`together` it waits for the others. A file that is there keeps its permissions, and
    is left alone if they forbid writing; a link leads where it led; what is no file, a pipe or a
    device, is written to as it stands. `mistake` is raised if it cannot be written.
    """
    with together():
        waiting = _waiting.get()
        assert waiting is not None
        waiting.append(
            _File(path, content.encode() if isinstance(content, str) else content, mistake)
        )


@contextmanager
def together() -> Iterator[None]:
    """Write what is written in this block, and in blocks within it, as one: all of it or none."""
    if _waiting.get() is not None:
        yield
        return
    outside = _waiting.set([])
    try:
        yield
        settle()
    finally:
        _waiting.reset(outside)


def settle() -> None:
    """Write what waits under :func:`together`: all of it, or none if one file cannot be written.

    Each is written beside its place and moved there once all are on the disk. Ctrl-C, and signals
    that end the process, wait for that. Raises the `mistake` of the file that cannot be written.
    """
    waiting = _waiting.get() or []
    todo = [(*_place(file.path, file.mistake), file) for file in waiting]
    waiting.clear()
    plain = [one for one in todo if one[1] is None or stat.S_ISREG(one[1].st_mode)]
    for one in todo:
        if one not in plain:  # before any file, as it cannot be taken back
            with _told(one[2]):
                _pass_on(one[0], one[2].data)
    if plain:
        with _unstopped():
            _all_or_none(plain)


def _place(
    path: str | os.PathLike[str], mistake: type[MixlabError]
) -> tuple[str, os.stat_result | None]:
    """Return where a file is to stand, its links followed, and what stands there."""
    if not os.fspath(path):
        raise mistake("a file to be written needs a name; the one that was given is empty")
    there = None
    try:
        real = os.path.realpath(path)
        with suppress(FileNotFoundError, NotADirectoryError):
            there = os.stat(real)
    except FileNotFoundError:
        raise mistake(f"{path}: the folder that it was to be in is gone") from None
    except (OSError, ValueError) as error:  # a null character is a ValueError
        loop = isinstance(error, OSError) and error.errno == errno.ELOOP
        why = "it is a link that leads to itself" if loop else getattr(error, "strerror", error)
        raise mistake(f"{str(path)!r}: cannot be written: {why}") from None
    folder = os.path.dirname(real)
    if there is not None and stat.S_ISDIR(there.st_mode):
        raise mistake(f"{path}: it is a folder")
    if not os.path.isdir(folder):
        raise mistake(f"{path}: there is no folder {Path(path).parent}")
    # root may write what nobody may; it was made so on purpose all the same
    if there is not None and not (there.st_mode & 0o222 and os.access(real, os.W_OK)):
        raise mistake(f"{path}: it is read-only; make it writable, or name another")
    whole = there is None or stat.S_ISREG(there.st_mode)
    if whole and not os.access(folder, os.W_OK | os.X_OK):
        raise mistake(f"{path}: cannot be written: its folder is read-only")
    return real, there


@contextmanager
def _told(file: _File) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise file.mistake(f"{file.path}: cannot be written: {error.strerror}") from None


def _pass_on(path: str, data: bytes | memoryview) -> None:
    """Write to a pipe or a device; OSError if nobody reads from the pipe for some seconds."""
    begun = time.monotonic()
    while True:
        try:
            handle = os.open(path, os.O_WRONLY | getattr(os, "O_NONBLOCK", 0))
            break
        except OSError as error:
            if error.errno != errno.ENXIO:
                raise
            if time.monotonic() - begun > _UNREAD:
                raise OSError(error.errno, "nothing reads from this pipe") from None
            time.sleep(0.02)
    os.set_blocking(handle, True)
    with os.fdopen(handle, "wb") as stream:
        stream.write(data)


def _all_or_none(plain: Sequence[tuple[str, os.stat_result | None, _File]]) -> None:
    """Write files beside their places, then move them there; take back what one failure leaves."""
    new: list[str] = []
    old: list[str] = []
    moved = 0
    try:
        for real, there, file in plain:
            with _told(file):
                new.append(_beside(real))
                _fill(new[-1], file.data, there)
        for real, there, file in plain if len(plain) > 1 else ():
            with _told(file):
                old.append(_beside(real))
                if there is not None:
                    try:
                        os.link(real, old[-1])
                    except OSError:  # a file system without links
                        shutil.copy2(real, old[-1])
        for name, (real, _, file) in zip(new, plain, strict=True):
            with _told(file):
                os.replace(name, real)
            moved += 1
    except BaseException:
        for kept, (real, there, _) in zip(old, plain[:moved], strict=False):
            with suppress(OSError):
                os.unlink(real) if there is None else os.replace(kept, real)
        raise
    finally:
        for name in (*new, *old):
            with suppress(OSError):
                os.unlink(name)


def _beside(real: str) -> str:
    return os.path.join(os.path.dirname(real), f".mixlab-{secrets.token_hex(8)}")


def _fill(name: str, data: bytes | memoryview, there: os.stat_result | None) -> None:
    """Write a new file, and see it on the disk; as open to others as what it is to replace."""
    mode = 0o666 if there is None else stat.S_IMODE(there.st_mode)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(name, flags, mode), "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    if there is not None:
        with suppress(OSError, AttributeError):  # only root gives a file away
            os.chown(name, there.st_uid, there.st_gid)
        os.chmod(name, mode)


@contextmanager
def _unstopped() -> Iterator[None]:
    """Let signals that would end the process wait until the block is done."""
    usual: dict[int, Any] = {}
    heard: list[int] = []
    try:
        if threading.current_thread() is threading.main_thread():
            for number in (getattr(signal, name) for name in _STOPS if hasattr(signal, name)):
                if (how := signal.getsignal(number)) is not None:  # None is not of Python's making
                    usual[number] = how
                    signal.signal(number, lambda number, _: heard.append(number))
        yield
    finally:
        for number, how in usual.items():
            signal.signal(number, how)
        for number in sorted(set(heard), key=list(usual).index):
            signal.raise_signal(number)


@contextmanager
def alone(path: str | os.PathLike[str], mistake: type[MixlabError]) -> Iterator[None]:
    """Hold a file from the reading of it to its writing, from others who would hold it so too.

    The folder is locked: the file is another one once it is written, and a file to lock would be
    left behind. Where there are no such locks (Windows, some network drives) nobody is held up.
    Raises `mistake` if the file cannot be written, or others hold it for too long.
    """
    folder = os.path.dirname(_place(path, mistake)[0])
    try:
        import fcntl
    except ImportError:
        yield
        return
    with _told(_File(path, b"", mistake)):
        handle = os.open(folder, os.O_RDONLY)
    try:
        begun = time.monotonic()
        while True:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                if time.monotonic() - begun > _HELD:
                    raise mistake(f"{path}: another program holds its folder") from None
                time.sleep(0.02)
                continue
            except OSError:
                pass
            break
        yield
    finally:
        os.close(handle)


# --- CSV ----------------------------------------------------------------------------------------

def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return rows as CSV text; numbers stand as they are, an empty cell for None.

    A text that a spreadsheet would run as a formula (it starts with = + - @, a tab or a return) is
    made harmless by an apostrophe before it (common practice, no source), which
    :func:`mixlab.files.csv_rows` takes off.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    for row in (header, *rows):
        writer.writerow([
            "'" + cell if isinstance(cell, str) and FORMULA.match(cell) else cell
            for cell in row
        ])  # fmt: skip
    return text.getvalue()
