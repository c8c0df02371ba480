use std::collections::HashMap;

use rusqlite::{Transaction, params};

use crate::quantity::INCH_OF_MERCURY;

/// Width of the steps that readings are counted in, in Pa: 0.05 inHg.
pub(super) const STEP: f64 = 0.05 * INCH_OF_MERCURY;

/// Sums that wait to be added to those on the disk.
#[derive(Default)]
pub(super) struct Tallies {
    tally: HashMap<TallyKey, TallySum>,
    bins: HashMap<(i64, i64, bool, i64), BinSum>,
    money: HashMap<(i64, i64), (i64, f64, f64)>,
}

/// What a circuit of a record counts under.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct TallyKey {
    pub(super) unit: i64,
    pub(super) circuit: i64,
    pub(super) month: i64,
    pub(super) technician: i64,
    pub(super) rig: i64,
    pub(super) verdict: i64,
    /// Whether it tests a unit again.
    pub(super) again: bool,
}

#[derive(Default)]
struct TallySum {
    n: i64,
    n_readings: i64,
    sum: f64,
}

#[derive(Default)]
struct BinSum {
    n: i64,
    sum: f64,
    squares: f64,
}

impl Tallies {
    /// Adds a circuit of a record, or takes it away with a sign of -1.
    pub(super) fn circuit(&mut self, key: TallyKey, standards: impl Iterator<Item = f64>, sign: i64) {
        let sums = self.tally.entry(key).or_default();
        sums.n += sign;
        for standard in standards {
            sums.n_readings += sign;
            sums.sum += sign as f64 * standard;
            let bin = (standard / STEP).floor();
            let above = standard - bin * STEP;
            let sums = self.bins.entry((key.unit, key.circuit, key.again, bin as i64)).or_default();
            sums.n += sign;
            sums.sum += sign as f64 * above;
            sums.squares += sign as f64 * above * above;
        }
    }

    /// Adds what a record's decisions cost and save, or takes it away.
    pub(super) fn money(&mut self, month: i64, currency: i64, total: f64, saved: f64, sign: i64) {
        let sums = self.money.entry((month, currency)).or_default();
        sums.0 += sign;
        sums.1 += sign as f64 * total;
        sums.2 += sign as f64 * saved;
    }

    /// Adds everything to the sums on the disk and begins anew.
    pub(super) fn flush(&mut self, transaction: &Transaction<'_>) -> rusqlite::Result<()> {
        let mut tally = transaction.prepare_cached(
            "INSERT INTO tally VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) ON CONFLICT DO UPDATE SET
             n = n + excluded.n, n_readings = n_readings + excluded.n_readings, sum = sum + excluded.sum",
        )?;
        for (key, sums) in self.tally.drain() {
            let TallyKey { unit, circuit, month, technician, rig, verdict, again } = key;
            tally.execute(params![
                unit,
                circuit,
                month,
                technician,
                rig,
                verdict,
                again,
                sums.n,
                sums.n_readings,
                sums.sum
            ])?;
        }
        let mut bin = transaction.prepare_cached(
            "INSERT INTO bin VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) ON CONFLICT DO UPDATE SET
             n = n + excluded.n, sum = sum + excluded.sum, squares = squares + excluded.squares",
        )?;
        for ((unit, circuit, again, at), sums) in self.bins.drain() {
            bin.execute(params![unit, circuit, again, at, sums.n, sums.sum, sums.squares])?;
        }
        let mut money = transaction.prepare_cached(
            "INSERT INTO money VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE SET
             n = n + excluded.n, total = total + excluded.total, saved = saved + excluded.saved",
        )?;
        for ((month, currency), (n, total, saved)) in self.money.drain() {
            money.execute(params![month, currency, n, total, saved])?;
        }
        Ok(())
    }
}
