/// Version of the tables; an index of another version is thrown away and built anew.
pub(super) const VERSION: i64 = 4;

/// The tables. Words (units, circuits, technicians, rigs, months, decisions) stand once in `word`; vacuums are in Pa,
/// times in seconds since 1970. `tally` and `bin` sum up what counts, so that no question reads every reading.
pub(super) const TABLES: &str = "
CREATE TABLE state (key TEXT PRIMARY KEY, value INTEGER NOT NULL) WITHOUT ROWID;

CREATE TABLE word (id INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE);

-- A record; it counts unless another one amends it, or amends the same record later.
CREATE TABLE record (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    finished INTEGER NOT NULL,
    unit INTEGER NOT NULL,
    month INTEGER NOT NULL,
    technician INTEGER NOT NULL,
    rig INTEGER NOT NULL,
    confidence REAL NOT NULL,
    job TEXT,
    amends TEXT,
    after TEXT,
    counts INTEGER NOT NULL
);
CREATE INDEX record_amends ON record (amends) WHERE amends IS NOT NULL;
CREATE INDEX record_job ON record (job) WHERE job IS NOT NULL;
CREATE INDEX record_after ON record (after) WHERE after IS NOT NULL;

-- A file among the records that is none.
CREATE TABLE skipped (name TEXT PRIMARY KEY, why TEXT NOT NULL) WITHOUT ROWID;

CREATE TABLE circuit (
    record INTEGER NOT NULL,
    circuit INTEGER NOT NULL,
    verdict INTEGER NOT NULL,
    decided INTEGER,
    standard REAL,
    PRIMARY KEY (record, circuit)
) WITHOUT ROWID;

-- A reading; it was judged so, or is negative where the record does not count.
CREATE TABLE reading (
    unit INTEGER NOT NULL,
    circuit INTEGER NOT NULL,
    record INTEGER NOT NULL,
    n INTEGER NOT NULL,
    standard REAL NOT NULL,
    normal REAL NOT NULL,
    rectangle REAL NOT NULL,
    confidence REAL NOT NULL,
    was INTEGER NOT NULL,
    PRIMARY KEY (unit, circuit, record, n)
) WITHOUT ROWID;

-- The limits that a circuit had last; none where they were to be found.
CREATE TABLE latest (
    unit INTEGER NOT NULL,
    circuit INTEGER NOT NULL,
    holds REAL,
    leaks REAL,
    finished INTEGER NOT NULL,
    PRIMARY KEY (unit, circuit)
) WITHOUT ROWID;

-- Of first tests, and of those that test a unit again.
CREATE TABLE tally (
    unit INTEGER NOT NULL,
    circuit INTEGER NOT NULL,
    month INTEGER NOT NULL,
    technician INTEGER NOT NULL,
    rig INTEGER NOT NULL,
    verdict INTEGER NOT NULL,
    again INTEGER NOT NULL,
    n INTEGER NOT NULL,
    n_readings INTEGER NOT NULL,
    sum REAL NOT NULL,
    PRIMARY KEY (unit, circuit, month, technician, rig, verdict, again)
) WITHOUT ROWID;

-- Readings by steps of 0.05 inHg; sums are of what a reading is above its step.
CREATE TABLE bin (
    unit INTEGER NOT NULL,
    circuit INTEGER NOT NULL,
    again INTEGER NOT NULL,
    bin INTEGER NOT NULL,
    n INTEGER NOT NULL,
    sum REAL NOT NULL,
    squares REAL NOT NULL,
    PRIMARY KEY (unit, circuit, again, bin)
) WITHOUT ROWID;

-- Money by month, of first tests after which something was repaired.
CREATE TABLE money (
    month INTEGER NOT NULL,
    currency INTEGER NOT NULL,
    n INTEGER NOT NULL,
    total REAL NOT NULL,
    saved REAL NOT NULL,
    PRIMARY KEY (month, currency)
) WITHOUT ROWID;
-- What a record's decisions cost.
CREATE TABLE account (
    record INTEGER PRIMARY KEY,
    currency INTEGER NOT NULL,
    total REAL NOT NULL,
    replacement REAL NOT NULL,
    is_replaced INTEGER NOT NULL
);

-- A circuit before and after what was decided about it.
CREATE TABLE repair (
    unit INTEGER NOT NULL,
    circuit INTEGER NOT NULL,
    decided INTEGER NOT NULL,
    after INTEGER NOT NULL,
    before INTEGER NOT NULL,
    verdict_before INTEGER NOT NULL,
    verdict_after INTEGER NOT NULL,
    standard_before REAL,
    standard_after REAL,
    PRIMARY KEY (unit, circuit, decided, after)
) WITHOUT ROWID;
CREATE INDEX repair_before ON repair (before);
CREATE INDEX repair_after ON repair (after);

-- How far the rig was off at a check, against its calibration.
CREATE TABLE drift (
    rig INTEGER NOT NULL,
    at INTEGER NOT NULL,
    record INTEGER NOT NULL,
    n INTEGER NOT NULL,
    plugged REAL NOT NULL,
    through REAL NOT NULL,
    PRIMARY KEY (rig, at, record, n)
) WITHOUT ROWID;
CREATE INDEX drift_record ON drift (record);
";

/// Every table that holds what records say.
pub(super) const EMPTIED: &[&str] = &[
    "word", "record", "skipped", "circuit", "reading", "latest", "tally", "bin", "money", "account",
    "repair", "drift",
];
