"""Times DuckDB on the same records: reading their JSON, and the questions of the history on its own tables."""

import sys
import time

import duckdb


def timed(name, query, rounds=11):
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        rows = duckdb.sql(query).fetchall()
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
    import sqlite3

    source = sqlite3.connect(database)
    tables = ["record", "circuit", "reading", "repair", "money", "drift"]
    for table in tables:
        cursor = source.execute(f"select * from {table}")
        columns = [column[0] for column in cursor.description]
        import pandas

        frame = pandas.DataFrame(cursor.fetchall(), columns=columns)  # noqa: F841, read by name
        duckdb.sql(f"create table {table} as select * from frame")
    word = dict(source.execute("select text, id from word"))
    unit, circuit = word["Merle M1"], word["circuit 3"]
    duckdb.sql("create table tested as select c.*, r.unit, r.month, r.technician, r.rig from circuit c "
               "join record r on r.id = c.record where r.counts")
    timed("which circuits fail most", f"select circuit, verdict, count(*) from tested where unit = {unit} group by all")
    timed("by technician", f"select technician, verdict, count(*) from tested where unit = {unit} group by all")
    timed("by month, one circuit", f"select month, verdict, count(*) from tested where unit = {unit} and "
          f"circuit = {circuit} group by all")
    timed("spread of a circuit", f"select count(*), avg(standard), stddev(standard), "
          f"quantile_cont(standard, [0.05, 0.25, 0.5, 0.75, 0.95]) from reading where unit = {unit} and circuit = {circuit}")
    timed("before and after repairs", f"select circuit, decided, count(*), avg(standard_before), avg(standard_after) "
          f"from repair where unit = {unit} group by all")
    # It has no function for the verdict; this is the nearest that plain SQL says: on which side of a limit.
    timed("on the side of other limits", f"select record, case when standard >= 71114 then 0 when standard > 54182 then 1 "
          f"else 2 end as v from reading where unit = {unit} and circuit = {circuit} "
          f"and v != (case when standard >= 67727.78 then 0 when standard > 50795.8 then 1 else 2 end)")
    timed("savings", "select month, sum(saved) from money group by all")
    timed("drift of a rig", 'select "at", plugged, "through" from drift order by "at" desc limit 100')


{"read": read, "ask": ask}[sys.argv[1]](sys.argv[2])
