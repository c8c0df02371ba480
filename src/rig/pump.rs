use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::suction::{Pump, Suction, WayOut};
use super::{Calibration, CalibrationError, Orifice, STANDARD_THROUGH};
use crate::air::{CRITICAL_FLOW, GAS_CONSTANT, Law, STANDARD_PRESSURE, flow_function};
use crate::quantity::{Pressure, Temperature, VolumeFlow};

impl Pump {
    /// Returns a pump from what [`RelativePump::measured`] found out about it on a rig with this orifice, in air of
    /// this temperature; `None` where nothing real has such figures.
    pub fn of(
        relative: &RelativePump,
        orifice: &Orifice,
        barometer: Pressure,
        air: Temperature,
    ) -> Option<Pump> {
        // Through the orifice the gauge stands near the barometer, where a plate's coefficient is
        // that of the usual point.
        let through = 1.0 - STANDARD_THROUGH.si() / STANDARD_PRESSURE;
        let area = orifice.effective_area(through);
        let speed = relative.strength * (GAS_CONSTANT * air.si()).sqrt() * area;
        let ultimate = relative.ultimate * barometer.si();
        Some(Pump { speed: VolumeFlow::from_si(speed)?, ultimate: Pressure::from_si(ultimate)? })
    }
}

/// A pump measured against the test orifice and the barometer.
///
/// It passes the flow `strength * (y - ultimate)` at a pressure y on its side, in test orifices at the barometer's
/// pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RelativePump {
    /// Its speed over sqrt(R T) and the orifice's effective area; above 0.
    pub strength: f64,
    /// The least pressure that it reaches over the barometer's; 0 or more.
    pub ultimate: f64,
}

impl RelativePump {
    /// Relates a pump's data to the orifice, barometer and temperature of a calibration; `None` where its speed is not
    /// above 0 or its ultimate pressure negative.
    pub fn of(pump: &Pump, calibration: &Calibration) -> Option<RelativePump> {
        let area = calibration.orifice().effective_area(calibration.ratio(calibration.through()));
        let strength = pump.speed.si() / ((GAS_CONSTANT * calibration.temperature().si()).sqrt() * area);
        let ultimate = pump.ultimate.si() / calibration.barometer().si();
        (strength > 0.0 && ultimate >= 0.0).then_some(RelativePump { strength, ultimate })
    }

    /// Measures the pump with the rig's own gauge: bleed valve shut, inlet valve open as far as it goes, one reading
    /// with the hose plugged and one through the test orifice. `None` where the first is not the deeper one.
    ///
    /// Plugged, the gauge shows the ultimate pressure; through the orifice the pump moves what the orifice passes,
    /// Phi(x) = strength (x - ultimate). The open inlet valve counts as part of the pump, so its strength comes out too
    /// small rather than too great.
    pub fn measured(plugged: Pressure, through: Pressure, barometer: Pressure) -> Option<RelativePump> {
        let ratio = |vacuum: Pressure| (1.0 - vacuum.si() / barometer.si()).max(0.0);
        let (ultimate, loaded) = (ratio(plugged), ratio(through));
        let strength = flow_function(loaded)? / (loaded - ultimate);
        (strength > 0.0 && strength.is_finite()).then_some(RelativePump { strength, ultimate })
    }

    /// Returns the strength that keeps an inlet valve of this area (in test orifices) sonic while the gauge side is at
    /// `pressure` (over the barometer's); `None` where no strength does.
    ///
    /// S >= A_i Phi* sqrt(R T)/(b - p_ult/p) with the valve's critical ratio b.
    pub fn needed(inlet: f64, pressure: f64, ultimate: f64, critical_ratio: f64) -> Option<f64> {
        let room = critical_ratio - ultimate / pressure;
        (room > 0.0).then(|| inlet * CRITICAL_FLOW / room)
    }

    /// Returns the way out of a circuit through an inlet valve of this area, in test orifices, to this pump.
    pub fn behind(&self, inlet: f64, critical_ratio: f64) -> WayOut {
        WayOut { inlet, law: Law::Valve { critical_ratio }, speed: self.strength, ultimate: self.ultimate }
    }
}

#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PumpData {
    /// What it is, in the technician's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub description: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_m3_s: Option<VolumeFlow>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ultimate_pa: Option<Pressure>,
    /// Whether commissioning has found that the inlet valve is sonic with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keeps_sonic: Option<bool>,
}

impl PumpData {
    /// Returns the pump where both of its figures are known.
    pub(crate) fn pump(&self) -> Option<Pump> {
        Some(Pump { speed: self.speed_m3_s?, ultimate: self.ultimate_pa? })
    }
}

/// Critical pressure ratios of real needle valves (ISO 6358): the lowest, the middle and the highest.
pub(super) const NEEDLE_VALVE_RATIOS: [f64; 3] = [0.2, 0.35, 0.5];

/// The one that the check of the pump takes: rather too low, so that a pump called strong enough is.
const CHECKED_CRITICAL_RATIO: f64 = 0.3;

/// Whether the inlet valve of a calibrated rig is sonic at both points, so that the pump does not matter; the margin is
/// the pump's strength over the one needed, 0 where its ultimate pressure alone forbids it.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub(crate) enum PumpCheck {
    #[error("The inlet valve is sonic: the pump is {margin:.1} times as strong as it has to be.")]
    Sonic { margin: f64 },
    #[error(
        "The pump does not keep up {}: {}. Readings depend on the pump and are judged with its figures; a {} or a \
         smaller orifice would do without them.",
        if *.at_through { "with the hose plugged" } else { "through the orifice" },
        falls_short(*.margin),
        if *.margin > 0.0 { "larger pump" } else { "pump that pulls more" }
    )]
    NotSonic { margin: f64, at_through: bool },
    #[error(
        "Whether the pump is strong enough is not known. Shut the bleed valve, open the inlet valve as far \
         as it goes, and read the gauge with the hose plugged and through the test orifice: the two \
         readings give the pump's ultimate pressure and speed: spoolproof rig set --pump-plugged V \
         --pump-through V."
    )]
    Unknown,
}

fn falls_short(margin: f64) -> String {
    match (100.0 * margin).round() {
        percent if percent >= 1.0 => {
            format!("it does {percent:.0} % of what it takes to keep the inlet valve sonic")
        }
        _ => "it does not pull deep enough for that, however much it moves".to_owned(),
    }
}

impl PumpCheck {
    /// Checks a calibrated rig against its pump.
    ///
    /// The term p_ult/p is largest at the lowest pressure, so a pump that suffices through the orifice can still fall
    /// short plugged: both points are checked.
    pub(crate) fn of(calibration: &Calibration, pump: Option<&RelativePump>) -> PumpCheck {
        let Some(pump) = pump else {
            return PumpCheck::Unknown;
        };
        let margin = |reading| {
            let pressure = calibration.ratio(reading);
            let inlet = calibration.inlet_relative();
            RelativePump::needed(inlet, pressure, pump.ultimate, CHECKED_CRITICAL_RATIO)
                .map_or(0.0, |needed| pump.strength / needed)
        };
        let (plugged, through) = (margin(calibration.plugged()), margin(calibration.through()));
        let margin = plugged.min(through);
        if margin >= 1.0 {
            PumpCheck::Sonic { margin }
        } else {
            PumpCheck::NotSonic { margin, at_through: through >= 1.0 }
        }
    }
}

impl Calibration {
    /// Takes the rig's pump into account: where it does not keep the inlet valve sonic between the two points, readings
    /// are judged by the full balance of valves and pump; otherwise nothing changes.
    ///
    /// # Errors
    /// Where this pump cannot have pulled the two readings.
    pub fn with_pump(self, pump: Option<&Pump>) -> Result<Calibration, CalibrationError> {
        let relative = pump.and_then(|pump| RelativePump::of(pump, &self));
        let (Some(pump), Some(relative), PumpCheck::NotSonic { .. }) =
            (pump, relative, PumpCheck::of(&self, relative.as_ref()))
        else {
            return Ok(self);
        };
        // The higher its critical ratio, the less of the pump gets through a valve. So the highest corrects by no more
        // than is due, whatever the valve's is, and what it may leave is in the uncertainty.
        let [lowest, _, highest] = NEEDLE_VALVE_RATIOS;
        let drawn_through = |critical_ratio| {
            let way_out = |inlet| relative.behind(inlet, critical_ratio);
            Suction::pumped(way_out, self.ratio(self.plugged()), self.through_ratio())
        };
        let suction = drawn_through(highest).ok_or_else(|| self.pump_contradicted())?;
        self.drawn_by(*pump, suction, drawn_through(lowest))
    }
}
