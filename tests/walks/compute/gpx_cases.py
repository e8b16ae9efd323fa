"""GPX files for tests: good ones made from points, and a corpus of broken and hostile ones with why each is refused."""

from __future__ import annotations

import math
from collections.abc import Sequence

START = (50.9316, -1.45)
HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
OPEN = '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'


def point(latitude: object, longitude: object, height: object = None, tag: str = "trkpt") -> str:
    ele = "" if height is None else f"<ele>{height}</ele>"
    return f'<{tag} lat="{latitude}" lon="{longitude}">{ele}<time>2026-05-01T09:00:00Z</time></{tag}>'


def track(points: Sequence[str]) -> str:
    return f"<trk><name>Mrs Brown’s Tuesday</name><trkseg>{''.join(points)}</trkseg></trk>"


def gpx(*ways: str) -> bytes:
    return f"{HEAD}{OPEN}{''.join(ways)}</gpx>".encode()


def round_walk(number: int = 80, radius: float = 0.004, climb: float = 20.0) -> list[tuple[float, float, float]]:
    """A ring that begins and ends at `START`, up to the middle and down again by `climb` metres."""
    turns = [2 * math.pi * n / number for n in range(number + 1)]
    return [
        (
            START[0] + radius * (1 - math.cos(one)),
            START[1] + radius * 1.6 * math.sin(one),
            100 + climb * (1 - math.cos(one)) / 2,
        )
        for one in turns
    ]


def round_walk_gpx() -> bytes:
    return gpx(track([point(f"{a:.6f}", f"{b:.6f}", f"{h:.1f}") for a, b, h in round_walk()]))


TWO = [point(50.9316, -1.45, 10), point(50.9326, -1.45, 20)]
LAUGHS = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))

REFUSED: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "cannot be read as XML"),
    "text": (b"a walk in the wood", "cannot be read as XML"),
    "cut off": (round_walk_gpx()[:-40], "cannot be read as XML"),
    "NUL bytes": (b"\x00" * 64, "cannot be read as XML"),
    "unknown encoding": (b'<?xml version="1.0" encoding="walnut"?><gpx/>', "cannot be read as XML"),
    "another kind": (b"<kml></kml>", "outermost element is not “gpx”"),
    "nothing in it": (gpx(), "no track and no route"),
    "an empty track": (gpx(track([])), "no track and no route"),
    "waypoints alone": (gpx(point(50.9, -1.4, tag="wpt")), "no track and no route"),
    "one point": (gpx(track(TWO[:1])), "stays on one spot"),
    "one spot": (gpx(track(TWO[:1] * 5)), "stays on one spot"),
    "two tracks": (gpx(track(TWO), track(TWO)), "holds 2 ways"),
    "no number": (gpx(track([point("north", "west"), *TWO])), "no number"),
    "no position": (gpx(track(["<trkpt/>", *TWO])), "no number"),
    "not a number": (gpx(track([point("nan", "nan"), *TWO])), "lies nowhere on Earth"),
    "infinite": (gpx(track([point("inf", "0"), *TWO])), "lies nowhere on Earth"),
    "beyond the pole": (gpx(track([point(90.1, 0), *TWO])), "lies nowhere on Earth"),
    "height that is none": (gpx(track([point(50.9316, -1.45, "nan"), *TWO])), "height in it lies nowhere"),
    "height of the moon": (gpx(track([point(50.9316, -1.45, 384_400_000), *TWO])), "height in it lies nowhere"),
    "a leap": (gpx(track([*TWO, point(50.99, -1.45)])), "leaps 6.4 km"),
    "too long": (gpx(track([point(50.9316 + n % 2 / 50, -1.45) for n in range(40)])), "more than anybody walks"),
    "too many points": (gpx(track([point(50.9316 + n % 2 / 1e5, -1.45) for n in range(20_001)])), "20001 points"),
    "too many bytes": (gpx(f"<metadata>{'x' * 5 * 1024 * 1024}</metadata>", track(TWO)), "up to 5 MB"),
    "billion laughs": (
        f'{HEAD}<!DOCTYPE gpx [<!ENTITY l0 "ha">{LAUGHS}]>{OPEN}<name>&l9;</name></gpx>'.encode(),
        "document type",
    ),
    "quadratic blow-up": (
        f'{HEAD}<!DOCTYPE gpx [<!ENTITY a "{"a" * 50_000}">]>{OPEN}<name>{"&a;" * 5_000}</name></gpx>'.encode(),
        "document type",
    ),
    "a file of ours": (
        f'{HEAD}<!DOCTYPE gpx [<!ENTITY f SYSTEM "file:///etc/passwd">]>{OPEN}<name>&f;</name></gpx>'.encode(),
        "document type",
    ),
    "rules from elsewhere": (
        f'{HEAD}<!DOCTYPE gpx SYSTEM "http://127.0.0.1:9/evil.dtd">{OPEN}{track(TWO)}</gpx>'.encode(),
        "document type",
    ),
    "a parameter entity": (
        f'{HEAD}<!DOCTYPE gpx [<!ENTITY % p SYSTEM "http://127.0.0.1:9/x"> %p;]>{OPEN}</gpx>'.encode(),
        "document type",
    ),
    "laughs in UTF-16": (
        f'<?xml version="1.0" encoding="UTF-16"?><!DOCTYPE gpx [<!ENTITY l0 "ha">{LAUGHS}]>{OPEN}&l9;</gpx>'.encode(
            "utf-16"
        ),
        "document type",
    ),
    "very deep": (gpx("<extensions>" * 60_000 + "</extensions>" * 60_000), "no track and no route"),
}
