use super::{Index, IndexError};

/// What became of circuits about which the same was decided.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RepairOutcome {
    pub circuit: String,
    pub decided: String,
    /// How many were tested again afterwards.
    pub n: u64,
    /// How many of them hold now.
    pub holds_now: u64,
    /// Mean of the lowest standard readings before, in Pa.
    pub before_pa: Option<f64>,
    /// Mean of the lowest standard readings afterwards, in Pa.
    pub after_pa: Option<f64>,
}

/// What a month's decisions cost and save.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Savings {
    /// The month, as `2026-11`.
    pub month: String,
    /// The money; empty where the shop names none.
    pub currency: String,
    /// About how many units a repair was decided in place of a replacement; one that was replaced after all
    /// is taken away again.
    pub n: i64,
    /// What was decided costs.
    pub total: f64,
    /// What replacements would cost more.
    pub saved: f64,
    /// How many circuits of those units are undecided or not tested, so that no figure has them.
    pub outside: i64,
}

/// A check of a rig against its calibration. Vacuums are in Pa.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ChartPoint {
    /// When, in seconds since 1970.
    pub at: i64,
    /// How far the clock of the place was ahead of UTC.
    pub minutes_ahead: i16,
    pub session: String,
    /// How much deeper the plugged hose read than at the calibration.
    pub plugged: f64,
    /// How much deeper the orifice read.
    pub through: f64,
    /// Which calibration of the session it checks, from 1.
    pub calibration: u64,
    /// The step from mark to mark of the gauge.
    pub division: f64,
    /// Whether it found the rig drifted, so that it was set again.
    pub drifted: bool,
}

impl Index {
    /// Returns what became of a unit's circuits after what was decided about them, by circuit and decision.
    pub(crate) fn repairs(&self, unit: &str) -> Result<Vec<RepairOutcome>, IndexError> {
        let mut repairs = self.ask(include_str!("sql/repairs.sql"), &[&unit], |row| {
            Ok(RepairOutcome {
                circuit: row.get(0)?,
                decided: row.get(1)?,
                n: row.get(2)?,
                holds_now: row.get(3)?,
                before_pa: row.get(4)?,
                after_pa: row.get(5)?,
            })
        })?;
        repairs.sort_by(|one, other| {
            alphanumeric_sort::compare_str(&one.circuit, &other.circuit)
                .then_with(|| one.decided.cmp(&other.decided))
        });
        Ok(repairs)
    }

    /// Returns what the shop's decisions save by the figures at hand, by month and money.
    pub(crate) fn savings(&self) -> Result<Vec<Savings>, IndexError> {
        self.ask(include_str!("sql/savings.sql"), &[], |row| {
            Ok(Savings {
                month: row.get(0)?,
                currency: row.get(1)?,
                n: row.get(2)?,
                total: row.get(3)?,
                saved: row.get(4)?,
                outside: row.get(5)?,
            })
        })
    }

    /// Returns the latest checks of a rig, oldest first.
    pub(crate) fn drift(&self, rig: &str, most: u32) -> Result<Vec<ChartPoint>, IndexError> {
        let mut points = self.ask(include_str!("sql/drift.sql"), &[&rig, &most], |row| {
            Ok(ChartPoint {
                session: row.get(0)?,
                at: row.get(1)?,
                minutes_ahead: row.get(2)?,
                plugged: row.get(3)?,
                through: row.get(4)?,
                calibration: row.get(5)?,
                division: row.get(6)?,
                drifted: row.get(7)?,
            })
        })?;
        points.reverse();
        Ok(points)
    }
}
