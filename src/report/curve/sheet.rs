use crate::leak::{Bench, CurveRow, Estimate, ExpectationError, curve, curve_line};
use crate::quantity::{INCH, INCH_OF_MERCURY, Length};
use crate::rig::OrificeKind;

/// Everything that the three forms of a rig's curve show.
#[derive(Debug, Clone)]
pub struct CurveSheet {
    pub(super) bench: Bench,
    /// The drilled holes, the smallest first.
    pub(super) rows: Vec<CurveRow>,
    /// Holes so close to each other that their readings make a line.
    pub(super) line: Vec<(Length, Estimate)>,
}

/// Points of the line; three a millimetre on the printed sheet.
const N_POINTS: u32 = 600;

impl CurveSheet {
    /// The widest hole shown: a little more than the widest drill.
    pub(super) const WIDEST: Length = Length::constant(0.065 * INCH);

    /// Computes the curve of a bench.
    ///
    /// # Errors
    /// Where the bench shows no reading for a hole.
    pub fn new(bench: &Bench) -> Result<CurveSheet, ExpectationError> {
        let rows = curve(bench)?;
        Ok(CurveSheet { bench: *bench, rows, line: curve_line(bench, CurveSheet::WIDEST, N_POINTS)? })
    }

    /// Says which rig it is: its two points, orifice and barometer.
    pub(super) fn rig(&self) -> String {
        let calibration = self.bench.calibration();
        let kind = match calibration.orifice().kind() {
            OrificeKind::Plug => "plug",
            OrificeKind::Plate => "plate",
        };
        format!(
            "{} plugged, {} through a {} {kind}, barometer {}",
            calibration.plugged(),
            calibration.through(),
            calibration.orifice().diameter(),
            calibration.barometer(),
        )
    }

    /// Says what the readings rest on, and where the range of single readings is shown.
    pub(super) fn basis(&self, range: &str) -> String {
        let dial = self.bench.dial();
        format!(
            "Holes are of the test orifice's kind. 95 of 100 single readings lie {range} \
             (dial of grade {}, {} with marks every {}).",
            dial.grade(),
            dial.span(),
            dial.smallest_division(),
        )
    }
}

pub(super) fn inches(length: Length) -> f64 {
    length.si() / INCH
}

pub(super) fn in_hg(pascal: f64) -> f64 {
    pascal / INCH_OF_MERCURY
}
