use thiserror::Error;

use crate::air::{CRITICAL_FLOW, Law, STANDARD_PRESSURE, depth_at, opening_ratio};
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::rig::{Condition, Dial, STANDARD_PLUGGED, Valve, targets};

/// What a calibration is to reach: both readings, how closely, in which air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CalibrationGoal {
    barometer: Pressure,
    plugged: Pressure,
    through: Pressure,
    tolerance: Pressure,
    /// The deepest reading that may be asked for.
    reach: Pressure,
    /// Both targets before they were moved to half marks of a dial: as good as those.
    exact: [Pressure; 2],
}

/// Why a goal cannot be reached by any rig.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub(crate) enum GoalError {
    #[error("a barometer of {0} is no air pressure; read it again in absolute pressure")]
    Barometer(Pressure),
    #[error(
        "{plugged} cannot be pulled where the air itself weighs {barometer}; set the rig to {equivalent} \
         plugged, which means the same here"
    )]
    BeyondBarometer { plugged: Pressure, barometer: Pressure, equivalent: Pressure },
    /// The targets do not follow 0 < through < plugged.
    #[error(
        "the plugged target ({plugged}) must be above the target through the orifice ({through}), and both \
         above 0; check that they were not swapped"
    )]
    Order { plugged: Pressure, through: Pressure },
}

/// How far a calibration reading may be off at sea level: 0.25 inHg.
const TOLERANCE: Pressure = Pressure::constant(0.25 * INCH_OF_MERCURY);

/// The deepest vacuum that a rig can be asked for, as a share of the barometer: below 2 % of the air's pressure no shop
/// pump holds its speed (common practice, no source).
pub(crate) const DEEPEST: f64 = 0.98;

impl CalibrationGoal {
    /// Returns the usual goal, 25 and 5 inHg within 0.25 inHg, scaled to a station pressure above 0.
    pub(crate) fn usual(barometer: Pressure) -> Result<CalibrationGoal, GoalError> {
        let (plugged, through) = targets(barometer);
        CalibrationGoal::new(barometer, plugged, through)
    }

    /// Makes a goal of other targets, which are taken as they are and not scaled.
    pub(crate) fn new(
        barometer: Pressure,
        plugged: Pressure,
        through: Pressure,
    ) -> Result<CalibrationGoal, GoalError> {
        if barometer.si() <= 0.0 {
            return Err(GoalError::Barometer(barometer));
        }
        if plugged.si() > DEEPEST * barometer.si() {
            let equivalent = scaled(STANDARD_PLUGGED, barometer);
            return Err(GoalError::BeyondBarometer { plugged, barometer, equivalent });
        }
        if !(through.si() > 0.0 && plugged > through) {
            return Err(GoalError::Order { plugged, through });
        }
        let tolerance = scaled(TOLERANCE, barometer);
        let exact = [plugged, through];
        Ok(CalibrationGoal { barometer, plugged, through, tolerance, reach: barometer, exact })
    }

    /// Returns the same goal by what can be read off a dial: both targets at half marks. Any two points
    /// do, so nothing is lost.
    #[must_use]
    pub(crate) fn on(self, dial: &Dial) -> CalibrationGoal {
        let [plugged, through] = [self.plugged, self.through].map(|target| dial.nearest_half_mark(target));
        let is_right =
            through.si() > 0.0 && plugged > through && plugged.si() <= DEEPEST * self.barometer.si();
        if is_right { CalibrationGoal { plugged, through, ..self } } else { self }
    }

    /// Returns the goal for a pump that pulls no deeper than this: it asks for nothing beyond, and for a plugged
    /// reading a mark and a half below it, where the needle still moves. `None` where too little is left of the scale
    /// above the orifice's reading.
    pub(crate) fn reaching(self, reach: Pressure, dial: &Dial) -> Option<CalibrationGoal> {
        /// Less between the two points says too little of a leak (common practice, no source).
        const LEAST: f64 = 2.0;
        let deepest = reach.si() - 1.5 * dial.smallest_division().si();
        let plugged = Pressure::from_si(self.plugged.si().min(deepest))?;
        let goal = CalibrationGoal { plugged, reach, exact: [plugged, self.exact[1]], ..self }.on(dial);
        (goal.plugged.si() >= LEAST * goal.through.si()).then_some(goal)
    }

    pub(super) fn reach(&self) -> Pressure {
        self.reach
    }

    pub(crate) fn barometer(&self) -> Pressure {
        self.barometer
    }

    pub(crate) fn plugged(&self) -> Pressure {
        self.plugged
    }

    pub(crate) fn through(&self) -> Pressure {
        self.through
    }

    /// Returns how far either reading may be off: 0.25 inHg, scaled to the barometer.
    pub(crate) fn tolerance(&self) -> Pressure {
        self.tolerance
    }

    /// Returns the target of a condition; every condition without the orifice has the plugged one's.
    pub(crate) fn target(&self, condition: Condition) -> Pressure {
        if condition == Condition::Through { self.through } else { self.plugged }
    }

    /// Returns the areas of both valves that meet the goal exactly.
    pub(super) fn areas(&self, shortfall: f64) -> Option<Areas> {
        Areas::of_pair(self.depth(self.plugged), self.depth(self.through), shortfall)
    }

    pub(super) fn depth(&self, vacuum: Pressure) -> f64 {
        vacuum.si() / self.barometer.si()
    }

    pub(super) fn vacuum(&self, depth: f64) -> Pressure {
        Pressure::from_si(depth * self.barometer.si()).unwrap_or(self.barometer)
    }

    /// Returns whether both readings are within tolerance, to the last bit of rounding.
    pub(crate) fn is_met_by(&self, plugged: Pressure, through: Pressure) -> bool {
        let off = self.off(Condition::Plugged, plugged).max(self.off(Condition::Through, through));
        off <= self.tolerance.si() * (1.0 + 1e-9)
    }

    /// Returns how far a reading is from the target of its condition in Pa, as asked for or as it was before that.
    pub(crate) fn off(&self, condition: Condition, reading: Pressure) -> f64 {
        let [plugged, through] = self.exact;
        let exact = if condition == Condition::Through { through } else { plugged };
        [self.target(condition), exact]
            .map(|target| (reading.si() - target.si()).abs())
            .into_iter()
            .fold(f64::INFINITY, f64::min)
    }
}

fn scaled(at_sea_level: Pressure, barometer: Pressure) -> Pressure {
    Pressure::constant(at_sea_level.si() * (barometer.si() / STANDARD_PRESSURE))
}

/// The effective areas of both valves over that of the test orifice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Areas {
    /// The inlet valve's; above 0.
    pub(super) inlet: f64,
    pub(super) bleed: f64,
}

/// How much less than an ideal nozzle the bleed passes away from sonic flow: 0 nothing, 1 as much as a needle valve
/// with a critical ratio of 0.35.
type Shortfall = f64;

/// Depths (vacuum over barometer) are kept this far from both ends, where the balance has no answer.
const SHALLOWEST: f64 = 1e-3;
const NEARLY_ALL: f64 = 0.9999;

/// Depths closer than this are one: a thousandth of a pascal.
const SETTLED: f64 = 1e-8;

impl Areas {
    /// Returns the areas that show these depths, plugged and through; `None` where the depth plugged is not the larger.
    ///
    /// A_b h(x_b) = A_i g(x_b) and A_b h(x_o) + 1 = A_i g(x_o), with h the bleed's flow over a nozzle's.
    pub(super) fn of_pair(plugged: f64, through: f64, shortfall: Shortfall) -> Option<Areas> {
        let [plugged, through] = [plugged, through].map(|depth| (depth, opening(depth)));
        let share = |(depth, opening): (f64, f64)| bleed_share(depth, opening, shortfall);
        let bleed_per_inlet = plugged.1 / share(plugged);
        let inlet = 1.0 / (through.1 - bleed_per_inlet * share(through));
        let areas = Areas { inlet, bleed: inlet * bleed_per_inlet };
        (inlet > 0.0 && inlet.is_finite()).then_some(areas)
    }

    pub(super) fn depth(&self, condition: Condition, shortfall: Shortfall) -> f64 {
        const ROUNDS: usize = 7;
        // An ideal nozzle's share is the same at every depth.
        if shortfall == 0.0 {
            let free = depth_at((self.bleed + load(condition)) / self.inlet);
            return free.unwrap_or(NEARLY_ALL).clamp(SHALLOWEST, NEARLY_ALL);
        }
        // Another's hardly changes, and a few rounds settle it.
        let (mut depth, mut openings) = (0.5, opening(0.5));
        for _ in 0..ROUNDS {
            let share = bleed_share(depth, openings, shortfall);
            let sought = (self.bleed * share + load(condition)) / self.inlet;
            let (before, free) = (depth, depth_at(sought));
            depth = free.unwrap_or(NEARLY_ALL).clamp(SHALLOWEST, NEARLY_ALL);
            openings = if free == Some(depth) { sought } else { opening(depth) };
            if (depth - before).abs() < SETTLED {
                break;
            }
        }
        depth
    }

    /// Returns the areas after one valve was turned to where a condition shows this depth.
    pub(super) fn after(
        &self,
        valve: Valve,
        condition: Condition,
        depth: f64,
        shortfall: Shortfall,
    ) -> Areas {
        let opening = opening(depth);
        let share = bleed_share(depth, opening, shortfall);
        let area = match valve {
            Valve::Inlet => (self.bleed.max(0.0) * share + load(condition)) / opening,
            Valve::Bleed => ((self.inlet * opening - load(condition)) / share).max(0.0),
        };
        self.with(valve, area)
    }

    pub(super) fn with(&self, valve: Valve, area: f64) -> Areas {
        match valve {
            Valve::Inlet => Areas { inlet: area, ..*self },
            Valve::Bleed => Areas { bleed: area, ..*self },
        }
    }

    pub(super) fn of(&self, valve: Valve) -> f64 {
        match valve {
            Valve::Inlet => self.inlet,
            Valve::Bleed => self.bleed,
        }
    }
}

/// What the hose end lets in beside the bleed, in test orifices.
fn load(condition: Condition) -> f64 {
    if condition == Condition::Through { 1.0 } else { 0.0 }
}

fn opening(depth: f64) -> f64 {
    opening_ratio(depth.clamp(SHALLOWEST, NEARLY_ALL)).unwrap_or(1.0)
}

/// The flow of the bleed at a depth over that of an ideal nozzle of its sonic area, which by the openings g = x
/// Phi*/Phi(x) of that depth is x Phi*/g.
fn bleed_share(depth: f64, opening: f64, shortfall: Shortfall) -> f64 {
    if shortfall == 0.0 {
        return 1.0;
    }
    let ratio = 1.0 - depth.clamp(SHALLOWEST, NEARLY_ALL);
    let share = Law::Valve { critical_ratio: 0.35 }.flow(ratio) * opening / (ratio * CRITICAL_FLOW);
    1.0 + shortfall * (share - 1.0)
}
