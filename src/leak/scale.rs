use crate::air::{CRITICAL_RATIO, PLATE_LIMIT, PLUG_CHANGE_LIMIT, PLUG_COEFFICIENT, PLUG_LIMIT};
use crate::rig::{Calibration, OrificeKind};

/// Limit of the error of the air's temperature in K; common practice, no source.
const TEMPERATURE_LIMIT: f64 = 2.0;

/// Limits of the independent relative errors, either way, of the scale of a figure.
#[derive(Clone, Copy)]
pub(super) struct ScaleErrors {
    /// By the discharge coefficient of the test orifice.
    pub(super) coefficient: f64,
    /// By what turns the figure into another: a plug for a plate, a liquid for air, the temperature of the air.
    pub(super) conversion: f64,
    /// By the bore of the test orifice.
    pub(super) bore: f64,
}

/// What a test orifice leaves open of the scales of all that is measured with it.
pub(super) struct Scale {
    kind: OrificeKind,
    /// Relative limit of an area by the tolerance of the bore.
    bore: f64,
    /// Relative limit of the coefficient at the through point.
    coefficient: f64,
    /// Relative limit of the coefficient for liquids.
    liquid: f64,
    /// How much of the way from the through point to sonic flow the reading is.
    share: f64,
    /// Relative limit of the temperature of the air.
    temperature: f64,
}

const PLUG: f64 = PLUG_LIMIT / PLUG_COEFFICIENT;

impl Scale {
    /// Takes a rig at a pressure ratio.
    pub(super) fn new(calibration: &Calibration, ratio: f64) -> Scale {
        let orifice = calibration.orifice();
        let kind = orifice.kind();
        let through = calibration.through_ratio();
        let whole = through - CRITICAL_RATIO;
        let (coefficient, liquid) = match kind {
            OrificeKind::Plug => (PLUG, PLUG),
            OrificeKind::Plate => {
                (PLATE_LIMIT / kind.coefficient(through), PLATE_LIMIT / kind.coefficient(1.0))
            }
        };
        Scale {
            kind,
            bore: 2.0 * orifice.tolerance().si() / orifice.diameter().si(),
            coefficient,
            liquid,
            share: if whole <= 0.0 { 1.0 } else { ((through - ratio) / whole).abs().min(1.0) },
            temperature: TEMPERATURE_LIMIT / calibration.temperature().si(),
        }
    }

    /// Of a leak in test orifices: the coefficient's change between the through point and the reading.
    pub(super) fn leak(&self) -> ScaleErrors {
        let whole = match self.kind {
            OrificeKind::Plug => PLUG_CHANGE_LIMIT,
            OrificeKind::Plate => self.coefficient,
        };
        ScaleErrors { coefficient: whole * self.share, conversion: 0.0, bore: 0.0 }
    }

    /// Of the area of the equivalent hole.
    pub(super) fn hole(&self) -> ScaleErrors {
        ScaleErrors { bore: self.bore, ..self.leak() }
    }

    /// Of an effective area over that of the standard rig's plug.
    pub(super) fn standard(&self) -> ScaleErrors {
        match self.kind {
            OrificeKind::Plug => ScaleErrors { coefficient: 0.0, conversion: 0.0, bore: self.bore },
            OrificeKind::Plate => {
                ScaleErrors { coefficient: self.coefficient, conversion: PLUG, bore: self.bore }
            }
        }
    }

    /// Of an air flow, which goes as T^-0.5.
    pub(super) fn flow(&self) -> ScaleErrors {
        ScaleErrors { coefficient: self.coefficient, conversion: 0.5 * self.temperature, bore: self.bore }
    }

    /// Of what a laminar gap makes of an air flow: the flow times R T and the viscosity of air, which goes as T^0.77
    /// near room temperature (Sutherland).
    pub(super) fn gap(&self) -> ScaleErrors {
        ScaleErrors { conversion: 1.27 * self.temperature, ..self.flow() }
    }

    /// Of the effective area of the equivalent hole for liquids.
    pub(super) fn liquid(&self) -> ScaleErrors {
        ScaleErrors { conversion: self.liquid, ..self.hole() }
    }
}
