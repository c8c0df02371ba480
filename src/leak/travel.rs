//! How a leak travels from the rig that read it to another one, by what it is.

use super::budget::{Budget, ScaleErrors};
use super::propagation::Propagation;
use super::{Context, Estimate, Land, LeakKind};
use crate::air::{FlowSlopes, viscosity};
use crate::quantity::Pressure;
use crate::rig::{Calibration, OperatingPoint, ReadingError, Sensitivity};

/// What is known of a leak that decides what another rig shows for it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Travel {
    kind: Option<LeakKind>,
    land: Option<Land>,
}

/// A leak as that which stays the same on every rig.
enum Carried {
    /// Effective area, over that of the standard rig's orifice.
    Hole(f64),
    /// Flow by (P^2 - p^2)/(mu T).
    Gap(f64),
    /// The clearance of a land, in m.
    Land(Land, f64),
}

impl Travel {
    pub(crate) fn of(context: &Context) -> Travel {
        Travel { kind: context.kind(), land: context.land }
    }

    /// Returns what a rig shows for the leak that makes another read so. Where nobody knows what it is, that is the
    /// middle between a gap and a hole.
    pub(crate) fn reading(&self, from: &OperatingPoint, to: &Calibration) -> Result<Pressure, ReadingError> {
        let reading = match self.kind {
            Some(kind) => self.carry(kind, from).on(to, from.depth())?,
            None => {
                let [gap, hole] = [LeakKind::Gap, LeakKind::Hole].map(|kind| self.carry(kind, from));
                0.5 * (gap.on(to, from.depth())? + hole.on(to, from.depth())?)
            }
        };
        Pressure::from_si(reading).ok_or(ReadingError::Zero)
    }

    /// Returns what this rig shows for the circuit that has a standard reading; the way that limits travel to a bench.
    pub(crate) fn of_standard(&self, standard: Pressure, to: &Calibration) -> Result<Pressure, ReadingError> {
        self.reading(&Calibration::standard().at(standard)?, to)
    }

    fn carry(&self, kind: LeakKind, from: &OperatingPoint) -> Carried {
        let rig = from.calibration();
        let hole = Carried::Hole(from.area() * rig.orifice_over_standard());
        let (flow, room, gauge) = state(from);
        match (kind, self.land) {
            (LeakKind::Hole, _) => hole,
            (LeakKind::Gap, None) => Carried::Gap(flow / viscous_drive(room, gauge, rig.temperature().si())),
            // What no clearance of the land would pass comes through something wider: a hole.
            (LeakKind::Gap, Some(land)) => match land.clearance(rig).solve(flow, gauge) {
                Ok(clearance) => Carried::Land(land, clearance),
                Err(_) => hole,
            },
        }
    }
}

/// Air through a circuit in kg/s, and the absolute pressures in Pa of the room and at the gauge.
fn state(point: &OperatingPoint) -> (f64, f64, f64) {
    let room = point.calibration().barometer().si();
    (point.flow() * point.calibration().flow_unit(), room, point.ratio() * room)
}

/// What drives a viscous gap: (P^2 - p^2)/(mu T).
fn viscous_drive(room: f64, gauge: f64, temperature: f64) -> f64 {
    (room - gauge) * (room + gauge) / (viscosity(temperature) * temperature)
}

impl Carried {
    /// What a rig shows for it, in Pa, which is sought from a depth (vacuum over barometer).
    fn on(&self, rig: &Calibration, from: f64) -> Result<f64, ReadingError> {
        let (room, temperature) = (rig.barometer().si(), rig.temperature().si());
        match *self {
            Carried::Hole(area) => Ok(rig.reading_of_area(area / rig.orifice_over_standard())?.si()),
            Carried::Gap(conductance) => meeting(rig, from, |flow, gauge| {
                let passed = conductance * viscous_drive(room, gauge, temperature) / flow;
                (passed, passed * FlowSlopes::viscous(room, gauge, temperature).vacuum)
            }),
            Carried::Land(land, clearance) => {
                let way = land.clearance(rig);
                meeting(rig, from, |flow, gauge| way.passes(clearance, flow, gauge))
            }
        }
    }

    /// How its flow changes near the state of a rig that shows it.
    fn slopes(&self, point: &OperatingPoint) -> FlowSlopes {
        let (flow, room, gauge) = state(point);
        let of_land = match self {
            Carried::Land(land, clearance) if *clearance > 0.0 => {
                land.clearance(point.calibration()).slopes(*clearance, flow, gauge)
            }
            _ => None,
        };
        of_land.unwrap_or_else(|| FlowSlopes::viscous(room, gauge, point.calibration().temperature().si()))
    }
}

/// Returns the reading in Pa at which a rig draws what a gap passes: as the vacuum deepens the gap passes more and the
/// rig draws less, so they meet once. It is sought from a depth (vacuum over barometer).
///
/// For a flow in kg/s and an absolute pressure in Pa at the gauge it is told what the gap passes and the derivative of
/// that by the vacuum in Pa, both over that flow.
fn meeting(
    rig: &Calibration,
    from: f64,
    passed: impl Fn(f64, f64) -> (f64, f64),
) -> Result<f64, ReadingError> {
    let (room, unit) = (rig.barometer().si(), rig.flow_unit());
    let (mut shallow, mut deep) = (0.0, rig.plugged().si());
    let start = from * room;
    let mut vacuum = if start > shallow && start < deep { start } else { 0.5 * deep };
    for _ in 0..200 {
        let point = rig.at(Pressure::from_si(vacuum).ok_or(ReadingError::Zero)?)?;
        let (quotient, slope) = passed(point.flow() * unit, room - vacuum);
        if quotient < 1.0 {
            shallow = vacuum
        } else {
            deep = vacuum
        }
        let newton = vacuum - (1.0 - quotient) / (point.flow_log_slope() - slope);
        let is_between = newton >= shallow && newton <= deep;
        let next = if is_between { newton } else { 0.5 * (shallow + deep) };
        let moved = (next - vacuum).abs();
        vacuum = next;
        // Another step of Newton's would be by about the square of this.
        if moved <= if is_between { 1e-6 } else { 1e-9 } * room {
            break;
        }
    }
    Ok(vacuum)
}

/// Returns the reading in Pa of a land with a radial clearance in m.
pub(super) fn reading_of_clearance(
    land: Land,
    clearance: f64,
    rig: &Calibration,
) -> Result<f64, ReadingError> {
    Carried::Land(land, clearance).on(rig, 0.5)
}

/// The derivatives of the flow of a rig over what drives its gap.
fn over_drive(point: &OperatingPoint, slopes: &FlowSlopes) -> Sensitivity {
    let flow = point.flow_sensitivity();
    let vacuum = (1.0 - point.ratio()) * point.calibration().barometer().si();
    let by_vacuum = flow.value * slopes.vacuum;
    Sensitivity {
        by_reading: flow.by_reading - by_vacuum,
        by_gain: flow.by_gain - by_vacuum * vacuum,
        by_barometer: flow.by_barometer - flow.value * slopes.room,
        ..flow
    }
}

impl Propagation<'_> {
    /// What the standard rig would show for the leak, and the errors of that. Where nobody says what the leak is,
    /// half of what a gap and a hole differ by is among them: with a land it is taken for a gap, else the
    /// interval holds either.
    pub(super) fn standard(&self, context: &Context) -> Result<(Estimate, Budget), ReadingError> {
        let travel = Travel::of(context);
        match context.kind {
            Some(LeakKind::Hole) => self.standard_of_hole(),
            Some(LeakKind::Gap) => self.standard_of_gap(&travel),
            None => {
                let ((hole, _), (gap, budget)) = (self.standard_of_hole()?, self.standard_of_gap(&travel)?);
                let budget = budget.of_either_kind(0.5 * (gap.value - hole.value).abs());
                let reading = if travel.kind.is_some() { gap.spread_by(&budget) } else { gap.with(hole) };
                Ok((reading, budget))
            }
        }
    }

    fn standard_of_hole(&self) -> Result<(Estimate, Budget), ReadingError> {
        let figure = self.point.area_sensitivity();
        let errors = self.scale.standard();
        // The standard reading rises with the reading, so what falls with it is the opposite.
        let reading = self.through(&figure, errors, |point| -point.standard_reading())?.negated();
        let rig = Calibration::standard();
        let standard = rig.at(Pressure::from_si(reading.value).ok_or(ReadingError::Zero)?)?;
        let scale = self.calibration.orifice_over_standard() / standard.area_slope();
        Ok((reading, self.budget(&figure.scaled(scale), errors)))
    }

    fn standard_of_gap(&self, travel: &Travel) -> Result<(Estimate, Budget), ReadingError> {
        let rig = Calibration::standard();
        let gap = travel.carry(LeakKind::Gap, &self.point);
        let here = gap.slopes(&self.point);
        let figure = over_drive(&self.point, &here);
        let errors = ScaleErrors { temperature: -0.5 - here.temperature, ..self.scale.standard() };
        let (shallow, deep) = self.ends(&figure, errors)?;
        let value = gap.on(&rig, self.point.depth())?;
        // The ends are sought as far from their own depths as that was found.
        let shift = value / rig.barometer().si() - self.point.depth();
        let carried =
            |point: &OperatingPoint| travel.carry(LeakKind::Gap, point).on(&rig, point.depth() + shift);
        let reading = Estimate::of(value, carried(&shallow)?, carried(&deep)?);

        let standard = rig.at(Pressure::from_si(value).ok_or(ReadingError::Zero)?)?;
        let there = gap.slopes(&standard);
        // The two rigs draw what one gap passes, so their flows are as what drives it. Next to the plugged
        // point neither is left.
        let (flow, room, gauge) = state(&self.point);
        let (standard_flow, standard_room, standard_gauge) = state(&standard);
        let ratio = match flow > 0.0 && standard_flow > 0.0 {
            true => standard_flow / flow,
            false => {
                viscous_drive(standard_room, standard_gauge, rig.temperature().si())
                    / viscous_drive(room, gauge, self.calibration.temperature().si())
            }
        };
        let unit = self.calibration.flow_unit() / rig.flow_unit();
        let scale =
            ratio * unit * there.clearance / here.clearance / over_drive(&standard, &there).by_reading.abs();
        Ok((reading, self.budget(&figure.scaled(scale), errors)))
    }
}
