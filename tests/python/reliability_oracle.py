"""Second opinion on agreement over nights, by pingouin and numpy.

    reliability_oracle.py < PROBLEMS       one JSON object a line, as tests/oracle/reliability.rs writes them

Prints one JSON object for each problem, on one line: the same names, with the numbers of those libraries. The limits of
agreement are read off the lines that pingouin draws.
"""

import json
import sys
import warnings

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
import pingouin as pg

pg.options["round.column.CI95"] = None
warnings.simplefilter("ignore")


def correlations(rows, name):
    rows = np.array(rows)
    n, sides = rows.shape
    long = pd.DataFrame({"p": np.repeat(np.arange(n), sides), "s": np.tile(np.arange(sides), n), "y": rows.ravel()})
    table = pg.intraclass_corr(long, "p", "s", "y").set_index("Type")
    answer = {}
    for form, key in (("ICC(A,1)", "absolute"), ("ICC(C,1)", "consistency")):
        low, high = table.loc[form, "CI95"]
        answer |= {f"{name}_{key}": table.loc[form, "ICC"], f"{name}_{key}_low": low, f"{name}_{key}_high": high}
    return answer


def limits(pairs):
    reference, device = np.array(pairs).T
    axes = pg.plot_blandaltman(device, reference, confidence=None)
    low, bias, high = sorted(float(line.get_ydata()[0]) for line in axes.lines if len(set(line.get_ydata())) == 1 and line.get_ydata()[0] != 0)
    plt.close("all")
    return {"lower": low, "bias": bias, "upper": high}


def concordance(pairs):
    reference, device = np.array(pairs).T
    both = np.cov(reference, device, ddof=0)
    return 2 * both[0, 1] / (both[0, 0] + both[1, 1] + (reference.mean() - device.mean()) ** 2)


for text in sys.stdin:
    problem = json.loads(text)
    reference, device = np.array(problem["pairs"]).T
    answer = correlations(problem["pairs"], "two") | correlations(problem["four"], "four") | limits(problem["pairs"])
    answer["ccc"] = concordance(problem["pairs"])
    answer["equivalence_p"] = pg.tost(device, reference, bound=problem["tolerance"], paired=True).at["TOST", "pval"]
    print(json.dumps({name: float(number) for name, number in answer.items()}))
