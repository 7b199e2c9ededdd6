"""Reads lines `ZONE WALL` and prints for each what zoneinfo makes of that wall time: one instant in
milliseconds, the two of a repeated time, or `never` for a skipped one."""

import sys
import zoneinfo
from datetime import datetime, timezone

zoneinfo.reset_tzpath(to=[])  # the tzdata package, not this machine's files


def instants(zone, wall):
    out = []
    for fold in (0, 1):
        at = wall.replace(tzinfo=zone, fold=fold).astimezone(timezone.utc)
        if at.astimezone(zone).replace(tzinfo=None) == wall:
            ms = round(at.timestamp() * 1000)
            if ms not in out:
                out.append(ms)
    return out


for line in sys.stdin:
    name, text = line.split()
    found = instants(zoneinfo.ZoneInfo(name), datetime.fromisoformat(text))
    print(" ".join(map(str, found)) if found else "never")
