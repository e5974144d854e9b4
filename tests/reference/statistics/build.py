"""What other authors' libraries make of the same counts and tables.

Writes expected.json beside this file. Needs numpy, scipy, statsmodels and scikit-learn; the tests need only the file.
"""
import json
import pathlib

import numpy
import scipy
import scipy.stats
import sklearn
import sklearn.metrics
import statsmodels
from statsmodels.stats import contingency_tables, inter_rater, proportion

COUNTS = [(0, 10), (1, 10), (10, 10), (4, 20), (13, 16), (8, 100), (3206, 27284), (80, 100000), (800000, 10000000)]
PAIRS = [((8, 100), (20, 100)), ((3, 40), (1, 35)), ((0, 20), (5, 25)), ((320, 4000), (250, 4100)), ((56, 70), (48, 80)), ((2, 9), (7, 8))]
SERIES = {
    "twelve": [0.1, 0.3, -0.2, 0.5, 0.4, 0.9, 0.7, 1.1, 0.6, 1.3, 1.2, 1.6],
    "ties": [1, 1, 2, 2, 2, 3, 1, 3, 4, 4, 2, 5, 5, 3],
    "flat": [0.2, -0.3, 0.1, 0.4, -0.5, 0.0, 0.3, -0.1, -0.2, 0.6],
}
TABLES = [
    [[0, 4, 1], [0, 8, 0], [0, 1, 5]],
    [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]],
    [[38, 5, 0, 1], [33, 11, 3, 0], [10, 14, 5, 6], [3, 7, 3, 10]],
    [[13, 0, 0], [0, 20, 7], [0, 4, 56]],
    [[118, 5], [2, 0]],
]
FORECASTS = [0.1, 0.1, 0.2, 0.4, 0.4, 0.4, 0.7, 0.9, 0.9, 0.9]
OUTCOMES = [0, 0, 0, 1, 0, 1, 1, 1, 1, 0]


def intervals():
    rows = []
    for events, total in COUNTS:
        for level in (0.9, 0.95, 0.998):
            wilson = proportion.proportion_confint(events, total, 1 - level, "wilson")
            exact = scipy.stats.binomtest(events, total).proportion_ci(level, "exact")
            rows.append({"events": events, "total": total, "level": level, "wilson": list(map(float, wilson)), "exact": [exact.low, exact.high]})
    return rows


def comparisons():
    rows = []
    for (x1, n1), (x2, n2) in PAIRS:
        table = [[x1, n1 - x1], [x2, n2 - x2]]
        newcombe = proportion.confint_proportions_2indep(x2, n2, x1, n1, method="newcomb", compare="diff")
        row = {"first": [x1, n1], "second": [x2, n2], "newcombe": list(map(float, newcombe)),
               "fisher": float(scipy.stats.fisher_exact(table)[1]),
               "chiSquare": [float(v) for v in scipy.stats.chi2_contingency(table, correction=False)[:2]],
               "cohenH": float(proportion.proportion_effectsize(x2 / n2, x1 / n1))}
        if x1 and x2:
            ratio = contingency_tables.Table2x2([[x2, n2 - x2], [x1, n1 - x1]])
            row["riskRatio"] = [float(ratio.riskratio)] + [float(v) for v in ratio.riskratio_confint(0.05)]
        rows.append(row)
    return rows


def poisson():
    rows = []
    for count in (0, 1, 4, 10, 57, 1000, 250000):
        for level in (0.95, 0.998):
            tail = (1 - level) / 2
            rows.append({"count": count, "level": level,
                         "exact": [float(scipy.stats.chi2.ppf(tail, 2 * count) / 2) if count else 0.0, float(scipy.stats.chi2.ppf(1 - tail, 2 * count + 2) / 2)]})
    return rows


def funnels():
    rows = []
    for target in (0.02, 0.08, 0.3):
        for total in (1, 20, 50, 100, 250, 500, 100000):
            rows.append({"target": target, "total": total,
                         "quantiles": [int(scipy.stats.binom.ppf(q, total, target)) for q in (0.001, 0.025, 0.975, 0.999)]})
    return rows


def trends():
    rows = []
    for name, values in SERIES.items():
        times = numpy.arange(len(values)) * 1.5
        slope = scipy.stats.theilslopes(values, times, 0.95)
        tied = len(set(values)) < len(values)
        tau = scipy.stats.kendalltau(times, values, method="asymptotic" if tied else "exact")
        rows.append({"name": name, "values": values, "slope": float(slope[0]), "lower": float(slope[2]), "upper": float(slope[3]),
                     "tau": float(tau.correlation), "exactP": None if tied else float(tau.pvalue), "asymptoticP": float(scipy.stats.kendalltau(times, values, method="asymptotic").pvalue)})
    return rows


def quantiles():
    values = [((37 * i) % 101) / 10 - 5 for i in range(60)]
    return {"values": values, "fractions": [0.05, 0.25, 0.5, 0.75, 0.95], "quantiles": [float(numpy.quantile(values, q)) for q in (0.05, 0.25, 0.5, 0.75, 0.95)]}


def kappas():
    rows = []
    for table in TABLES:
        first, second = [], []
        for i, row in enumerate(table):
            for j, count in enumerate(row):
                first += [i] * count
                second += [j] * count
        entry = {"table": table}
        for name, weights, learned in (("none", None, None), ("linear", "linear", "linear"), ("quadratic", "quadratic", "quadratic")):
            result = inter_rater.cohens_kappa(table, wt=weights)
            entry[name] = {"kappa": float(result.kappa), "error": float(result.std_kappa), "errorAtZero": float(result.std_kappa0), "z": float(result.z_value), "lower": float(result.kappa_low), "upper": float(result.kappa_upp),
                           "learned": float(sklearn.metrics.cohen_kappa_score(first, second, labels=list(range(len(table))), weights=learned))}
        rows.append(entry)
    return rows


def mcnemar():
    rows = []
    for b, c in ((59, 121), (12, 5), (11, 3), (6, 16), (4, 4), (0, 3)):
        table = [[10, b], [c, 20]]
        plain = contingency_tables.mcnemar(table, exact=False, correction=False)
        corrected = contingency_tables.mcnemar(table, exact=False, correction=True)
        rows.append({"b": b, "c": c, "chiSquare": [float(plain.statistic), float(plain.pvalue)], "corrected": [float(corrected.statistic), float(corrected.pvalue)],
                     "exact": float(contingency_tables.mcnemar(table, exact=True).pvalue)})
    return rows


def brier():
    return {"forecasts": FORECASTS, "outcomes": OUTCOMES, "score": float(sklearn.metrics.brier_score_loss(OUTCOMES, FORECASTS))}


if __name__ == "__main__":
    made = {"libraries": {"numpy": numpy.__version__, "scipy": scipy.__version__, "statsmodels": statsmodels.__version__, "scikit-learn": sklearn.__version__},
            "intervals": intervals(), "comparisons": comparisons(), "poisson": poisson(), "funnels": funnels(), "trends": trends(), "quantiles": quantiles(), "kappas": kappas(), "mcnemar": mcnemar(), "brier": brier()}
    pathlib.Path(__file__).with_name("expected.json").write_text(json.dumps(made, indent=1) + "\n")
