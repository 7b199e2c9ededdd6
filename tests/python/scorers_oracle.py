"""Second opinion on several scorers of one night: the majority by counting votes, kappas by scikit-learn and statsmodels.

Reads lines of JSON, each the scorings of a night as a list of texts of equal length, a letter for each epoch and `?` where
nothing was scored; prints for each the majority, the kappa of each pair in the epochs that both scored, and Fleiss' kappa over
the epochs that all scored.
"""

import itertools
import json
import sys

import numpy as np
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import aggregate_raters, fleiss_kappa

LETTERS = "W123R"


def majority(votes):
    counts = np.array([(votes == letter).sum(axis=0) for letter in LETTERS])
    most = counts.max(axis=0)
    alone = (counts == most).sum(axis=0) == 1
    said = np.array(list(LETTERS))[counts.argmax(axis=0)]
    return "".join(np.where(alone & (counts.sum(axis=0) >= 2), said, "?"))


def answer(scorings):
    votes = np.array([list(text) for text in scorings])
    pairs = {}
    for one, other in itertools.combinations(range(len(votes)), 2):
        both = (votes[one] != "?") & (votes[other] != "?")
        pairs[f"{one} {other}"] = float(cohen_kappa_score(votes[one][both], votes[other][both]))
    whole = votes[:, (votes != "?").all(axis=0)]
    table, _ = aggregate_raters(whole.T)
    return {"majority": majority(votes), "kappa": pairs, "fleiss": float(fleiss_kappa(table)), "fleiss_n": whole.shape[1]}


for line in sys.stdin:
    print(json.dumps(answer(json.loads(line))))
