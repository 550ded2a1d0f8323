"""Damaged and hostile copies of a workbook: whether the command says a clear sentence of each.

    python scripts/fuzz_packages.py                        2,000 copies of the demo workbook
    python scripts/fuzz_packages.py SHED.xlsx --packages 200 --seed 7

Copy number n of a seed is always the same. Of every copy `check` is asked, of every tenth that it
can read `refill`. Prints how many were read and refused, the slowest, the most memory in use, and
each fault: another exit code than 0, 1 or 2, a traceback, no sentence or several, more than 30 s,
a file that a refused run changed, another file touched. Exit code: 1 if there was one.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import random
import re
import struct
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

Parts = dict[str, bytes]
MOST_S = 30.0
LONGEST = 700
"""Characters of a sentence and its cure, with the names that a file may bring in."""
_FOR_PROGRAMMERS = re.compile(r"Traceback|\b[A-Z]\w*(?:Error|Exception)\b|<class|0x[0-9a-f]{6}")

NASTY = (
    b"", b"<", b"&", b"\0", b"</c>", b"<c>", b'"', b"99999999999", b"-1", b"#REF!", b"'", b"1e308",
    b"<f t='shared' si='0'/>", b"\xff", b"&#0;", b"A1:XFD1048576", b"<row r='7'>", b"r:id", b"[",
    b"t='s'", b"nan", b"1e999", b"\xe2\x80\xae", b"../../../../etc/passwd", b" : ", b"=1", b"0x10",
    b"_x0000_", b"_xD800_", b"&#xD83D;", b"'!'!A1", b"XFE1048577", b"\xef\xbf\xbf", b"1" * 400,
    b"A" * 40_000, b"TRUE", b"2026-02-30", b"\r\n\t", b"%", b"{0}", b"{a|b}",
)  # fmt: skip
LAUGHS = (
    b'<!DOCTYPE lolz [<!ENTITY a0 "ha">'
    + b"".join(b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 10))
    + b"]>"
)
OUTSIDE = b'<!DOCTYPE x [<!ENTITY a9 SYSTEM "file:///etc/hostname">]>'
PATHS = (
    "../../evil.xml",
    "/etc/evil",
    "..\\evil.xml",
    "C:\\evil.xml",
    "xl/../../evil",
    "CON",
    "a/",
)


def parts_of(data: bytes) -> Parts:
    """Every part's bytes by its name."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {info.filename: archive.read(info) for info in archive.infolist()}


def zipped(parts: Mapping[str, bytes], more: tuple[tuple[str, bytes], ...] = ()) -> bytes:
    """A zip of the parts, and of more that may bear the name of one of them."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in (*parts.items(), *more):
            info = zipfile.ZipInfo(name)
            info.filename, info.compress_type = name, zipfile.ZIP_DEFLATED
            with contextlib.suppress(UserWarning):
                archive.writestr(info, content)
    return out.getvalue()


def copy_of(data: bytes, seed: int, number: int) -> tuple[str, bytes]:
    """What was done to a copy, in two words, and the copy."""
    rng = random.Random(f"{seed} {number}")
    if rng.random() < 0.25:
        way: Callable[..., bytes] = rng.choice((_cut, _bits, _piece, _directory, _overlap))
        return way.__name__.strip("_"), way(data, rng)
    parts = parts_of(data)
    if rng.random() < 0.3:
        whole = rng.choice(
            (*(_dropped, _twice, _climbing, _types, _relation, _entities) * 3, _rows)
        )
        return whole.__name__.strip("_"), whole(parts, rng)
    xml = sorted(name for name in parts if name.endswith((".xml", ".rels")))
    part = rng.choice(xml)
    change = rng.choice((_text, _attribute, _element, _junk, _bits, _swapped))
    for _ in range(rng.choice((1, 1, 1, 3))):
        parts[part] = change(parts[part], rng)
    return f"{change.__name__.strip('_')} {part}", zipped(parts)


# --- the zip ---


def _cut(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data))]


def _bits(data: bytes, rng: random.Random) -> bytes:
    """Bits turned: a whole file's checksums tell of it, a part that is packed anew does not."""
    found = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 8)) if found else 0):
        found[rng.randrange(len(found))] ^= 1 << rng.randrange(8)
    return bytes(found)


def _piece(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data))
    return data[:at] + rng.randbytes(rng.randrange(40)) + data[at + rng.randrange(2000) :]


def _directory(data: bytes, rng: random.Random) -> bytes:
    """A lie in the zip's directory: method, flags, checksum, sizes, lengths of names, offset."""
    found = bytearray(data)
    places = [match.start() for match in re.finditer(b"PK\x01\x02", data)]
    field, size = rng.choice(
        ((8, 2), (10, 2), (16, 4), (20, 4), (24, 4), (28, 2), (30, 2), (32, 2), (42, 4))
    )
    value = rng.choice((0, 1, 7, 99, 65535, 2**31, 2**32 - 1, rng.randrange(2**32)))
    at = rng.choice(places) + field
    found[at : at + size] = struct.pack("<I", value)[:size]
    if rng.random() < 0.3:
        end = data.rindex(b"PK\x05\x06") + rng.choice((8, 10, 12, 16, 20))
        found[end : end + 2] = struct.pack("<H", value & 0xFFFF)
    return bytes(found)


def _overlap(data: bytes, rng: random.Random) -> bytes:
    """Two parts that share their bytes."""
    places = [match.start() for match in re.finditer(b"PK\x01\x02", data)]
    one, other = rng.sample(places, 2)
    found = bytearray(data)
    found[one + 16 : one + 28] = data[other + 16 : other + 28]
    found[one + 42 : one + 46] = data[other + 42 : other + 46]
    return bytes(found)


# --- whole parts ---


def _dropped(parts: Parts, rng: random.Random) -> bytes:
    del parts[rng.choice(sorted(parts))]
    return zipped(parts)


def _twice(parts: Parts, rng: random.Random) -> bytes:
    name = rng.choice(sorted(parts))
    again = rng.choice((name, name.upper(), f"/{name}", name.replace("/", "\\")))
    return zipped(parts, ((again, parts[rng.choice(sorted(parts))]),))


def _climbing(parts: Parts, rng: random.Random) -> bytes:
    name = rng.choice(PATHS)
    if rng.random() < 0.5:
        return zipped(parts, ((name, b"evil"),))
    old = rng.choice(sorted(parts))
    return zipped({name if key == old else key: content for key, content in parts.items()})


def _types(parts: Parts, rng: random.Random) -> bytes:
    part = "[Content_Types].xml"
    kinds = re.findall(rb'ContentType="([^"]*)"', parts[part])
    old, new = rng.choice(kinds), rng.choice((*kinds, *NASTY))
    parts[part] = parts[part].replace(b'"%s"' % old, b'"%s"' % new, rng.choice((1, -1)))
    return zipped(parts)


def _relation(parts: Parts, rng: random.Random) -> bytes:
    part = rng.choice(sorted(name for name in parts if name.endswith(".rels")))
    word = rng.choice((b"Target", b"Type", b"Id", b"TargetMode"))
    values = re.findall(rb' %s="([^"]*)"' % word, parts[part]) or [b""]
    others = (*values, *(name.encode() for name in parts), *(p.encode() for p in PATHS), *NASTY)
    old, new = b'%s="%s"' % (word, rng.choice(values)), b'%s="%s"' % (word, rng.choice(others))
    parts[part] = parts[part].replace(old, new, 1)
    return zipped(parts)


def _entities(parts: Parts, rng: random.Random) -> bytes:
    part = rng.choice(sorted(name for name in parts if name.endswith((".xml", ".rels"))))
    head, mark, body = parts[part].partition(b"?>")
    doctype = rng.choice((LAUGHS, OUTSIDE))
    content = head + mark + doctype + body.replace(b"><", b">&a9;<", 1)
    if rng.random() < 0.3:
        content = content.decode("utf-8", "replace").encode("utf-16")
    parts[part] = content
    return zipped(parts)


def _rows(parts: Parts, rng: random.Random) -> bytes:
    """Many more rows, elements or levels than anyone types."""
    part = rng.choice(sorted(name for name in parts if "worksheets/sheet" in name))
    kind = rng.randrange(3)
    if kind == 0:
        more = b"".join(b'<row r="%d"><c r="A%d"/></row>' % (n, n) for n in range(9_000, 307_000))
    elif kind == 1:
        more = b'<row r="9000">' + b"<c/>" * rng.choice((20_000, 700_000)) + b"</row>"
    else:
        more = b"<row>" * 60_000 + b"</row>" * 60_000
    parts[part] = parts[part].replace(b"</sheetData>", more + b"</sheetData>")
    return zipped(parts)


# --- inside of a part ---


def _at_random(pattern: bytes, content: bytes, rng: random.Random) -> re.Match[bytes] | None:
    """A match of the pattern behind a place drawn at random, or the first one."""
    pattern_at = re.compile(pattern)
    found = pattern_at.search(content, rng.randrange(len(content) or 1))
    return found or pattern_at.search(content)


def _instead(content: bytes, pattern: bytes, rng: random.Random, news: tuple[bytes, ...]) -> bytes:
    found = _at_random(pattern, content, rng)
    if found is None:
        return content
    return content[: found.start(1)] + rng.choice(news) + content[found.end(1) :]


def _text(content: bytes, rng: random.Random) -> bytes:
    return _instead(content, rb">([^<>]+)<", rng, NASTY)


def _attribute(content: bytes, rng: random.Random) -> bytes:
    return _instead(content, rb' [\w:]+="([^"]*)"', rng, NASTY)


def _junk(content: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(content) + 1)
    return content[:at] + rng.choice(NASTY) + content[at + rng.randrange(30) :]


def _element(content: bytes, rng: random.Random) -> bytes:
    """An element that is left out, that stands twice, or that bears another one's name."""
    found = _at_random(rb"<(\w+)[^<>]*(?:/>|>[^<]*</\1>)", content, rng)
    if found is None:
        return content
    name = rng.choice((b"c", b"row", b"f", b"v", b"sheet", b"definedName", b"x", b"xf"))
    new = rng.choice((b"", found[0] * 2, found[0].replace(found[1], name)))
    return content[: found.start()] + new + content[found.end() :]


def _swapped(content: bytes, rng: random.Random) -> bytes:
    """The value of one attribute, or a text, in the place of another's."""
    pattern = rng.choice((rb' [\w:]+="([^"]*)"', rb">([^<>]+)<"))
    found = _at_random(pattern, content, rng)
    return content if found is None else _instead(content, pattern, rng, (found[1],))


# --- what comes of it ---


def fault_of(code: int, said: str) -> str:
    """What is wrong with an exit code and what was said, if anything."""
    if code not in (0, 1, 2):
        return f"exit code {code}"
    lines = [line for line in said.splitlines() if line.strip()]
    if code == 2 and (len(lines) != 1 or len(said) > LONGEST):
        return f"{len(lines)} lines, {len(said)} characters: {said[:200]}"
    if "Traceback" in said or re.search(
        r"\b[A-Z]\w*(?:Error|Exception)\b|<class|0x[0-9a-f]{6}", said
    ):
        return f"no sentence for people: {said[:200]}"
    return ""


def _run(arguments: list[str]) -> tuple[int, str]:
    from estimator.cli import main as command

    errors = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(errors):
        code = command(arguments)
    return code, errors.getvalue()


def tried(path: Path, data: bytes, run: Callable[[], tuple[int, str]]) -> tuple[int, list[str]]:
    """The exit code of a run on a copy that stands alone in a folder, and its faults."""
    path.write_bytes(data)
    start = time.process_time()
    try:
        code, said = run()
    except Exception:
        return 3, [traceback.format_exc()]
    faults = [fault_of(code, said)]
    if time.process_time() - start > MOST_S:
        faults.append(f"took {time.process_time() - start:.0f} s")
    allowed = {path.name, f"{path.stem}.previous{path.suffix}"} if code == 0 else {path.name}
    others = {found.name for found in path.parent.iterdir()} - allowed
    if others:
        faults.append(f"left {', '.join(sorted(others))}")
    if code != 0 and path.read_bytes() != data:
        faults.append("changed the file that it refused")
    return code, [fault for fault in faults if fault]


def main() -> int:
    """Try the copies and print what came of them."""
    import resource

    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("file", type=Path, nargs="?", help="the workbook; else the demo")
    parser.add_argument("--packages", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first copy")
    options = parser.parse_args()
    codes: Counter[str] = Counter()
    slowest, faulty = (0.0, 0), 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "demo.xlsx")
        if options.file is None:
            _run(["new", "--demo", str(path)])
        data = (options.file or path).read_bytes()
        for number in range(options.first, options.first + options.packages):
            what, copy = copy_of(data, options.seed, number)
            start = time.process_time()
            code, faults = tried(path, copy, lambda: _run(["check", str(path)]))
            codes[f"check {code}"] += 1
            if code < 2 and number % 10 == 0:
                code, more = tried(path, copy, lambda: _run(["refill", str(path)]))
                codes[f"refill {code}"] += 1
                faults += more
                path.with_name("demo.previous.xlsx").unlink(missing_ok=True)
            slowest = max(slowest, (time.process_time() - start, number))
            faulty += bool(faults)
            for fault in faults:
                print(f"copy {number} of seed {options.seed} ({what}): {fault}", flush=True)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10
    print(", ".join(f"{name}: {count}" for name, count in sorted(codes.items())))
    print(f"slowest: copy {slowest[1]}, {slowest[0]:.1f} s; most memory: {memory} MB")
    print(f"{faulty} of {options.packages} copies with a fault")
    return int(faulty > 0)


if __name__ == "__main__":
    sys.exit(main())
