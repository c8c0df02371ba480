use crate::air::{CRITICAL_FLOW, GAS_CONSTANT, Law, flow_function};
use crate::quantity::{Pressure, VolumeFlow};
use crate::rig::{Calibration, WayOut};

/// A pump's own data.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pump {
    /// The volume that it moves per time at its own pressure; above 0.
    pub speed: VolumeFlow,
    /// The least absolute pressure that it reaches; 0 or more.
    pub ultimate: Pressure,
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
