-- The tables of the history. Texts stand as they are read; vacuums are in Pa, times in seconds since 1970.

CREATE TABLE state (name TEXT PRIMARY KEY, value BIGINT NOT NULL);

-- A file among the records that is left out.
CREATE TABLE skipped (name TEXT PRIMARY KEY, why TEXT NOT NULL);

-- A record. Those that amend one another are a family, called as the first of them; one of a family counts, and only of
-- that one do the tables below hold anything.
CREATE TABLE record (
    id INTEGER PRIMARY KEY,
    session TEXT NOT NULL UNIQUE,
    amends TEXT,
    family TEXT NOT NULL,
    counts BOOLEAN NOT NULL,
    -- The session whose circuits it tests again, and the family of that.
    after TEXT,
    follows TEXT,
    finished BIGINT NOT NULL,
    month TEXT NOT NULL,
    unit TEXT NOT NULL,
    technician TEXT NOT NULL,
    rig TEXT NOT NULL,
    confidence DOUBLE PRECISION NOT NULL,
    job TEXT,
    -- How many of its circuits got which verdict, how many readings they have without limits of their own, and what these sum
    -- up to.
    n_holds INTEGER NOT NULL,
    n_right INTEGER NOT NULL,
    n_worn INTEGER NOT NULL,
    n_leaks INTEGER NOT NULL,
    n_open INTEGER NOT NULL,
    n_tight INTEGER NOT NULL,
    n_retest INTEGER NOT NULL,
    n_unjudged INTEGER NOT NULL,
    n_unfitted INTEGER NOT NULL,
    n_untested INTEGER NOT NULL,
    readings INTEGER NOT NULL,
    total DOUBLE PRECISION NOT NULL
);
CREATE INDEX record_amends ON record (amends);
CREATE INDEX record_family ON record (family);
CREATE UNIQUE INDEX record_counts ON record (family) WHERE counts;
CREATE INDEX record_follows ON record (follows);
CREATE INDEX record_unit ON record (unit, follows);
CREATE INDEX record_job ON record (job);

-- A circuit of a unit, with the limits that it had last; none where they were to be found. Those of a passage are a window.
CREATE TABLE circuit (
    id INTEGER PRIMARY KEY,
    unit TEXT NOT NULL,
    name TEXT NOT NULL,
    lower_limit DOUBLE PRECISION,
    upper_limit DOUBLE PRECISION,
    is_window BOOLEAN NOT NULL,
    finished BIGINT NOT NULL,
    UNIQUE (unit, name)
);

-- A circuit in a record, tested or not.
CREATE TABLE test (
    record INTEGER NOT NULL,
    circuit INTEGER NOT NULL,
    again BOOLEAN NOT NULL,
    verdict TEXT,
    decided TEXT,
    -- Whether it is to be tested again after this record: not sound, or to be tested and not.
    wanted BOOLEAN NOT NULL,
    -- The lowest of its readings that have no limits of their own; their number, and what they sum up to.
    lowest DOUBLE PRECISION,
    readings INTEGER NOT NULL,
    total DOUBLE PRECISION NOT NULL,
    PRIMARY KEY (record, circuit)
) WITHOUT ROWID;
CREATE INDEX test_circuit ON test (circuit, again, verdict, readings, total, lowest);

-- A standard reading, how its errors are spread, and the verdict on its circuit.
CREATE TABLE reading (
    circuit INTEGER NOT NULL,
    record INTEGER NOT NULL,
    n INTEGER NOT NULL,
    again BOOLEAN NOT NULL,
    verdict TEXT,
    standard DOUBLE PRECISION NOT NULL,
    normal DOUBLE PRECISION NOT NULL,
    rectangle DOUBLE PRECISION NOT NULL,
    -- The verdict on it, where it has limits of its own.
    apart TEXT,
    PRIMARY KEY (circuit, record, n)
) WITHOUT ROWID;

-- What the decisions of a record cost, and how many circuits are outside of that: undecided or not tested.
CREATE TABLE account (
    record INTEGER PRIMARY KEY,
    currency TEXT NOT NULL,
    total DOUBLE PRECISION NOT NULL,
    replacement DOUBLE PRECISION NOT NULL,
    replaced BOOLEAN NOT NULL,
    outside INTEGER NOT NULL
);

-- How much deeper the rig read at a check than at its calibration, of which it names the number within the record: the plugged
-- hose, and through the orifice; and the gauge's step from mark to mark.
CREATE TABLE rig_check (
    record INTEGER NOT NULL,
    n INTEGER NOT NULL,
    rig TEXT NOT NULL,
    checked BIGINT NOT NULL,
    plugged DOUBLE PRECISION NOT NULL,
    through DOUBLE PRECISION NOT NULL,
    calibration INTEGER NOT NULL,
    division DOUBLE PRECISION NOT NULL,
    PRIMARY KEY (record, n)
) WITHOUT ROWID;
CREATE INDEX rig_check_rig ON rig_check (rig, checked);
