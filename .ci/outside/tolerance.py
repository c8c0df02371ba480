"""Limits from good units, worked out anew with SciPy from the exported readings of a shop.

The tolerance factor is the quantile of scipy.stats.nct; whether readings spread like a bell is scipy.stats.anderson with
Stephens' correction (D'Agostino and Stephens, Goodness-of-Fit Techniques, 1986, table 4.7).
"""

import json
import pathlib
import tempfile

import numpy
from scipy import stats

from support.shop import guided, program

READINGS = ["22.4", "22.1", "22.6", "21.9", "22.3", "22.2", "21.8", "22.5", "22.0", "22.3"]
ODD = ["24", "23.9", "24.1", "24", "23.9", "24.1", "24", "23.9", "24", "22"]
PROMISES = [(95, 95), (90, 95), (99, 90), (75, 99), (97.5, 97.5)]


def factor(n, share, confidence):
    root = numpy.sqrt(n)
    return stats.nct.ppf(confidence, n - 1, stats.norm.ppf(share) * root) / root


def check(shop):
    lines = program("--shop", shop, "records", "export", "--format", "jsonl").splitlines()
    values = numpy.array([json.loads(line)["standard_reading_inHg"] for line in lines])
    n = len(values)
    misfit = stats.anderson(values, "norm", method="interpolate").statistic * (1 + 0.75 / n + 2.25 / n**2)
    for share, confidence in PROMISES:
        asked = ["history", "baseline", "feed", "--all-good", "--share", share, "--confidence", confidence, "--json"]
        table = json.loads(program("--shop", shop, *asked))["tables"][0]
        row, notes = table["rows"][0], " ".join(table["notes"])
        k = factor(n, share / 100, confidence / 100)
        assert row["units"] == n, row
        assert abs(row["mean"] - values.mean()) < 6e-3, (row, values.mean())
        assert abs(row["deviation"] - values.std(ddof=1)) < 6e-3, (row, values.std(ddof=1))
        bell = values.mean() - k * values.std(ddof=1)
        if misfit > 0.752:
            assert row["holds is"] == "in doubt" and "not as a bell does" in notes, (row, notes)
            holds = min(bell, values.min())
        else:
            assert abs(float(row["holds is"].split()[2]) - k) < 6e-4 and "bell does" not in notes, (row, k, notes)
            holds = bell
        assert 0 <= holds - row["holds"] + 1e-9 < 0.1, (row["holds"], holds)
        needed = next(m for m in range(2, 2001) if factor(m, share / 100, confidence / 100) - stats.norm.ppf(share / 100) <= 1)
        assert row["more"] == max(0, needed - n), (row["more"], needed)
    return misfit


def main():
    for readings in [READINGS, ODD]:
        with tempfile.TemporaryDirectory() as name:
            misfit = check(guided(pathlib.Path(name), readings))
            print(f"tolerance: {len(readings)} good units as SciPy has them, misfit {misfit:.3f}, {len(PROMISES)} promises")


main()
