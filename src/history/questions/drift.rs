use crate::history::{Index, IndexError};

/// A check of a rig against its calibration. Vacuums are in Pa.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartPoint {
    /// When, in seconds since 1970.
    pub at: i64,
    /// The session.
    pub session: String,
    /// How much deeper the plugged hose read than at the calibration.
    pub plugged: f64,
    /// How much deeper the orifice read.
    pub through: f64,
}

impl Index {
    /// Returns the latest checks of a rig, oldest first.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn drift(&self, rig: &str, most: u32) -> Result<Vec<ChartPoint>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT d.at, r.name, d.plugged, d.through FROM drift d JOIN record r ON r.id = d.record
             WHERE d.rig = ?1 ORDER BY d.at DESC, d.record DESC, d.n DESC LIMIT ?2",
        )?;
        let rows = query.query_map(rusqlite::params![self.word(rig)?, most], |row| {
            Ok(ChartPoint {
                at: row.get(0)?,
                session: row.get(1)?,
                plugged: row.get(2)?,
                through: row.get(3)?,
            })
        })?;
        let mut points: Vec<ChartPoint> = rows.collect::<Result<_, _>>()?;
        points.reverse();
        Ok(points)
    }
}
