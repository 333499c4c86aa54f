"""Work spread over processes, or over machines, with the same result wherever it is done.

What is spread is a function and a list of things to do it to, each by itself. An executor of the
standard library's kind does it: processes on this machine, or the workers of a Dask scheduler,
which is what the extra ``mixlab[cluster]`` installs. A worker that is lost costs time: what it
held is done here.
"""

import logging
import os
import re
import signal
import socket
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from typing import Any, TypeVar

from mixlab.errors import ReachError

_A = TypeVar("_A")
_B = TypeVar("_B")

MOST_JOBS = 256
_PATIENCE = 4  # until a scheduler has answered [s]; it is asked twice
_ADDRESS = re.compile(r"(?:(\w+)://)?(\[[0-9a-fA-F:]+\]|[\w.-]+):(\d{1,5})/?")
_GREETING = 1 << 20  # the first words of a scheduler are shorter [bytes]


def each_done(
    work: Callable[[_A], _B], things: Sequence[_A], executor: Any = None
) -> Iterator[_B]:
    """Yield what `work` makes of each thing, in their order.

    Parameters
    ----------
    work : a function of a module, so that it can be sent
    things : what it is done to
    executor : with ``submit`` as in concurrent.futures, or a Dask client; here if None

    Raises
    ------
    ReachError : for an executor that is none
    whatever `work` raises here: a thing that failed elsewhere is tried here before it counts
    """
    if executor is None:
        yield from map(work, things)
        return
    if hasattr(executor, "get_executor"):  # a Dask client
        executor = executor.get_executor(pure=False)
    if not hasattr(executor, "submit"):
        raise ReachError(f"a {type(executor).__name__} is no executor: it has no submit")
    futures: list[Any] = []
    # one that has broken, or lost its scheduler, takes no more: what it does not take is done here
    with suppress(Exception):
        futures.extend(executor.submit(work, thing) for thing in things)
    try:
        for place, thing in enumerate(things):
            try:
                made = futures[place].result()
            except Exception:  # its worker is gone, or it was never taken
                made = work(thing)
            yield made
    finally:
        for future in futures:
            future.cancel()


@contextmanager
def processes(jobs: int) -> Iterator[Executor | None]:
    """Give an executor of so many processes on this machine; None for one, which is this one.

    Raises
    ------
    ReachError : for a number that makes no sense
    """
    import multiprocessing

    if jobs not in range(1, MOST_JOBS + 1):
        raise ReachError(f"{jobs} processes: it must be 1 to {MOST_JOBS}; one a core is good")
    if jobs == 1:
        yield None
        return
    fresh = multiprocessing.get_context("spawn")  # a copy of this process would share its locks
    pool = ProcessPoolExecutor(jobs, mp_context=fresh, initializer=_deaf)
    # deaf from their first moment on, before they can see to it themselves
    heard = threading.current_thread() is threading.main_thread()
    usual = signal.signal(signal.SIGINT, signal.SIG_IGN) if heard else None
    try:
        for _ in range(jobs):
            pool.submit(abs, 0)  # the first things to do start the processes
    finally:
        if heard:
            signal.signal(signal.SIGINT, usual)
    try:
        yield pool
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        raise
    pool.shutdown(cancel_futures=True)


def _deaf() -> None:
    """Leave Ctrl-C, which a terminal sends to every process, to the one that was started.

    When that one is gone, so is this: it would wait for work, and hold stdout, for ever.
    """
    from multiprocessing import parent_process

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if (parent := parent_process()) is not None:
        threading.Thread(target=_outlived, args=(parent,), daemon=True).start()


def _outlived(parent: Any) -> None:
    parent.join()
    os._exit(1)


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
    """Give an executor of the workers of a Dask scheduler, by its address, as tcp://host:8786.

    mixlab has to be installed on each of them, in the same version.

    Raises
    ------
    ReachError : if Dask is not installed, the scheduler does not answer, or it has no workers
    """
    try:
        import distributed
    except ImportError:
        raise ReachError(
            'a scheduler needs Dask: install it with pip install "mixlab[cluster]"'
        ) from None
    _knock(address)
    for handler in logging.getLogger("distributed").handlers:
        handler.setLevel(logging.CRITICAL)  # a scheduler that is lost costs time, and no words
    make: Any = distributed.Client
    try:
        client = make(address, timeout=f"{_PATIENCE}s", set_as_default=False)
    except Exception as error:  # of every kind, where two versions do not understand each other
        raise _silent(address, f"{type(error).__name__}: {error}") from None
    try:
        if not client.nthreads():
            raise ReachError(f"the scheduler at {address} has no workers yet; start some first")
        with client.get_executor(pure=False) as executor:
            yield executor
    finally:
        client.close()


def _knock(address: str) -> None:
    """Raise ReachError unless a scheduler greets at an address.

    Dask greets whoever connects, by the length of what it says and that. What says nothing, or
    something else, would keep it waiting, or make it take the first bytes for a huge length.
    """
    written = _ADDRESS.fullmatch(address)
    if written is None:
        raise _silent(address, "it is no address")
    scheme, host, port = written.groups()
    if scheme not in (None, "tcp"):
        raise ReachError(f"--scheduler {scheme}://..: only a scheduler at tcp://host:8786 is asked")
    try:
        with socket.create_connection((host.strip("[]"), int(port)), _PATIENCE) as line:
            line.settimeout(_PATIENCE)
            length = line.recv(8, socket.MSG_WAITALL)
    except (OSError, OverflowError, UnicodeError) as error:
        raise _silent(address, getattr(error, "strerror", None) or str(error)) from None
    if len(length) < 8 or int.from_bytes(length, "little") > _GREETING:
        raise _silent(address, "what listens there is no Dask scheduler")


def _silent(address: str, why: str) -> ReachError:
    return ReachError(
        f"no scheduler answers at {address[:80]!r}: {' '.join(why.split())[:120]}; "
        "its address is written as tcp://host:8786"
    )
