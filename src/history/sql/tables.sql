-- The tables of the history, of records of one mode. Texts stand as they are read; vacuums are in Pa, times in seconds
-- since 1970. Each row has the number of the bench that it comes from, so that the tables can be parted by benches.

CREATE TABLE state (name TEXT PRIMARY KEY, value BIGINT NOT NULL);

-- What was left out: a file among the records, or a document that was sent.
CREATE TABLE skipped (name TEXT PRIMARY KEY, why TEXT NOT NULL);

CREATE TABLE bench (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);

-- A record. Those that amend one another are a family, called as the first of them; one of a family counts, and only of
-- that one do the tables below hold anything.
CREATE TABLE record (
    id INTEGER PRIMARY KEY,
    bench BIGINT NOT NULL,
    session TEXT NOT NULL UNIQUE,
    digest TEXT NOT NULL,
    amends TEXT,
    family TEXT NOT NULL,
    counts BOOLEAN NOT NULL,
    -- The session whose circuits it tests again, and the family of that.
    after TEXT,
    follows TEXT,
    finished BIGINT NOT NULL,
    -- The day by the clock of its place on which the bench was read, as 2026-11-27.
    day TEXT NOT NULL,
    unit TEXT NOT NULL,
    technician TEXT NOT NULL,
    rig TEXT NOT NULL,
    confidence DOUBLE PRECISION NOT NULL,
    job TEXT,
    -- The fingerprint of the key that handed an exercise out and alone tells what attempts at it come to; none
    -- of any other record.
    held_back_by TEXT,
    -- How many of its circuits got which verdict, how many that are not as they should be are left so, how many
    -- readings they have without limits of their own, what these sum up to, and how many are left out of both, as no
    -- two takes of them agree.
    n_holds BIGINT NOT NULL,
    n_right BIGINT NOT NULL,
    n_worn BIGINT NOT NULL,
    n_leaks BIGINT NOT NULL,
    n_open BIGINT NOT NULL,
    n_tight BIGINT NOT NULL,
    n_retest BIGINT NOT NULL,
    n_unjudged BIGINT NOT NULL,
    n_unfitted BIGINT NOT NULL,
    n_untested BIGINT NOT NULL,
    n_left BIGINT NOT NULL,
    readings BIGINT NOT NULL,
    total DOUBLE PRECISION NOT NULL,
    differing BIGINT NOT NULL
);
CREATE INDEX record_amends ON record (amends);
CREATE INDEX record_family ON record (family);
CREATE UNIQUE INDEX record_counts ON record (family) WHERE counts;
CREATE INDEX record_follows ON record (follows);
CREATE INDEX record_unit ON record (unit, follows);
CREATE INDEX record_job ON record (job);

-- A circuit of a unit as a bench knows it, with the limits that it had last there; none where they were to be found.
-- Those of a passage are a window.
CREATE TABLE circuit (
    id INTEGER PRIMARY KEY,
    bench BIGINT NOT NULL,
    unit TEXT NOT NULL,
    name TEXT NOT NULL,
    lower_limit DOUBLE PRECISION,
    upper_limit DOUBLE PRECISION,
    is_window BOOLEAN NOT NULL,
    finished BIGINT NOT NULL,
    UNIQUE (unit, name, bench)
);

-- A circuit in a record, tested or not.
CREATE TABLE test (
    bench BIGINT NOT NULL,
    record BIGINT NOT NULL,
    circuit BIGINT NOT NULL,
    again BOOLEAN NOT NULL,
    verdict TEXT,
    decided TEXT,
    -- Whether it is to be tested again after this record: not sound, or to be tested and not.
    wanted BOOLEAN NOT NULL,
    -- The lowest of its readings that have no limits of their own; their number, what they sum up to, and how
    -- many are left out of all three, as no two takes of them agree.
    lowest DOUBLE PRECISION,
    readings BIGINT NOT NULL,
    total DOUBLE PRECISION NOT NULL,
    differing BIGINT NOT NULL,
    PRIMARY KEY (record, circuit)
) WITHOUT ROWID;
CREATE INDEX test_circuit ON test (circuit, bench, again, verdict, readings, total, differing, lowest);

-- A standard reading and how its errors are spread, none where no two takes agree, and the verdict on its circuit.
CREATE TABLE reading (
    bench BIGINT NOT NULL,
    circuit BIGINT NOT NULL,
    record BIGINT NOT NULL,
    n BIGINT NOT NULL,
    again BOOLEAN NOT NULL,
    verdict TEXT,
    standard DOUBLE PRECISION,
    normal DOUBLE PRECISION,
    rectangle DOUBLE PRECISION,
    -- The verdict on it, where it has limits of its own.
    apart TEXT,
    PRIMARY KEY (circuit, record, n)
) WITHOUT ROWID;

-- What a record found that no circuit carries.
CREATE TABLE finding (
    bench BIGINT NOT NULL,
    record BIGINT NOT NULL,
    n BIGINT NOT NULL,
    text TEXT NOT NULL,
    PRIMARY KEY (record, n)
) WITHOUT ROWID;

-- What the decisions of a record cost, and how many circuits are outside of that: undecided or not tested.
CREATE TABLE account (
    bench BIGINT NOT NULL,
    record BIGINT NOT NULL PRIMARY KEY,
    currency TEXT NOT NULL,
    total DOUBLE PRECISION NOT NULL,
    replacement DOUBLE PRECISION NOT NULL,
    replaced BOOLEAN NOT NULL,
    outside BIGINT NOT NULL
) WITHOUT ROWID;

-- How much deeper the rig read at a check than at its calibration, of which it names the number within the record: the
-- plugged hose, and through the orifice; and the gauge's step from mark to mark.
CREATE TABLE rig_check (
    bench BIGINT NOT NULL,
    record BIGINT NOT NULL,
    n BIGINT NOT NULL,
    rig TEXT NOT NULL,
    checked BIGINT NOT NULL,
    -- How far the clock of the place was ahead of UTC, in minutes.
    minutes_ahead BIGINT NOT NULL,
    plugged DOUBLE PRECISION NOT NULL,
    through DOUBLE PRECISION NOT NULL,
    calibration BIGINT NOT NULL,
    division DOUBLE PRECISION NOT NULL,
    -- Whether it found the rig drifted, so that it was set again.
    drifted BOOLEAN NOT NULL,
    PRIMARY KEY (record, n)
) WITHOUT ROWID;
CREATE INDEX rig_check_rig ON rig_check (rig, checked);
