"""Times the history's own questions on PostgreSQL, and tries them on tables that are parted by benches over two servers.

    benches/server.py [RECORDS [PLANS]]

makes so many records (200,000 where none is said) of 1, 40 and 400 benches by chance, each with 12 circuits of one reading,
asks every question of each, and writes the plans into the folder PLANS. Then the same records lie half on one server and
half on another one, whose tables are foreign partitions of a third database: the answers must be the same. It starts servers
of its own on loopback ports (PostgreSQL 15 or newer, with postgres_fdw) and removes them. The data are invented.
"""

import contextlib
import os
import pathlib
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time

SQL = pathlib.Path(__file__).parent.parent / "src/history/sql"
BIN = max(pathlib.Path("/usr/lib/postgresql").glob("*/bin"))
ACCOUNT = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"] if os.geteuid() == 0 else []
N_CIRCUITS = 12
UNIT, RIG = "Merle M1", "bench 1"
QUESTIONS = {
    "failing": ("failing.sql", [UNIT, False]),
    "by technician": ("by.sql", [UNIT, False, "technician"]),
    "by month, one circuit": ("by_of_circuit.sql", [UNIT, False, "month", "circuit 3"]),
    "spread of a circuit": ("spread.sql", [UNIT, "circuit 3", False]),
    "before and after repairs": ("repairs.sql", [UNIT]),
    "judged by other limits": ("limits.sql", [UNIT, "circuit 3"]),
    "limits from good units": ("good.sql", [UNIT, "circuit 3"]),
    "savings": ("savings.sql", []),
    "drift of a rig": ("drift.sql", [RIG, 100]),
    "a class": ("class.sql", [UNIT]),
}
PARTED = ["record", "circuit", "test", "reading", "account", "rig_check"]


class Server:
    """A server of its own, on a free loopback port."""

    def __init__(self, folder):
        folder.mkdir()
        if ACCOUNT:
            shutil.chown(folder, "postgres", "postgres")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        data = folder / "data"
        quiet = {"check": True, "stdout": subprocess.DEVNULL, "cwd": folder}
        subprocess.run([*ACCOUNT, BIN / "initdb", "-D", data, "-U", "boss", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8"], **quiet)
        settings = {"listen_addresses": "127.0.0.1", "port": self.port, "unix_socket_directories": folder, "shared_buffers": "1GB",
                    "max_wal_size": "8GB", "maintenance_work_mem": "256MB", "work_mem": "64MB", "fsync": "off"}
        options = [option for name, value in settings.items() for option in ("-c", f"{name}={value}")]
        self.process = subprocess.Popen([*ACCOUNT, BIN / "postgres", "-D", data, *options], stderr=subprocess.DEVNULL, cwd=folder)
        while subprocess.run([BIN / "pg_isready", "-q", "-h", "127.0.0.1", "-p", str(self.port)]).returncode:
            time.sleep(0.1)

    def say(self, database, sql):
        command = [BIN / "psql", "-X", "-q", "-A", "-t", "-F", "\t", "-v", "ON_ERROR_STOP=1", "-h", "127.0.0.1", "-p", str(self.port),
                   "-U", "boss", "-d", database, "-f", "-"]
        sql = f"SET search_path TO spoolproof, public;\n{sql}"
        return subprocess.run(command, check=True, input=sql, capture_output=True, text=True).stdout

    def stop(self):
        self.process.terminate()
        self.process.wait()


def tables():
    """The tables and their indexes as PostgreSQL takes them."""
    text = (SQL / "tables.sql").read_text()
    text = text.replace("id INTEGER PRIMARY KEY", "id BIGINT PRIMARY KEY").replace(" WITHOUT ROWID", "")
    return re.sub(r"--.*", "", text).replace(" TEXT", ' TEXT COLLATE "C"')


def fill(n_records, benches, n_benches):
    """SQL that makes the records of some benches, of so many on the whole; of each ten, one tests again what another repaired."""
    first, last = benches
    return f"""
    CREATE SCHEMA spoolproof;
    {tables()}
    SELECT setseed(0.5);
    INSERT INTO circuit SELECT (bench * 8 + unit) * {N_CIRCUITS} + n, bench, 'Merle M' || unit, 'circuit ' || n, 50795, 67727, FALSE, 0
    FROM generate_series({first}, {last}) AS bench, generate_series(1, 8) AS unit, generate_series(1, {N_CIRCUITS}) AS n;
    -- What is drawn hangs on the number alone, so that the same records are made wherever they lie.
    CREATE FUNCTION drawn(seed BIGINT) RETURNS DOUBLE PRECISION LANGUAGE sql IMMUTABLE AS
    $$ SELECT (hashint8extended(seed, 7) & 1048575) / 1048576.0::DOUBLE PRECISION $$;
    CREATE UNLOGGED TABLE drawn AS
    SELECT id, 1 + id % {n_benches} AS bench, id % 10 = 9 AS again, (id - CASE WHEN id % 10 = 9 THEN 9 ELSE 0 END) / 10 AS first
    FROM generate_series(0, {n_records - 1}) AS id WHERE 1 + id % {n_benches} BETWEEN {first} AND {last};
    CREATE UNLOGGED TABLE read AS
    SELECT id AS record, bench, again, n, (bench * 8 + 1 + first % 8) * {N_CIRCUITS} + n AS circuit, standard,
           CASE WHEN standard > 69000 THEN 'holds' WHEN standard > 66500 THEN 'retest' WHEN standard > 52000 THEN 'worn'
                WHEN standard > 49500 THEN 'retest' ELSE 'leaks' END AS verdict
    FROM (SELECT *, 3386.389 * (CASE WHEN again THEN 22.5 ELSE 22 - 0.4 * n END + drawn(id * 100 + n) + drawn(id * 100 + n + 20) - 1
                    - CASE WHEN NOT again AND drawn(id * 100 + n + 40) < 0.15 THEN 8 ELSE 0 END) AS standard
          FROM drawn, generate_series(1, {N_CIRCUITS}) AS n) AS standards;
    ALTER TABLE record DROP CONSTRAINT record_pkey, DROP CONSTRAINT record_session_key;
    ALTER TABLE test DROP CONSTRAINT test_pkey; ALTER TABLE reading DROP CONSTRAINT reading_pkey;
    DROP INDEX record_amends, record_family, record_counts, record_follows, record_unit, record_job, test_circuit;
    INSERT INTO record
    SELECT drawn.id, drawn.bench, 's' || drawn.id, '', NULL, 's' || drawn.id, TRUE, CASE WHEN again THEN 's' || drawn.id - 9 END,
           CASE WHEN again THEN 's' || drawn.id - 9 END, 1609750800 + drawn.id * 60,
           '202' || 1 + drawn.id % 6 || '-0' || 1 + drawn.id % 9, 'Merle M' || 1 + first % 8,
           (ARRAY['Ana', 'Bo', 'Chidi', 'Dara', 'Eik'])[1 + drawn.id * 7 % 5], 'bench ' || drawn.bench, 0.95, NULL, NULL,
           holds, 0, worn, leaks, 0, 0, retest, 0, 0, 0, 0, {N_CIRCUITS}, total
    FROM drawn JOIN (SELECT record, COUNT(*) FILTER (WHERE verdict = 'holds') AS holds, COUNT(*) FILTER (WHERE verdict = 'worn') AS worn,
                            COUNT(*) FILTER (WHERE verdict = 'leaks') AS leaks, COUNT(*) FILTER (WHERE verdict = 'retest') AS retest,
                            SUM(standard ORDER BY n) AS total
                     FROM read GROUP BY record) AS counted ON counted.record = drawn.id;
    INSERT INTO test SELECT bench, record, circuit, again, verdict, CASE WHEN verdict IN ('worn', 'leaks') THEN 'ream' END,
                            verdict <> 'holds', standard, 1, standard FROM read ORDER BY circuit;
    INSERT INTO reading SELECT bench, circuit, record, 0, again, verdict, standard, 300, 200, NULL FROM read ORDER BY circuit;
    INSERT INTO account SELECT bench, record, 'EUR', 102 * COUNT(*), 700, FALSE, 0 FROM read WHERE verdict IN ('worn', 'leaks')
    GROUP BY bench, record;
    INSERT INTO rig_check SELECT bench, id, 0, 'bench ' || bench, 1609750800 + id * 60, 0, 30 * drawn(id) - 15, 30 * drawn(-id) - 15, 1, 338.6, FALSE
    FROM drawn;
    DROP TABLE drawn, read;
    ALTER TABLE record ADD PRIMARY KEY (id), ADD UNIQUE (session);
    ALTER TABLE test ADD PRIMARY KEY (record, circuit); ALTER TABLE reading ADD PRIMARY KEY (circuit, record, n);
    {" ".join(re.findall(r"CREATE (?:UNIQUE )?INDEX (?:record|test)_[^;]*;", tables()))}
    {(SQL / "server/keys.sql").read_text()}
    ANALYZE;
    """


def parted(servers, bounds):
    """SQL that makes the same tables parted by benches, each part on a server."""
    made = ["CREATE SCHEMA spoolproof; CREATE EXTENSION postgres_fdw SCHEMA public;"]
    for name, server in servers.items():
        made.append(f"""
        CREATE SERVER {name} FOREIGN DATA WRAPPER postgres_fdw OPTIONS (host '127.0.0.1', port '{server.port}', dbname 'part',
            async_capable 'true', use_remote_estimate 'true', fetch_size '10000', fdw_tuple_cost '0.2');
        CREATE USER MAPPING FOR boss SERVER {name} OPTIONS (user 'boss');""")
    for table in PARTED:
        columns = re.search(rf"CREATE TABLE {table} \((.*?)\n\);", tables(), re.DOTALL)[1]
        # A partition has its keys where it lies.
        columns = re.sub(r",\s*(?:PRIMARY KEY|UNIQUE) \([^)]*\)| PRIMARY KEY| UNIQUE", "", columns)
        made.append(f"CREATE TABLE {table} ({columns}) PARTITION BY RANGE (bench);")
        for name, (first, last) in zip(servers, bounds):
            made.append(f"CREATE FOREIGN TABLE {table}_{name} PARTITION OF {table} FOR VALUES FROM ({first}) TO ({last + 1}) "
                        f"SERVER {name} OPTIONS (schema_name 'spoolproof', table_name '{table}');")
    for setting in ("enable_partitionwise_aggregate", "enable_partitionwise_join"):
        made.append(f"ALTER DATABASE head SET {setting} = on;")
    # What is joined here is planned by what this database knows of the tables.
    return "\n".join([*made, f"ANALYZE {', '.join(PARTED)};"])


def filled_in(file, parameters):
    literal = lambda value: str(value).upper() if isinstance(value, bool) else f"'{value}'" if isinstance(value, str) else str(value)
    text = re.sub(r"--.*", "", (SQL / file).read_text()).replace("asked_", "")
    return re.sub(r"\$(\d)", lambda place: literal(parameters[int(place[1]) - 1]), text)


def ask(server, database, plans, label):
    """Asks every question three times; returns the answers, with figures to nine digits, in an order of their own."""
    answers = {}
    for name, (file, parameters) in QUESTIONS.items():
        sql = filled_in(file, parameters)
        times = []
        for _ in range(3):
            plan = server.say(database, f"EXPLAIN (ANALYZE, VERBOSE, TIMING OFF) {sql}")
            times.append(float(re.search(r"Execution Time: ([\d.]+)", plan)[1]))
        if plans:
            (plans / f"{label}, {name}.txt".replace(" ", "_")).write_text(plan)
        rows = server.say(database, sql).splitlines()
        figure = lambda cell: f"{float(cell):.9g}" if re.fullmatch(r"-?[\d.]+(?:e[-+]\d+)?", cell) else cell
        answers[name] = sorted("\t".join(map(figure, row.split("\t"))) for row in rows)
        n_away = len(re.findall(r"Foreign Scan", plan))
        summed_away = len(re.findall(r"Relations: Aggregate on", plan))
        away = f", {n_away} foreign scans, {summed_away} of them sum where the rows lie" if n_away else ""
        is_async = ", asynchronous" if "Async Foreign Scan" in plan else ""
        print(f"  {name:<26} {sorted(times)[1]:9.1f} ms ({len(rows)} rows{away}{is_async})", flush=True)
    return answers


def main():
    n_records = int(sys.argv[1]) if len(sys.argv) > 1 else 200_000
    plans = pathlib.Path(sys.argv[2]) if len(sys.argv) > 2 else None
    if plans:
        plans.mkdir(parents=True, exist_ok=True)
    with contextlib.ExitStack() as cleanup:
        folder = pathlib.Path(cleanup.enter_context(tempfile.TemporaryDirectory()))
        folder.chmod(0o755)
        one, two = (Server(folder / name) for name in ("one", "two"))
        for server in (one, two):
            cleanup.callback(server.stop)
        print(one.say("postgres", "SELECT version()").split(" on ")[0])
        for n_benches in (1, 40, 400):
            one.say("postgres", "CREATE DATABASE whole")
            began = time.perf_counter()
            one.say("whole", fill(n_records, (1, n_benches), n_benches))
            size = one.say("whole", "SELECT pg_size_pretty(pg_database_size('whole'))").strip()
            print(f"one server, {n_benches} benches, {n_records} records, {n_records * N_CIRCUITS} readings, {size}, "
                  f"made in {time.perf_counter() - began:.0f} s:", flush=True)
            whole = ask(one, "whole", plans, f"{n_benches} benches")
            one.say("postgres", "DROP DATABASE whole")
        bounds = [(1, 200), (201, 400)]
        for server, part in zip((one, two), bounds):
            server.say("postgres", "CREATE DATABASE part")
            server.say("part", fill(n_records, part, 400))
        one.say("postgres", "CREATE DATABASE head")
        one.say("head", parted({"one": one, "two": two}, bounds))
        print("two servers, 200 benches each, asked by a third database:", flush=True)
        there = ask(one, "head", plans, "two servers")
        for name, rows in whole.items():
            assert there[name] == rows, f"{name}: two servers answer otherwise than one"
        print("two servers answer as one does, to nine digits")


main()
