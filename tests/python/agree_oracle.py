"""Second opinion on the statistics of two label files, by scikit-learn and statsmodels.

    agree_oracle.py REF DEV --classes W,N1,N2,N3,R [--scheme five]
    agree_oracle.py --batch < LINES         one line each: REF, DEV and CLASSES, separated by tabs

Prints one JSON object for each pair, on one line when in a batch, with the keys of `counterpane agree --format json`
(`scheme` only when it is given). Label files hold one label a line, `?` unscored; a byte order mark, CRLF and blank
ends are tolerated. Exit 2, naming the file and the line, for an unknown label or files of unequal length.

Accuracy, kappa, MCC, F1, sensitivity and ppv are scikit-learn's; specificity and npv are its sensitivity and ppv of all
other classes taken together. PABAK and AC1, which neither library has, and the standard error of kappa are computed
from their printed definitions in fractions, so that what is 0 comes out as 0; the standard error is then held against that
of statsmodels.
"""

import argparse
import json
import math
import sys
import warnings
from fractions import Fraction

import numpy as np
from sklearn import metrics
from statsmodels.stats.inter_rater import cohens_kappa

UNSCORED = "?"


class Unreadable(Exception):
    pass


def labels(path, classes):
    with open(path, encoding="utf-8-sig", newline=None) as file:
        lines = file.read().rstrip().splitlines()
    for number, line in enumerate(lines, 1):
        if line.strip() not in [*classes, UNSCORED]:
            known = ", ".join([*classes, UNSCORED])
            raise Unreadable(f"{path}: line {number}: `{line.strip()}` is not a label; labels are {known}")
    return [line.strip() for line in lines]


def answer(ref_path, dev_path, classes, scheme=None):
    ref, dev = labels(ref_path, classes), labels(dev_path, classes)
    if len(ref) != len(dev):
        short, n = (ref_path, len(ref)) if len(ref) < len(dev) else (dev_path, len(dev))
        raise Unreadable(f"{short}: line {n + 1} is not there; both files need one label for each epoch")
    pairs = [(r, d) for r, d in zip(ref, dev) if UNSCORED not in (r, d)]
    said = Said(pairs, classes)
    out = {"version": 1} | ({"scheme": scheme} if scheme else {}) | {"classes": classes, "n": len(pairs)}
    out["matrix"] = [[pairs.count((i, j)) for j in classes] for i in classes]
    whole = said.nothing_paired() if not pairs else said.whole_table(out["matrix"])
    out |= whole
    out["per_class"] = [said.of_class(c) for c in classes]
    out["undefined"] = dict(sorted(said.undefined.items()))
    return out


class Said:
    """Labels of both sides, and the reasons of what is undefined."""

    WHOLE = ["accuracy", "kappa", "kappa_se", "pabak", "mcc", "ac1", "balanced_accuracy", "macro_f1", "weighted_f1"]

    def __init__(self, pairs, classes):
        self.ref = np.array([r for r, _ in pairs], dtype=object)
        self.dev = np.array([d for _, d in pairs], dtype=object)
        self.classes = classes
        self.undefined = {}

    def none(self, name, reason):
        self.undefined[name] = reason

    def nothing_paired(self):
        return {name: self.none(name, "no_pairs") for name in self.WHOLE}

    def whole_table(self, matrix):
        ref, dev = list(self.ref), list(self.dev)
        used = [c for c in self.classes if c in ref or c in dev]
        one_class, constant = len(used) == 1, len(set(ref)) == 1 or len(set(dev)) == 1
        pabak, ac1 = definitions(matrix)
        return {
            "accuracy": metrics.accuracy_score(ref, dev),
            "kappa": self.none("kappa", "expected_agreement_1") if one_class else metrics.cohen_kappa_score(ref, dev),
            "kappa_se": self.none("kappa_se", "expected_agreement_1") if one_class else kappa_se(matrix),
            "pabak": pabak,
            "mcc": self.none("mcc", "zero_variance") if constant else float(metrics.matthews_corrcoef(ref, dev)),
            "ac1": ac1,
            "balanced_accuracy": float(metrics.balanced_accuracy_score(ref, dev)),
            "macro_f1": float(metrics.f1_score(ref, dev, labels=used, average="macro", zero_division=0)),
            "weighted_f1": float(metrics.f1_score(ref, dev, labels=used, average="weighted", zero_division=0)),
        }

    def of_class(self, c):
        is_ref, is_dev = self.ref == c, self.dev == c
        names = ["sensitivity", "specificity", "ppv", "npv", "f1"]
        if not len(self.ref):
            return {"class": c} | {name: self.none(f"per_class.{c}.{name}", "no_pairs") for name in names}
        nan = {"zero_division": np.nan}
        found = {
            "sensitivity": (metrics.recall_score(is_ref, is_dev, **nan), "ref_class_absent"),
            "specificity": (metrics.recall_score(~is_ref, ~is_dev, **nan), "zero_denominator"),
            "ppv": (metrics.precision_score(is_ref, is_dev, **nan), "dev_class_absent"),
            "npv": (metrics.precision_score(~is_ref, ~is_dev, **nan), "zero_denominator"),
            "f1": (metrics.f1_score(is_ref, is_dev, **nan), "zero_denominator"),
        }
        value = lambda name, v, why: self.none(f"per_class.{c}.{name}", why) if math.isnan(v) else float(v)
        return {"class": c} | {name: value(name, v, why) for name, (v, why) in found.items()}


def shares(matrix):
    n = sum(map(sum, matrix))
    p = [[Fraction(count, n) for count in row] for row in matrix]
    return n, p, [sum(row) for row in p], [sum(column) for column in zip(*p)]


def definitions(matrix):
    """PABAK (Byrt, Bishop and Carlin 1993) and AC1 (Gwet 2008)."""
    k = len(matrix)
    _, p, rows, columns = shares(matrix)
    observed = sum(p[i][i] for i in range(k))
    mean = [(r + c) / 2 for r, c in zip(rows, columns)]
    expected = sum(q * (1 - q) for q in mean) / (k - 1)
    return float((k * observed - 1) / (k - 1)), float((observed - expected) / (1 - expected))


def kappa_se(matrix):
    """The standard error of Fleiss, Cohen and Everitt 1969, as printed."""
    k = len(matrix)
    n, p, rows, columns = shares(matrix)
    observed = sum(p[i][i] for i in range(k))
    expected = sum(r * c for r, c in zip(rows, columns))
    kappa = (observed - expected) / (1 - expected)
    a = sum(p[i][i] * (1 - (rows[i] + columns[i]) * (1 - kappa)) ** 2 for i in range(k))
    others = [(i, j) for i in range(k) for j in range(k) if i != j]
    b = (1 - kappa) ** 2 * sum(p[i][j] * (columns[i] + rows[j]) ** 2 for i, j in others)
    c = (kappa - expected * (1 - kappa)) ** 2
    se = math.sqrt((a + b - c) / n) / float(1 - expected)
    theirs = cohens_kappa(np.array(matrix)).std_kappa
    # A root: what rounding makes of nothing is up to 1e-7, or no number where it came out negative.
    if not (math.isclose(se, theirs, rel_tol=1e-9, abs_tol=1e-7) or (se == 0 and math.isnan(theirs))):
        raise SystemExit(f"statsmodels gives {theirs} and the printed definition {se} for {matrix}")
    return se


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("ref", nargs="?")
    parser.add_argument("dev", nargs="?")
    parser.add_argument("--classes", help="the classes in the order of the matrix, separated by commas")
    parser.add_argument("--scheme", help="name of the scheme, repeated in the answer")
    parser.add_argument("--batch", action="store_true", help="read REF, DEV and CLASSES from the lines of stdin")
    args = parser.parse_args()
    warnings.simplefilter("ignore")  # what is undefined is said in the answer
    try:
        if args.batch:
            for line in sys.stdin:
                ref, dev, classes = line.rstrip("\n").split("\t")
                print(json.dumps(answer(ref, dev, classes.split(","))))
        elif args.ref and args.dev and args.classes:
            print(json.dumps(answer(args.ref, args.dev, args.classes.split(","), args.scheme), indent=2))
        else:
            parser.error("give REF, DEV and --classes, or --batch")
    except (Unreadable, OSError) as error:
        print(error, file=sys.stderr)
        sys.exit(2)


if __name__ == "__main__":
    main()
