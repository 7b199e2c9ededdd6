"""Second opinion on differences, intervals and tests, by scipy, statsmodels and scikit-learn.

    stats_oracle.py < PROBLEMS       one JSON object a line, as tests/oracle/statistics.rs writes them

Prints one JSON object for each problem, on one line: the same names, with the numbers of those libraries.
"""

import json
import math
import sys

import numpy as np
import pandas as pd
from scipy import special, stats
from sklearn import metrics
from statsmodels.api import OLS, add_constant
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.diagnostic import het_breuschpagan
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint


def of_pairs(pairs, tolerance):
    reference, device = np.array(pairs).T
    d, middle, n = device - reference, (device + reference) / 2, len(pairs)
    interval = stats.ttest_1samp(d, 0).confidence_interval()
    line = stats.linregress(middle, d)
    fit = OLS(d, add_constant(middle)).fit()
    lm, lm_p, _, _ = het_breuschpagan(fit.resid, fit.model.exog)
    factors = stats.nct.ppf([0.025, 0.975], n - 1, stats.norm.ppf(0.975) * math.sqrt(n)) / math.sqrt(n)
    one_sided = (
        stats.ttest_1samp(d, -tolerance, alternative="greater").pvalue,
        stats.ttest_1samp(d, tolerance, alternative="less").pvalue,
    )
    long = pd.DataFrame({"y": np.array(pairs).ravel(), "p": np.repeat(np.arange(n), 2), "s": np.tile([0, 1], n)})
    squares = anova_lm(ols("y ~ C(p) + C(s)", long).fit())["mean_sq"]
    return {
        "bias": d.mean(),
        "sd": d.std(ddof=1),
        "bias_low": interval.low,
        "bias_high": interval.high,
        "exact_near": d.mean() + factors[0] * d.std(ddof=1),
        "exact_far": d.mean() + factors[1] * d.std(ddof=1),
        "slope": line.slope,
        "intercept": line.intercept,
        "slope_p": line.pvalue,
        "lm": lm,
        "lm_p": lm_p,
        "equivalence_p": max(one_sided),
        "mae": metrics.mean_absolute_error(reference, device),
        "rmse": metrics.root_mean_squared_error(reference, device),
        "mape": 100 * metrics.mean_absolute_percentage_error(reference, device),
        "participants": squares["C(p)"],
        "sides": squares["C(s)"],
        "rest": squares["Residual"],
    }


def of_groups(groups):
    rows = pd.DataFrame([(i, d) for i, group in enumerate(groups) for d in group], columns=["p", "d"])
    return {"within": ols("d ~ C(p)", rows).fit().mse_resid, "mean_of_means": rows.groupby("p")["d"].mean().mean()}


def of_signs(differences):
    test = stats.permutation_test((np.array(differences),), np.mean, permutation_type="samples", n_resamples=np.inf)
    return {"sign_flip": test.pvalue}


def of_shares(hits, n):
    low, high = proportion_confint(hits, n, method="wilson")
    return {"wilson_low": max(low, 0.0), "wilson_high": min(high, 1.0)}


def of_people(values):
    """Student's interval of a mean of shares, and of the coefficients twice the shares less 1; where it leaves their range,
    on the logit or Fisher's scale by the delta method."""
    out = {}
    scales = {"share": (0, special.logit, special.expit, lambda m: m * (1 - m)),
              "coefficient": (-1, np.arctanh, np.tanh, lambda m: 1 - m * m)}
    for name, (lowest, there, back, slope) in scales.items():
        x = np.array(values) if name == "share" else 2 * np.array(values) - 1
        mean, error, df = x.mean(), stats.sem(x), len(x) - 1
        low, high = stats.t.interval(0.95, df, loc=mean, scale=error)
        if low < lowest or high > 1:
            low, high = back(np.array(stats.t.interval(0.95, df, loc=there(mean), scale=error / slope(mean))))
        out |= {name + "_low": low, name + "_high": high}
    return out


for text in sys.stdin:
    problem = json.loads(text)
    answer = of_pairs(problem["pairs"], problem["tolerance"])
    answer |= of_groups(problem["groups"])
    answer |= of_signs(problem["signs"])
    answer |= of_people(problem["people"])
    answer |= of_shares(problem["hits"], problem["n"])
    answer |= {f"holm_{i}": p for i, p in enumerate(multipletests(problem["p"], method="holm")[1])}
    low, high = np.quantile(problem["p"], [0.025, 0.975])
    answer |= {"percentile_low": low, "percentile_high": high}
    print(json.dumps({name: float(number) for name, number in answer.items()}))
