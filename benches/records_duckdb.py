"""Times DuckDB on the same records: reading their JSON, and the history's own questions on the history's own tables."""

import csv
import json
import pathlib
import re
import sqlite3
import sys
import tempfile
import time

import duckdb

SQL = pathlib.Path(__file__).parent.parent / "src/history/sql"


def timed(name, query, parameters, rounds=11):
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        rows = duckdb.execute(query, parameters).fetchall()
        times.append(time.perf_counter() - began)
    print(f"  DuckDB {name:<26} {sorted(times)[rounds // 2] * 1e3:8.2f} ms ({len(rows)} rows)", flush=True)


def read(folder):
    began = time.perf_counter()
    duckdb.sql(f"""
        create table record as select session, finished, technician, procedure, rig, circuits, checks, decisions, account
        from read_json('{folder}/*.json', maximum_object_size = 100000000)
    """)
    n = duckdb.sql("select count(*) from record").fetchall()[0][0]
    print(f"  DuckDB reads the JSON of {n} records in {time.perf_counter() - began:.2f} s on all cores", flush=True)


def ask(database):
    source = sqlite3.connect(database)
    # It reads whole columns and needs no index.
    for table in re.finditer(r"(CREATE TABLE (\w+) \(.*?\))(?: WITHOUT ROWID)?;", (SQL / "tables.sql").read_text(), re.DOTALL):
        duckdb.sql(table[1])
        with tempfile.NamedTemporaryFile("w", suffix=".csv", newline="") as file:
            writer = csv.writer(file)
            for row in source.execute(f"select * from {table[2]}"):
                writer.writerow("\\N" if value is None else value for value in row)
            file.flush()
            duckdb.sql(f"copy {table[2]} from '{file.name}' (auto_detect false, header false, nullstr '\\N')")
    for question in json.load(sys.stdin):
        timed(question["name"], (SQL / question["file"]).read_text().replace("asked_", ""), question["parameters"])


{"read": read, "ask": ask}[sys.argv[1]](sys.argv[2])
