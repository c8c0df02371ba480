"""Works out with pandas what the history answers, from the same 500 generated records of three benches whose clocks go apart:
about all of them, and narrowed to days, a bench and a unit."""

import json
import math
import os
import pathlib
import subprocess
import tempfile

import pandas

from support.shop import ROOT, program

# NIST SP 811 (2008), appendix B.8, conventional inch of mercury.
INCH_OF_MERCURY = 3386.389
UNIT = "Merle M1"
NARROWED = [
    {},
    {"since": "2021-01-20"},
    {"until": "2021-02-01"},
    {"bench": "North"},
    {"since": "2021-01-10", "until": "2021-02-05", "bench": "west"},
]


def tables(folder):
    """A row for each circuit of each record, and one for each of its readings, with the day by the clock of the place."""
    tests, readings = [], []
    for path in sorted(folder.glob("*.json")):
        record = json.loads(path.read_text())
        opened = record["journal"][0]["opened"]
        assert record["journal"][0]["n"] == 1, path
        at = pandas.Timestamp(record["journal"][record["checks"][-1]["through"] - 1]["at"])
        day = (at + pandas.Timedelta(minutes=opened.get("minutes_ahead", 0))).strftime("%Y-%m-%d")
        decided = {decision["circuit"]: decision["decided"] for decision in record.get("decisions", [])}
        for circuit in record["circuits"]:
            name = circuit["circuit"]["name"]
            standards = [reading["meaning"]["standard_reading_pa"]["value"] / INCH_OF_MERCURY for reading in circuit["readings"]]
            test = {"session": record["session"], "after": record.get("plan", {}).get("after", {}).get("session"),
                    "unit": record["procedure"]["unit"], "technician": record["technician"], "month": day[:7], "day": day,
                    "bench": opened["bench"]["name"], "circuit": name, "verdict": circuit["verdict"],
                    "decided": decided.get(name), "lowest": min(standards)}
            tests.append(test)
            readings += [{**test, "standard": standard} for standard in standards]
    return pandas.DataFrame(tests), pandas.DataFrame(readings)


def narrowed(frame, by):
    days = frame.day.between(by.get("since", "0000"), by.get("until", "9999"))
    benches = frame.bench.str.lower() == by["bench"].lower() if "bench" in by else True
    return frame[days & benches & (frame.unit == UNIT)]


def asked(shop, by, *question):
    options = [option for name, value in by.items() for option in (f"--{name}", value)]
    return json.loads(program("--shop", shop, "history", *question, "--unit", UNIT, *options, "--json"))["tables"][0]["rows"]


def same(figure, expected):
    assert math.isclose(figure, expected, rel_tol=1e-9), (figure, expected)


def counted(rows, head, tests, readings):
    """Holds an answer that counts verdicts against the first tests."""
    tests, means = tests[tests.after.isna()], readings[readings.after.isna()].groupby(head).standard.mean()
    counts = tests.groupby([head, "verdict"]).size().unstack(fill_value=0)
    assert sorted(row[head] for row in rows) == sorted(counts.index), (rows, counts)
    for row in rows:
        count = lambda verdict: int(counts.get(verdict, {}).get(row[head], 0))
        for verdict in ("holds", "worn", "leaks", "retest"):
            assert row[verdict] == count(verdict), (row, verdict)
        assert row["tested"] == int(counts.loc[row[head]].sum()), row
        same(row["failed, %"], 100 * (count("worn") + count("leaks")) / row["tested"])
        same(row["mean, inHg"], means[row[head]])
    return len(rows)


def spread(rows, readings):
    figures = {row["figure"]: row["first tests, inHg"] for row in rows}
    own = readings[readings.after.isna() & (readings.circuit == "circuit 3")].standard
    assert figures["readings"] == len(own)
    same(figures["mean"], own.mean())
    same(figures["standard deviation"], own.std())
    same(figures["half are at or below"], sorted(own)[math.ceil(len(own) / 2) - 1])
    return len(rows)


def repairs(rows, tests, every):
    later = tests[tests.after.notna()]
    both = later.merge(every[every.decided.notna()], left_on=["after", "circuit"], right_on=["session", "circuit"], suffixes=("", "_was"))
    groups = both.groupby(["circuit", "decided_was"])
    assert len(rows) == len(groups) > 0, rows
    for row in rows:
        own = groups.get_group((row["circuit"], row["decided"]))
        assert (row["tested again"], row["hold now"]) == (len(own), int((own.verdict == "holds").sum())), row
        same(row["before, inHg"], own.lowest_was.mean())
        same(row["after, inHg"], own.lowest.mean())
    return len(rows)


def main():
    with tempfile.TemporaryDirectory() as name:
        shop = pathlib.Path(name)
        made = ["cargo", "test", "--quiet", "--lib", "a_folder_of_records_of_three_benches_is_taken_up_whole"]
        subprocess.run(made, cwd=ROOT, check=True, stdout=subprocess.DEVNULL, env={**os.environ, "SPOOLPROOF_WRITE_RECORDS": name})
        every_test, every_reading = tables(shop / "records")
        assert every_test.session.nunique() == 500
        n_rows = 0
        for by in NARROWED:
            tests, readings = narrowed(every_test, by), narrowed(every_reading, by)
            n_rows += counted(asked(shop, by, "failing"), "circuit", tests, readings)
            for head in ("technician", "month"):
                n_rows += counted(asked(shop, by, "by", head), head, tests, readings)
            n_rows += spread(asked(shop, by, "spread", "circuit 3"), readings)
            n_rows += repairs(asked(shop, by, "repairs"), tests, every_test)
        print(f"history: {n_rows} rows about 500 records and {len(NARROWED)} narrowings are as pandas has them")


main()
