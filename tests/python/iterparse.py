"""Passes over an XML file with lxml's `iterparse`, in its usual way, and prints seconds, peak KiB and records kept.

What is behind is cleared, as its documentation tells for files that are larger than memory.
"""

import resource
import sys
import time

from lxml import etree


def records(path: str) -> int:
    kept = 0
    for _, element in etree.iterparse(path, events=("end",), tag="Record"):
        if element.get("kind") == "sleep" and element.get("from") and element.get("to") and element.get("value"):
            kept += 1
        element.clear()
        while element.getprevious() is not None:
            del element.getparent()[0]
    return kept


begun = time.perf_counter()
count = records(sys.argv[1])
print(time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, count)
