"""How long other libraries take to draw one night anew and compute kappa of each resample.

    night_speed.py < NIGHT       one JSON object: classes, block, replicates, reference, device

Prints one JSON object: for scikit-learn (a loop) and for numpy (many resamples at once) the seconds for all
replicates, and the mean and the standard deviation of kappa over those that were drawn. The loop is run for fewer
replicates and its time is scaled up.
"""

import json
import sys
import time

import numpy as np
from sklearn.metrics import cohen_kappa_score

LOOP = 300
CHUNK = 250


def positions(rng, many, n, block):
    """Returns `many` rows of `n` positions: blocks that start anywhere, of geometric length, around the end."""
    step = np.arange(n, dtype=np.int32)
    begins = rng.random((many, n), dtype=np.float32) < 1 / block
    begins[:, 0] = True
    last = np.maximum.accumulate(np.where(begins, step, 0), axis=1)
    starts = rng.integers(0, n, size=(many, n), dtype=np.int32)
    drawn = np.take_along_axis(starts, last, axis=1) + step - last
    return np.where(drawn >= n, drawn - n, drawn)


def loop(rng, reference, device, classes, block):
    labels = list(range(classes))
    drawn = (positions(rng, 1, len(reference), block)[0] for _ in range(LOOP))
    return np.array([cohen_kappa_score(reference[at], device[at], labels=labels) for at in drawn])


def at_once(rng, reference, device, classes, block, replicates):
    cells, kappas = (reference * classes + device).astype(np.int32), []
    for first in range(0, replicates, CHUNK):
        many = min(CHUNK, replicates - first)
        drawn = cells[positions(rng, many, len(cells), block)]
        drawn += np.arange(many, dtype=np.int32)[:, None] * classes * classes
        counts = np.bincount(drawn.ravel(), minlength=many * classes * classes).reshape(many, classes, classes)
        share = counts / len(cells)
        agreed = np.trace(share, axis1=1, axis2=2)
        chance = (share.sum(axis=1) * share.sum(axis=2)).sum(axis=1)
        kappas.append((agreed - chance) / (1 - chance))
    return np.concatenate(kappas)


def timed(run, times):
    best, values = float("inf"), None
    for _ in range(times):
        start = time.perf_counter()
        values = run()
        best = min(best, time.perf_counter() - start)
    return best, values


night = json.load(sys.stdin)
reference, device = np.array(night["reference"]), np.array(night["device"])
classes, block, replicates = night["classes"], night["block"], night["replicates"]
rng = np.random.Generator(np.random.PCG64(1))
found = {}
seconds, values = timed(lambda: loop(rng, reference, device, classes, block), 3)
found["scikit_learn"] = {"seconds": seconds * replicates / LOOP, "drawn": LOOP, "mean": values.mean(), "sd": values.std(ddof=1)}
seconds, values = timed(lambda: at_once(rng, reference, device, classes, block, replicates), 5)
found["numpy"] = {"seconds": seconds, "drawn": replicates, "mean": values.mean(), "sd": values.std(ddof=1)}
print(json.dumps(found))
