"""Reads the lock files: which packages at which versions, and what a lock must never hold."""

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

RUN_LOCK = "requirements.lock"
TEST_LOCK = "requirements-dev.lock"

_PIN = re.compile(r"^(?P<name>[A-Za-z0-9._-]+)==(?P<version>[^\s;]+)\s*(?:;\s*(?P<marker>.+))?$")
_HASH = re.compile(r"--hash=(\S+)")
_SHA256 = re.compile(r"sha256:[0-9a-f]{64}")
_PLATFORM = re.compile(r"sys_platform\s*(==|!=)\s*'(\w+)'")


@dataclass(frozen=True, slots=True)
class Pin:
    """One locked package: its name and version, where it applies, and the hashes it may have."""

    name: str
    version: str
    marker: str
    hashes: tuple[str, ...]

    def applies_on(self, platform: str) -> bool:
        """Tell whether the marker lets this package in on `platform` (as in `sys.platform`)."""
        return all(
            (platform == named) == (sign == "==") for sign, named in _PLATFORM.findall(self.marker)
        )


def canonical(name: str) -> str:
    """Give a package's name as indexes compare it: lower case, single hyphens."""
    return re.sub(r"[-_.]+", "-", name).lower()


def parse_lock(text: str) -> tuple[Pin, ...]:
    """Give the pins of a lock file's text.

    Raises ValueError, with the offending line, for anything but `name==version ; marker` with
    its hashes: an option, an address, a path, a comment or an open range.
    """
    pins = []
    for line in text.replace("\\\n", " ").splitlines():
        if not line.strip():
            continue
        hashes = tuple(_HASH.findall(line))
        match = _PIN.match(_HASH.sub("", line).strip())
        if match is None:
            raise ValueError(f"not a pinned package: {line.strip()[:100]}")
        if not hashes or not all(_SHA256.fullmatch(value) for value in hashes):
            raise ValueError(f"no sha256 hash, or a broken one, for {match['name']}")
        marker = (match["marker"] or "").strip()
        pins.append(Pin(canonical(match["name"]), match["version"], marker, hashes))
    return tuple(pins)


def packages_on(pins: tuple[Pin, ...], platform: str) -> int:
    """Count the packages that a lock installs on `platform` (as in `sys.platform`)."""
    return len({pin.name for pin in pins if pin.applies_on(platform)})


def lock_digest(path: Path) -> str:
    """Give the sha256 of a lock's text, the same whichever line ends a checkout gave it."""
    text = path.read_bytes().replace(b"\r\n", b"\n")
    return hashlib.sha256(text).hexdigest()
