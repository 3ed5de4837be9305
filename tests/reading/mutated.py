"""Read thousands of hostile workbooks and csv files, and look at what it costs.

``python tests/reading/mutated.py 20000`` reads so many mutated files, each within some
seconds and all within a memory that is set as the process's limit: there may be findings or an
``InputError``, never another error, and a file with a fault leaves a shop as it was. The last
argument is a seed.
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import resource
import sys
import tempfile
import time
import zipfile
from collections import Counter
from pathlib import Path

import openpyxl

from kitting import records
from kitting.commands import run
from kitting.errors import InputError
from kitting.reading import read_sheets
from kitting.reading.doors import DOORS
from kitting.tables.shop import BY_NAME

SECONDS = 5.0  # most for one file, on a machine that does other things too
MEMORY = 1_500_000_000  # bytes of address space beyond those of the process at its start

CSV = {
    "parts": "part,name,unit,shelf_days\n0012,seal,piece,365\nRTV,sealant,ml,\n1E5,bolt,piece,\n",
    "lines": "assembly,stage,part,quantity,unit,when\nE,b,RTV,15,ml,a=b; c!=d\nE,b,0012,2,pair,\n",
    "stages": "assembly,stage,work_days\nE,b,1\n",
    "options": "assembly,option,choices,default\nE,a,b;d,b\nE,c,d;e,e\n",
    "stock": "part,lot,place,quantity,unit,use_by\n0012,L1,A1,3,piece,2027-01-01\nRTV,,B,80,ml,\n",
    "orders": "order,line,supplier,part,quantity,price,ordered\nK1,1,s,0012,4,1.50,2026-03-01\n",
    "suppliers": "supplier,name,calendar\ns,Some Seals,every weekday\n",
    "invoices": "invoice,order,part,quantity,amount\n77,K1,0012,4,1.50\n",
}
HOSTILE = (
    *("=1+1", "=cmd|' /C calc'!A0", "+1", "-1", "@SUM(A1)", "\t=1", '=HYPERLINK("http://x",1)'),
    *(
        "../../etc/passwd",
        "..\\..\\x",
        "C:\\con",
        "/etc/shadow",
        "a/b",
        "nul",
        "~",
        "$(id)",
        "`id`",
    ),
    *("'; DROP TABLE moves; --", '" OR 1=1', "%s", ":part", "?", "NULL", "\\", "{0}", "${x}"),
    *("<script>alert(1)</script>", "<img src=x onerror=y>", "&amp;", "]]>", "<!--"),
    *(
        "\u202e0012",
        "0012\u200b",
        "O\u041e12",
        "ﬀ",
        "\ufeff",
        "\x00",
        "\x1b[2J",
        "\x07",
        "\r",
        "\n",
    ),
    *("1e308", "NaN", "inf", "-0", "1/0", "9" * 40, "0x10", "1_000", "١٢", "½", "1,5", "1.2.3"),
    *("9999-12-31", "0001-01-01", "2026-02-30", "x" * 20_000, "#REF!", "TRUE", "", " "),
)


def workbook():
    """Return the sheets as the bytes of a workbook."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, text in CSV.items():
        tab = book.create_sheet(name)
        for line in text.splitlines():
            tab.append(line.split(","))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def knocked(data, chance):
    """Exchange, put in or take out some stretches of bytes."""
    for _ in range(chance.randrange(1, 5)):
        at, length = chance.randrange(len(data) + 1), chance.choice((0, 1, 1, 3, 40))
        new = chance.choice(
            (chance.choice(HOSTILE).encode(), chance.randbytes(chance.randrange(8)))
        )
        data = data[:at] + new + data[at + length :]
    return data


def cells(text, chance):
    """Put hostile text into some cells of a csv."""
    rows = [line.split(",") for line in text.splitlines()]
    for _ in range(chance.randrange(1, 6)):
        row = chance.choice(rows)
        row[chance.randrange(len(row))] = chance.choice(HOSTILE)
    if not chance.randrange(5):
        rows += [chance.choice(rows)] * chance.randrange(1, 300)
    return "\n".join(",".join(row) for row in rows) + "\n"


def members(data, chance):
    """Change what is inside a workbook's archive: XML, sizes, references, entities, links."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        inside = {m: packed.read(m) for m in packed.namelist()}
    for _ in range(chance.randrange(1, 4)):
        name = chance.choice([*inside, "xl/worksheets/sheet1.xml", "xl/workbook.xml"])
        inside[name] = chance.choice(EDITS)(inside.get(name, b""), chance)
    if not chance.randrange(6):
        inside.pop(chance.choice(list(inside)))
    if not chance.randrange(6):
        inside["../../evil.xml"] = b"<x/>"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, body in inside.items():
            packed.writestr(name, body)
    return out.getvalue()


def entities(xml, chance):
    """Declare entities that grow to gigabytes."""
    levels = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 10))
    head = f'<!DOCTYPE x [<!ENTITY e0 "ha">{levels}<!ENTITY f SYSTEM "file:///etc/passwd">]>'
    at = xml.find(b"?>") + 2
    grown = xml[:at] + head.encode() + xml[at:]
    return grown.replace(b"0012", chance.choice((b"&e9;", b"&f;")), 1)


def far(xml, chance):
    """Say that the sheet is huge, or put a cell far out."""
    corner = chance.choice((b"XFD1048576", b"ZZZZ99999999", b"A99999999", b"A0", b"1A"))
    return chance.choice(
        (
            xml.replace(b'ref="A1:', b'ref="' + corner + b":", 1),
            xml.replace(b'r="A1"', b'r="' + corner + b'"', 1),
        )
    )


def bomb(xml, chance):
    """Add megabytes that pack to nothing."""
    return xml + b" " * chance.choice((10**5, 10**7))


def formula(xml, chance):
    """Make values into formulas, with and without a stored result."""
    return xml.replace(b"<v>", chance.choice((b"<f>WEBSERVICE(1)</f><v>", b"<f>1</f><v/><v>")), 2)


def link(xml, chance):
    """Point a relation at another file or address."""
    for old in (b'Target="worksheets/', b'Target="/xl/worksheets/'):
        xml = xml.replace(
            old, chance.choice((b'Target="http://x/', b'Target="../../../', b'Target="')), 1
        )
    return xml.replace(b'Type="', b'TargetMode="External" Type="', 1)


EDITS = (lambda xml, chance: knocked(xml, chance), entities, far, bomb, formula, link)


def lying(data, chance):
    """Say in the headers that a member is smaller than it is."""
    raw = bytearray(data)
    at = [i for i in range(len(raw) - 46) if raw[i : i + 4] == b"PK\x01\x02"]
    for place in chance.sample(at, min(3, len(at))):
        raw[place + 24 : place + 28] = chance.randrange(200).to_bytes(4, "little")
    return bytes(raw)


def mutate(chance, book):
    """Return a name and the bytes of a hostile file."""
    kind = chance.randrange(10)
    if kind < 5:
        name = chance.choice(list(CSV))
        text = CSV[name]
        data = cells(text, chance).encode("utf-8", "surrogatepass") if kind < 3 else text.encode()
        return f"{name}.csv", data if kind < 3 else knocked(data, chance)
    change = (knocked, members, members, members, lying)[kind - 5]
    return "book.xlsx", change(book, chance)


def soundly(path, shop, *, whole):
    """Read a file; return how it ended. Now and then read it into a shop through the command."""
    began = time.monotonic()
    try:
        reading = read_sheets(path)
    except InputError:
        return "refused"
    took = time.monotonic() - began
    assert took < SECONDS, f"{took:.1f} s"
    for name, frame in reading.frames.items():
        BY_NAME[name].check(frame)
        assert name in DOORS
    assert all(f.message for f in reading.findings)
    if whole:
        before = shop.read_bytes()
        code = run(["read", str(path), "--shop", str(shop)])
        assert code in (0, 2)  # what the shop holds may fill what the file alone lacks, or clash
        if code == 2:
            assert shop.read_bytes() == before, "a file with a fault was read in part"
        with records.open_shop(shop) as opened:
            assert records.prove(opened).faults == ()
    return "read" if reading.ok else "faults told"


def mutated(times, seed=1):
    """Read so many hostile files; return how each ended, and the most seconds and bytes."""
    chance, book, ended, longest = random.Random(seed), workbook(), Counter(), 0.0
    spent = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (spent + MEMORY, resource.RLIM_INFINITY))
    with tempfile.TemporaryDirectory() as folder, Path(os.devnull).open("w") as nowhere:
        shop = Path(folder) / "shop.db"
        for name, text in CSV.items():
            (Path(folder) / f"{name}.csv").write_text(text)
        with contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
            assert run(["read", folder, "--shop", str(shop)]) == 0
            (Path(folder) / "in").mkdir()
            for number in range(times):
                name, data = mutate(chance, book)
                path = Path(folder) / "in" / name
                path.write_bytes(data)
                began = time.monotonic()
                try:
                    ended[soundly(path, shop, whole=number % 50 == 0)] += 1
                except BaseException:
                    Path(tempfile.gettempdir(), f"hostile-{name}").write_bytes(data)
                    raise
                longest = max(longest, time.monotonic() - began)
    return ended, longest, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


if __name__ == "__main__":
    asked = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    counts, seconds, most = mutated(asked, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    told = ", ".join(f"{n} {how}" for how, n in sorted(counts.items()))
    print(f"{counts.total()} files: {told}; at most {seconds:.2f} s and {most / 1e6:.0f} MB")
