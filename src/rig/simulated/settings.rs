use serde::{Deserialize, Serialize};

use super::{NeedleValve, SimulatedDial};
use crate::quantity::{Pressure, Temperature, Volume, VolumeFlow};
use crate::rig::{Dial, Orifice};

/// What a simulated rig is made of. The parts are invented, of an ordinary size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The absolute pressure of the air around.
    pub barometer: Pressure,
    /// The temperature of the air.
    pub temperature: Temperature,
    /// The test orifice.
    pub orifice: Orifice,
    /// By how much its true discharge coefficient at sonic flow exceeds that at the through point beyond what its kind
    /// says, as a share of it.
    pub discharge_rise: f64,
    /// The valve between gauge and pump.
    pub inlet: NeedleValve,
    /// The valve between the air and the gauge.
    pub bleed: NeedleValve,
    /// The volume that the pump moves per time, at its own pressure.
    pub pump_speed: VolumeFlow,
    /// The least absolute pressure that the pump reaches.
    pub pump_ultimate: Pressure,
    /// The volume of hose, fittings and circuit.
    pub volume: Volume,
    /// The dial and the eye that reads it.
    pub dial: SimulatedDial,
}

impl Default for Settings {
    /// A sound rig at sea level: the usual dial, two-stage pump of about 3 cfm.
    fn default() -> Settings {
        let valve =
            NeedleValve { turns: 8.0, area_m2: 4.0e-6, critical_ratio: Some(0.35), finest_turn: 0.005 };
        Settings {
            barometer: Pressure::constant(101_325.0),
            temperature: Temperature::constant(293.15),
            orifice: Orifice::STANDARD,
            discharge_rise: 0.0,
            inlet: valve,
            bleed: NeedleValve { area_m2: 1.0e-6, ..valve },
            pump_speed: VolumeFlow::constant(1.4e-3),
            pump_ultimate: Pressure::constant(100.0),
            volume: Volume::constant(0.4e-3),
            dial: SimulatedDial {
                dial: Dial::USUAL,
                error_share: 1.0,
                hysteresis: 0.05,
                jitter: 0.02,
                reading_error: 0.2,
                written_to: 0.25,
            },
        }
    }
}
