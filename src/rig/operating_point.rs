use thiserror::Error;

use super::pump::NEEDLE_VALVE_RATIOS;
use super::suction::Suction;
use super::{Calibration, OrificeKind};
use crate::air::{AirOpening, CRITICAL_FLOW, GAS_CONSTANT, Law, opening};
use crate::quantity::Pressure;

/// The state of a calibrated rig at one reading, and the figures of the circuit that makes it so.
#[derive(Debug, Clone, Copy)]
pub struct OperatingPoint<'a> {
    calibration: &'a Calibration,
    vacuum: f64,
    opening: AirOpening,
    area: f64,
}

impl Calibration {
    /// Returns the state of the rig at a reading, from which everything else about that reading follows.
    pub fn at(&self, reading: Pressure) -> Result<OperatingPoint<'_>, ReadingError> {
        if reading.si() < 0.0 {
            return Err(ReadingError::Negative(reading));
        }
        if reading > self.plugged() {
            return Err(ReadingError::AbovePlugged { reading, plugged: self.plugged() });
        }
        let opening = match reading == self.plugged() {
            true => self.openings().0,
            false => {
                self.suction().opening(reading.si() / self.barometer().si()).ok_or(ReadingError::Zero)?
            }
        };
        let area = (opening.ratio - self.openings().0.ratio).max(0.0) * self.inlet_relative();
        Ok(OperatingPoint { calibration: self, vacuum: reading.si(), opening, area })
    }

    /// Returns the effective area of a circuit over that of the test orifice at the through point:
    /// (g(x) - g(x_b))/(g(x_o) - g(x_b)).
    pub fn area_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        Ok(self.at(reading)?.area())
    }

    /// Returns the leak of a circuit in test orifices: the area of the hole of the orifice's own kind that gives this
    /// reading, over the area of the test orifice.
    ///
    /// For a plug this is [`Calibration::area_at`]; for a plate that times C_d(x_o)/C_d(x).
    pub fn leak_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        Ok(self.at(reading)?.leak())
    }

    /// Returns the air through a circuit in kg/s at a reading.
    pub fn air_flow_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        Ok(self.at(reading)?.flow() * self.flow_unit())
    }

    /// Returns the effective area of the test orifice at its through point over sqrt(R T): the air flow in kg/s for one
    /// of 1 Pa by `OperatingPoint::flow`.
    pub fn flow_unit(&self) -> f64 {
        self.orifice().effective_area(self.through_ratio()) / (GAS_CONSTANT * self.temperature().si()).sqrt()
    }

    /// Returns the reading of a circuit whose effective area over the test orifice's is this; the inverse of
    /// [`Calibration::area_at`].
    pub fn reading_of_area(&self, area: f64) -> Result<Pressure, ReadingError> {
        if area.is_nan() || area < 0.0 {
            return Err(ReadingError::Leak);
        }
        Pressure::from_si(self.vacuum_of_area(area)).ok_or(ReadingError::Leak)
    }

    /// Returns the reading to expect for a leak in test orifices, which must not be negative; the inverse of
    /// [`Calibration::leak_at`].
    pub fn reading_at(&self, leak: f64) -> Result<Pressure, ReadingError> {
        let mut reading = self.reading_of_area(leak)?;
        if self.orifice().kind() == OrificeKind::Plug || leak == 0.0 || reading.si() == 0.0 {
            return Ok(reading);
        }
        // The plate's coefficient belongs to the reading that is sought. Its ratio stays between 0.75 and 1.4, so the
        // reading lies between those of these two areas; halve until the bits run out.
        let mut shallow = self.reading_of_area(leak * 1.5)?.si();
        let mut deep = self.reading_of_area(leak / 1.5)?.si();
        for _ in 0..200 {
            let middle = 0.5 * (shallow + deep);
            if middle <= shallow || middle >= deep {
                break;
            }
            reading = Pressure::constant(middle);
            match self.leak_at(reading)? > leak {
                true => shallow = middle,
                false => deep = middle,
            }
        }
        Ok(reading)
    }
}

/// What a figure has besides the circuit's area: a factor, its logarithmic derivative by the reading, and the power of
/// the barometer in it once readings are counted in barometers.
struct Factor {
    value: f64,
    log_slope: f64,
    power: f64,
}

impl OperatingPoint<'_> {
    /// Returns the rig that is in this state.
    pub fn calibration(&self) -> &Calibration {
        self.calibration
    }

    fn room(&self) -> f64 {
        self.calibration.barometer().si()
    }

    /// Returns the absolute pressure at the gauge over the barometer.
    pub fn ratio(&self) -> f64 {
        1.0 - self.vacuum / self.room()
    }

    /// Returns the vacuum over the barometer.
    pub fn depth(&self) -> f64 {
        self.vacuum / self.room()
    }

    /// Returns the effective area of the circuit over that of the test orifice at the through point:
    /// (g(x) - g(x_b))/(g(x_o) - g(x_b)).
    pub fn area(&self) -> f64 {
        self.area
    }

    /// Returns the leak in test orifices: [`OperatingPoint::area`], for a plate times C_d(x_o)/C_d(x).
    pub fn leak(&self) -> f64 {
        self.area * self.coefficient_ratio()
    }

    /// Returns the air flow through the circuit, m sqrt(R T) over the test orifice's effective area, in Pa.
    pub fn flow(&self) -> f64 {
        self.area * self.flow_function() * self.room()
    }

    /// Returns the standard rig's reading for the same circuit, in Pa.
    pub fn standard_reading(&self) -> f64 {
        Calibration::standard().vacuum_of_area(self.area * self.calibration.orifice_over_standard())
    }

    /// Phi(x) from g(x) = x Phi* / Phi(x).
    fn flow_function(&self) -> f64 {
        self.ratio() * CRITICAL_FLOW / self.nozzle().ratio
    }

    /// C_d(x_o)/C_d(x): what a hole of the orifice's kind discharges at the through point over what it does here.
    fn coefficient_ratio(&self) -> f64 {
        match self.calibration.orifice().kind() {
            OrificeKind::Plug => 1.0,
            kind => kind.coefficient(self.calibration.through_ratio()) / kind.coefficient(self.ratio()),
        }
    }

    /// Returns the relative limits, either way, of the errors of the circuit's area where both valves are needle valves
    /// of any critical ratio from 0.2 to 0.5 (ISO 6358): as it is worked out here, with nozzles, and on a rig whose
    /// valves have the middle ratio.
    ///
    /// Sonic at the plugged point, a bleed passes less than a nozzle where the gauge stands near the barometer, so more
    /// of the calibration's flow was the orifice's. The inlet valve's ratio counts where the pump is weak.
    pub fn valve_errors(&self) -> (f64, f64) {
        if self.area <= 0.0 {
            return (0.0, 0.0);
        }
        let plugged = self.calibration.ratio(self.calibration.plugged());
        let by_inlet = self.calibration.other_suction().and_then(|other| other.area(self.ratio(), plugged));
        let inlet = by_inlet.map_or(0.0, |area| (area - self.area).abs() / self.area);
        let areas = self.areas_by_bleed(plugged);
        let off = |taken: f64| areas.map(|area| (area - taken).abs() / taken).into_iter().fold(0.0, f64::max);
        let [_, middle, _] = areas;
        (off(self.area) + inlet, off(middle) + inlet)
    }

    /// The circuit's area in test orifices for each critical ratio that the bleed valve may have.
    fn areas_by_bleed(&self, plugged: f64) -> [f64; 3] {
        let (at_plugged, at_through) = self.calibration.openings();
        let through = self.calibration.through_ratio();
        let nozzle = |opening: AirOpening, ratio: f64| match self.calibration.suction() {
            Suction::Sonic => ratio * CRITICAL_FLOW / opening.ratio,
            Suction::Pumped(_) => Law::Nozzle.flow(ratio),
        };
        let [at_rest, at_orifice, here] =
            [nozzle(at_plugged, plugged), nozzle(at_through, through), nozzle(self.opening, self.ratio())];
        NEEDLE_VALVE_RATIOS.map(|critical_ratio| {
            let flow = |ratio| Law::Valve { critical_ratio }.flow(ratio);
            let shut = at_plugged.ratio * at_rest / flow(plugged);
            let work = self.opening.ratio - shut * flow(self.ratio()) / here;
            work / (at_through.ratio - shut * flow(through) / at_orifice)
        })
    }

    /// Returns how fast the area falls with the reading, per Pa; positive.
    pub fn area_slope(&self) -> f64 {
        self.opening.slope * self.calibration.inlet_relative() / self.room()
    }

    /// Returns the derivatives of the circuit's effective area: [`OperatingPoint::area`] times that of the orifice.
    pub fn area_sensitivity(&self) -> Sensitivity {
        self.sensitivity(Factor { value: 1.0, log_slope: 0.0, power: 0.0 })
    }

    /// Returns the derivatives of [`OperatingPoint::leak`].
    pub fn leak_sensitivity(&self) -> Sensitivity {
        let log_slope = self.coefficient_log_slope(self.ratio());
        self.sensitivity(Factor { value: self.coefficient_ratio(), log_slope, power: 0.0 })
    }

    /// Returns the derivatives of [`OperatingPoint::flow`].
    pub fn flow_sensitivity(&self) -> Sensitivity {
        let value = self.flow_function() * self.room();
        self.sensitivity(Factor { value, log_slope: self.function_log_slope(), power: 1.0 })
    }

    /// Returns the derivatives of the air flow over P^2 - p^2, what a laminar gap makes of it, per Pa.
    pub fn gap_sensitivity(&self) -> Sensitivity {
        let squares = self.vacuum * (2.0 * self.room() - self.vacuum);
        let value = self.flow_function() * self.room() / squares;
        let log_slope = self.function_log_slope() - 2.0 * (self.room() - self.vacuum) / squares;
        self.sensitivity(Factor { value, log_slope, power: -1.0 })
    }

    /// What would be open to the air here if the inlet valve were sonic: another form of the flow function.
    fn nozzle(&self) -> AirOpening {
        match self.calibration.suction() {
            Suction::Sonic => self.opening,
            Suction::Pumped(_) => opening(self.vacuum / self.room()).unwrap_or(self.opening),
        }
    }

    /// How much of a change of the through point's opening reaches the area here.
    fn share_of_through(&self) -> f64 {
        let suction = self.calibration.suction();
        if *suction == Suction::Sonic {
            return self.area;
        }
        let (at_plugged, at_through) = self.calibration.openings();
        let at_plugged = suction.lever(at_plugged, self.calibration.ratio(self.calibration.plugged()));
        let at_through = suction.lever(at_through, self.calibration.through_ratio());
        (suction.lever(self.opening, self.ratio()) - at_plugged) / (at_through - at_plugged)
    }

    /// Returns the derivative of the logarithm of [`OperatingPoint::flow`] by the reading, per Pa; negative.
    pub fn flow_log_slope(&self) -> f64 {
        self.function_log_slope() - self.area_slope() / self.area
    }

    /// d(ln Phi)/dv.
    fn function_log_slope(&self) -> f64 {
        let nozzle = self.nozzle();
        (nozzle.slope / nozzle.ratio - 1.0 / self.ratio()) / self.room()
    }

    /// -d(ln C_d)/dv of the orifice at a ratio.
    fn coefficient_log_slope(&self, ratio: f64) -> f64 {
        let kind = self.calibration.orifice().kind();
        kind.coefficient_slope(ratio) / kind.coefficient(ratio) / self.room()
    }

    fn sensitivity(&self, factor: Factor) -> Sensitivity {
        let (at_plugged, at_through) = self.calibration.openings();
        let per_pascal = self.calibration.inlet_relative() / self.room();
        let value = self.area * factor.value;
        let by_reading = value * factor.log_slope - self.opening.slope * per_pascal * factor.value;
        let share = self.share_of_through();
        let by_plugged = (1.0 - share) * at_plugged.slope * per_pascal * factor.value;
        let by_through = share * factor.value * (at_through.slope * per_pascal)
            - value * self.coefficient_log_slope(self.calibration.through_ratio());
        let by_gain = by_reading * self.vacuum
            + by_plugged * self.calibration.plugged().si()
            + by_through * self.calibration.through().si();
        let by_barometer = value * factor.power - by_gain;
        Sensitivity { value, by_reading, by_plugged, by_through, by_gain, by_barometer }
    }
}

/// First derivatives of a figure that is made of the reading, the two calibration readings and the barometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// The figure itself: the derivative by a relative error of its scale.
    pub value: f64,
    /// Derivative by the reading, per Pa; negative.
    pub by_reading: f64,
    /// Derivative by the plugged reading, per Pa.
    pub by_plugged: f64,
    /// Derivative by the reading through the orifice, per Pa.
    pub by_through: f64,
    /// Derivative by a relative error that all three share: a gauge's gain.
    pub by_gain: f64,
    /// Derivative by a relative error of the barometer.
    pub by_barometer: f64,
}

impl Sensitivity {
    /// Returns the derivative by an error that all three readings share: a gauge's offset, per Pa.
    pub fn by_offset(&self) -> f64 {
        self.by_reading + self.by_plugged + self.by_through
    }

    /// Returns the derivatives multiplied by a factor: those of another figure proportional to this one.
    pub fn scaled(&self, factor: f64) -> Sensitivity {
        Sensitivity {
            value: self.value * factor,
            by_reading: self.by_reading * factor,
            by_plugged: self.by_plugged * factor,
            by_through: self.by_through * factor,
            by_gain: self.by_gain * factor,
            by_barometer: self.by_barometer * factor,
        }
    }

    /// Returns what each error weighs as an error of the reading, in Pa of reading.
    pub fn referred_to_reading(&self) -> Sensitivity {
        self.scaled(1.0 / self.by_reading.abs())
    }
}

/// Why a reading cannot be turned into a leak.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ReadingError {
    #[error("there is no reading; take one")]
    None,
    #[error(
        "a reading of {0} is a pressure, not a vacuum; check the gauge's zero and type vacuum without a sign"
    )]
    Negative(Pressure),
    #[error(
        "a reading of 0 means that the circuit takes more air than the rig can show; check that the hose is \
         on, the pump runs and the circuit is closed, and read again"
    )]
    Zero,
    #[error(
        "a reading of {reading} is above the plugged point ({plugged}); the rig has drifted or the reading \
         is wrong: plug the hose, check the calibration and read again"
    )]
    AbovePlugged { reading: Pressure, plugged: Pressure },
    #[error("a leak cannot be negative; give the hole or the leak as 0 or more")]
    Leak,
}
