use crate::air::{CRITICAL_RATIO, PLATE_LIMIT, PLUG_CHANGE_LIMIT, PLUG_COEFFICIENT, PLUG_LIMIT};
use crate::rig::{Calibration, OrificeKind};

/// Limits of the relative errors, either way, that a test orifice puts on the scale of what is measured with it.
pub(super) struct Scale {
    /// Of an area, by the tolerance of the bore.
    pub(super) bore: f64,
    /// Of an effective area, by the discharge coefficient at the through point.
    pub(super) coefficient: f64,
    /// Of a leak, by what the coefficient changes between the through point and the reading.
    pub(super) change: f64,
    /// Of an effective area over that of the standard rig's plug.
    pub(super) against_standard: f64,
    /// Of an effective area for liquids.
    pub(super) liquid: f64,
}

impl Scale {
    /// The limits for figures taken at a pressure ratio.
    pub(super) fn new(calibration: &Calibration, ratio: f64) -> Scale {
        let orifice = calibration.orifice();
        let bore = 2.0 * orifice.tolerance().si() / orifice.diameter().si();
        let through = calibration.through_ratio();
        // The change is none at the through point and whole where the flow is sonic.
        let whole = through - CRITICAL_RATIO;
        let share = if whole <= 0.0 { 1.0 } else { ((through - ratio) / whole).abs().min(1.0) };
        let plug = PLUG_LIMIT / PLUG_COEFFICIENT;
        match orifice.kind() {
            OrificeKind::Plug => Scale {
                bore,
                coefficient: plug,
                change: PLUG_CHANGE_LIMIT * share,
                against_standard: 0.0,
                liquid: plug,
            },
            kind @ OrificeKind::Plate => {
                let plate = PLATE_LIMIT / kind.coefficient(through);
                Scale {
                    bore,
                    coefficient: plate,
                    change: plate * share,
                    against_standard: joined(plug, plate),
                    liquid: PLATE_LIMIT / kind.coefficient(1.0),
                }
            }
        }
    }
}

/// Limit of the sum of two independent errors, by their variances.
pub(super) fn joined(one: f64, other: f64) -> f64 {
    (one * one + other * other).sqrt()
}
