"""Reads the exported table back with pandas and DuckDB, and compares every cell with the JSON Lines."""

import csv
import io
import json
import pathlib
import tempfile

import duckdb
import pandas

from support.shop import NAMES, program, rehearsed


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        shop = rehearsed(folder)
        table = program("--shop", shop, "records", "export")
        lines = program("--shop", shop, "records", "export", "--format", "jsonl")
        (folder / "readings.csv").write_text(table, encoding="utf-8", newline="")
        (folder / "readings.jsonl").write_text(lines)

        rows = [json.loads(line) for line in lines.splitlines()]
        assert len(rows) == len(NAMES), len(rows)
        hostile = rows[-1]["circuit"]
        assert hostile.startswith("=1+1 </title>"), hostile

        assert table.startswith("\ufeffsession,"), table[:20]
        # Python's own reader, told to allow nothing that RFC 4180 does not.
        strict = list(csv.DictReader(io.StringIO(table.removeprefix("\ufeff"), newline=""), strict=True))
        frame = pandas.read_csv(folder / "readings.csv", dtype={"procedure_version": str})
        from_lines = pandas.read_json(folder / "readings.jsonl", lines=True, dtype=False)
        duck = duckdb.sql(f"select * from read_csv('{folder / 'readings.csv'}', header = true)")
        duck_lines = duckdb.sql(f"select * from read_json('{folder / 'readings.jsonl'}', format = 'newline_delimited')")
        duck_columns, duck_rows = duck.columns, duck.fetchall()
        assert list(rows[0]) == list(frame.columns) == duck_columns == duck_lines.columns == list(strict[0])
        assert len(strict) == len(frame) == len(from_lines) == len(duck_rows) == len(duck_lines.fetchall()) == len(rows)

        cells = 0
        for at, row in enumerate(rows):
            for column, value in row.items():
                if isinstance(value, str) and value.startswith(("=", "+", "-", "@")):
                    # A spreadsheet must not take it for a formula; the JSON Lines have it as it is.
                    value = f"'{value}"
                written = strict[at][column]
                if value is None:
                    assert written == "" and pandas.isna(frame[column][at]), (column, written)
                elif isinstance(value, bool):
                    assert written == str(value).lower() and bool(frame[column][at]) is value, (column, written)
                elif isinstance(value, (int, float)):
                    # Every digit survives: equal as doubles, not nearly so.
                    assert float(written) == value == float(frame[column][at]), (column, written, value)
                    assert float(duck_rows[at][duck_columns.index(column)]) == value, (column, value)
                else:
                    assert written == value == str(frame[column][at]), (column, written, value)
                cells += 1
        numbers = frame[["standard_reading_low_inHg", "standard_reading_inHg", "standard_reading_high_inHg"]]
        assert (numbers.diff(axis=1).iloc[:, 1:] > 0).all().all(), numbers
        print(f"export: {len(rows)} rows, {cells} cells read back the same with pandas and DuckDB")


main()
