"""Names of files that every system takes, so that a workbook can be handed on.

Windows' rules: Microsoft, "Naming Files, Paths, and Namespaces" (from memory).
"""

from __future__ import annotations

import re
from pathlib import Path

from estimator.errors import FileError

_DEVICE = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[1-9¹²³]) *(?:\.|$)", re.I)
_REFUSED = re.compile(r'[<>:"|?*\\\x00-\x1f]')


def portable(path: Path) -> Path:
    """The path itself, of a file that is to be made.

    Raises:
        FileError: If Windows can't have a file of that name.
    """
    name = path.name
    mark = _REFUSED.search(name)
    if _DEVICE.match(name):
        why = "Windows keeps that name for a device"
    elif mark is not None:
        why = f"Windows takes no {mark[0]!r} in the name of a file"
    elif name != name.rstrip(" ."):
        why = "Windows drops a dot or a blank at the end of a name"
    else:
        return path
    raise FileError(f"{why}.", where=name, cure="Give another name, such as shed.xlsx.")
