"""Processes that share the work on many files, and end with the one that started them."""

import gc
import os
import signal
import threading
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context, parent_process


def worker_pool(jobs: int) -> ProcessPoolExecutor:
    """Return a pool of ``jobs`` processes, each started afresh.

    A forked process may wait for a lock that nobody holds any more.
    """
    return ProcessPoolExecutor(jobs, mp_context=get_context("spawn"), initializer=_begin)


def _begin() -> None:
    """Set up a process: the one that started it is asked to end it, not the user."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # Looking for cycles among values that live to the end of a file finds none; who works on
    # many collects between two.
    gc.disable()
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Leave no process behind when the one that started it is killed."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
