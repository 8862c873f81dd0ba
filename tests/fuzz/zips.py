"""Zips nobody should send, made when the tests run: bombs, lies about sizes, names that lead elsewhere."""

import stat
import struct
import warnings
import zipfile
from collections.abc import Iterator, Mapping
from io import BytesIO

LOTS = "number,ingredient\r\nG-1,glycerin\r\n"
MANY = 100_000
NAMES = (
    "../lots.csv", "../../../../etc/cron.d/lots.csv", "/lots.csv", "/etc/passwd", "..\\lots.csv", "C:\\lots.csv",
    "C:lots.csv", "\\\\host\\share\\lots.csv", "//host/lots.csv", "shop/lots.csv", "./lots.csv", "lots.csv/",
    "CON.csv", "NUL", "aux.csv", "lots.csv:stream", "lots.csv ", " lots.csv", "lots.csv.", "LOTS.CSV",
    "lots\u202evsc.csv", "lots.csv\n", "\x1b[2J.csv", "l\u043ets.csv", "\ufb02ots.csv", "a" * 60_000, ".",
    "..", "~", "", "records.db", "lots.zip", "lots.csv\\",
)  # fmt: skip


def packed(files: Mapping[str, str | bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A sound zip of these files."""
    out = BytesIO()
    with zipfile.ZipFile(out, "w", how) as made:
        for name, content in files.items():
            made.writestr(zipfile.ZipInfo(name), content, how)
    return out.getvalue()


def zips() -> Iterator[tuple[str, bytes]]:
    """Each with what it is."""
    for name in NAMES:
        yield f"named {name[:40]!r}", packed({name: LOTS})
        yield f"named {name[:40]!r}, beside a sound one", packed({name: LOTS, "lots.csv": LOTS})
    yield "a name in another encoding", packed({"l\u00f6ts.csv": LOTS}).replace("l\u00f6ts".encode(), b"l\xff\xfets")
    yield "a name with NUL", packed({"lots.csvx.exe": LOTS}).replace(b"lots.csvx.exe", b"lots.csv\x00.exe")
    yield "a link", _link("lots.csv", "/etc/passwd")
    yield "a link upwards", _link("lots.csv", "../../own.csv")
    yield "a device", _link("lots.csv", "", stat.S_IFCHR)
    yield "one file twice", _twice()
    yield from _bombs()
    yield from _spoilt()


def _link(name: str, to: str, kind: int = stat.S_IFLNK) -> bytes:
    info = zipfile.ZipInfo(name)
    info.create_system = 3
    info.external_attr = (kind | 0o777) << 16
    out = BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr(info, to)
    return out.getvalue()


def _twice() -> bytes:
    out = BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w") as made:
        warnings.simplefilter("ignore")
        made.writestr("lots.csv", LOTS)
        made.writestr("lots.csv", LOTS.replace("G-1", "G-2"))
    return out.getvalue()


def _bombs() -> Iterator[tuple[str, bytes]]:
    bomb = packed({"lots.csv": b"\0" * 30_000_000})
    yield "a bomb", bomb
    yield "a bomb within", packed({"lots.csv": bomb})
    yield "a bomb within under a zip's name", packed({"lots.zip": bomb})
    yield "a bomb of columns", packed({"lots.csv": "," * 9_000_000})
    yield "a bomb of lines", packed({"lots.csv": "number\n" + "\n" * 9_000_000})
    yield "a bomb of a cell", packed({"lots.csv": 'number,ingredient\nG-1,"' + "x" * 9_000_000})
    yield "a cell of a million", packed({"lots.csv": f"number,ingredient,note\nG-1,glycerin,{'x' * 1_000_000}\n"})
    yield "a long cell", packed({"lots.csv": f"number,ingredient,note\nG-1,glycerin,{'x' * 100_000}\n"})
    size = struct.pack("<I", 30_000_000)
    yield "a bomb that says it is small", bomb.replace(size, struct.pack("<I", 100))
    yield "a bomb that says it is nothing", bomb.replace(size, struct.pack("<I", 0))
    yield (
        "a file that says it is a bomb",
        packed({"lots.csv": LOTS}).replace(struct.pack("<I", len(LOTS)), struct.pack("<I", 0xFFFFFFF0)),
    )
    yield "100,000 files", _members([f"{number:x}" for number in range(MANY)])
    yield "100,000 files of one name", _members(["lots.csv"] * MANY)
    yield "overlapping files", _members(["lots.csv", "offers.csv", "movements.csv", "trials.csv"], b"\0" * 2_000_000)
    yield "many wrong rows", packed({"lots.csv": "number,ingredient,price\n" + "G-1,glycerin,x\n" * 20_000})
    yield "many astray", packed({"movements.csv": "lot,when,kg,reason\n" + "X,2026-11-02T09:30,1,x\n" * 15_000})


def _members(names: list[str], content: bytes = b"") -> bytes:
    """A zip whose list of files leads every name to the same packed bytes."""
    one = packed({"lots.csv": content})
    start = one.index(b"PK\x01\x02")
    entry = one[start : one.index(b"PK\x05\x06")]
    listed = b"".join(
        entry[:28] + struct.pack("<H", len(name)) + entry[30:46] + name.encode() + entry[54:] for name in names
    )
    count = min(len(names), 0xFFFF)
    end = struct.pack("<4s4H2IH", b"PK\x05\x06", 0, 0, count, count, len(listed), start, 0)
    return one[:start] + listed + end


def _spoilt() -> Iterator[tuple[str, bytes]]:
    sound = packed({"lots.csv": LOTS, "offers.csv": "ingredient,supplier,pack,price,currency,date\n"})
    for size in range(0, len(sound), 7):
        yield f"cut at {size}", sound[:size] if size > 2 else b"PK" + sound[:size]
    for at in range(2, len(sound), 5):
        yield f"turned at {at}", sound[:at] + bytes([sound[at] ^ 0xFF]) + sound[at + 1 :]
    yield "junk before", b"PK junk" + sound
    yield "junk behind", sound + b"PK junk" * 50
    yield "twice over", sound * 2
    yield "an end alone", b"PK\x05\x06" + bytes(18)
    yield "64-bit sizes", sound.replace(struct.pack("<I", len(LOTS)), b"\xff\xff\xff\xff")
    yield "packed as BZIP2", packed({"lots.csv": LOTS}, zipfile.ZIP_BZIP2)
    yield "packed as LZMA", packed({"lots.csv": LOTS}, zipfile.ZIP_LZMA)
    encrypted = bytearray(packed({"lots.csv": LOTS}))
    encrypted[6] |= 1
    encrypted[encrypted.index(b"PK\x01\x02") + 8] |= 1
    yield "encrypted", bytes(encrypted)
