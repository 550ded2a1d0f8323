"""Every call to the file system that a run makes, counted; at a chosen one something happens."""

from __future__ import annotations

import builtins
import errno
import fcntl
import io
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest

WRITING = frozenset(("open", "write", "flush", "close", "fsync", "mkdir", "link", "replace"))
"""Calls that a full disk can fail."""

_OF_OS = (
    "access", "chmod", "close", "fsync", "fstat", "ftruncate", "link", "listdir", "lstat", "mkdir",
    "open", "read", "readlink", "remove", "rename", "replace", "rmdir", "scandir", "stat",
    "truncate", "unlink", "utime", "write",
)  # fmt: skip


def full(name: str) -> None:
    """A disk without room."""
    if name in WRITING:
        raise OSError(errno.ENOSPC, "No space left on device")


def broken(name: str) -> None:
    """A disk that fails, whatever it is asked."""
    raise OSError(errno.EIO, f"Input/output error at {name}")


@dataclass
class FailingDisk:
    """The calls of this process to the file system, by name, in their order.

    Args:
        step: Number of the call, from 1, before which something happens; 0 for none.
        happens: What, told the name of the call.
    """

    step: int = 0
    happens: Callable[[str], None] = broken
    calls: list[str] = field(default_factory=list)

    def put_in(self, patch: pytest.MonkeyPatch) -> None:
        """Stand between this process and the file system."""
        for name in _OF_OS:
            patch.setattr(os, name, self._counted(name, getattr(os, name)))
        patch.setattr(fcntl, "flock", self._counted("flock", fcntl.flock))
        opened = self._counted("open", io.open)

        def with_file(*args: Any, **keywords: Any) -> _File:
            return _File(opened(*args, **keywords), self)

        patch.setattr(os, "fdopen", lambda *args, **keywords: _File(_open(*args, **keywords), self))
        patch.setattr(io, "open", with_file)
        patch.setattr(builtins, "open", with_file)

    def met(self, name: str) -> None:
        """Count a call, and let happen what is to happen at it."""
        self.calls.append(name)
        if len(self.calls) == self.step:
            self.happens(name)

    def _counted(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **keywords: Any) -> Any:
            self.met(name)
            return real(*args, **keywords)

        return call


_open = io.open


class _File:
    """An open file whose reads, writes and end are counted; a write may end half through."""

    def __init__(self, file: Any, disk: FailingDisk) -> None:
        self._file, self._disk = file, disk

    def __enter__(self) -> _File:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def read(self, *args: Any) -> Any:
        self._disk.met("read")
        return self._file.read(*args)

    def write(self, data: Any) -> int:
        half = len(data) // 2
        for piece in (data[:half], data[half:]):
            self._disk.met("write")
            self._file.write(piece)
            self._file.flush()
        return len(data)

    def flush(self) -> None:
        self._disk.met("flush")
        self._file.flush()

    def close(self) -> None:
        try:
            self._disk.met("close")
        finally:
            self._file.close()
