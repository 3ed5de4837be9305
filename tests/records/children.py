"""Work in a process of its own, which is killed at some moment."""

from __future__ import annotations

import contextlib
import os
import signal
import time


def in_child(work):
    """Run work in a process of its own; return its number and the end of a pipe it writes to."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child:
        os.close(theirs)
        return child, ours
    code = 1
    try:
        os.close(ours)
        work(lambda word: os.write(theirs, f"{word}\n".encode()))
        code = 0
    finally:
        os._exit(code)


def kill_after(child, pipe, reports, moment):
    """Kill a child some time after it has written so many words; return all that it wrote."""
    said = b""
    while said.count(b"\n") < reports:
        byte = os.read(pipe, 1)
        if not byte:
            break
        said += byte
    time.sleep(moment)
    with contextlib.suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return (said.decode() + " ".join(read_all(pipe))).split()


def read_all(pipe):
    """Return the words that a child wrote before its end."""
    with os.fdopen(pipe, encoding="utf-8") as lines:
        return lines.read().split()
