use serde::Serialize;

use super::goal::Areas;
use super::{CalibrationGoal, Setting};
use crate::quantity::Pressure;
use crate::rig::{Calibration, Condition, Dial, Valve, ValveTurn};

/// One or two settings that bring both readings to their targets.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ValvePlan {
    pub first: Setting,
    pub second: Option<Setting>,
    /// The distance from a target to expect after them at most, at two standard deviations.
    pub miss: Pressure,
    /// How far the needle moves in the first setting when its valve opens by a tenth.
    pub steepness: Pressure,
}

/// A setting by depth (vacuum over barometer) instead of by reading.
type Depths = (Valve, Condition, f64);

/// What goes wrong between the first reading and the last, each in its own standard deviations: the eye at the pair, the
/// dial all along, the bleed's shortfall from an ideal nozzle, and the eye at the settings in their order.
#[derive(Clone, Copy, Default)]
struct Slips {
    plugged: f64,
    through: f64,
    offset: f64,
    gain: f64,
    shortfall: f64,
    settings: [f64; 2],
}

const CONDITIONS: [Condition; 2] = [Condition::Plugged, Condition::Through];
const VALVES: [Valve; 2] = [Valve::Inlet, Valve::Bleed];

/// A single setting is preferred up to this miss, in tolerances: whoever turns one valve less errs less.
const WORTH_ONE_SETTING: f64 = 1.2;

impl ValvePlan {
    /// Returns the best plan from one pair of readings; `None` where the pair says nothing about the valves.
    ///
    /// With both areas known from the pair, every order of the valves and every choice of hose ends has one intermediate
    /// reading that puts the first valve where the targets need it. The plan chosen is the one that errors of reading
    /// and setting disturb least: its intermediate reading is on the dial and the needle moves there. A plan with a
    /// single setting is preferred where that is as good as within tolerance.
    pub(crate) fn best(
        goal: &CalibrationGoal,
        dial: &Dial,
        plugged: Pressure,
        through: Pressure,
    ) -> Option<ValvePlan> {
        let planner = Planner { goal, dial, plugged, through };
        let now = planner.pair(Slips::default())?;
        let wanted = goal.areas(0.0)?;
        let (mut singles, mut easy, mut hard) = (Vec::new(), Vec::new(), Vec::new());
        for valve in VALVES {
            for last in CONDITIONS {
                let target = planner.depth(goal.target(last));
                singles.extend(planner.plan(now, wanted, &[(valve, last, target)]));
                for first in CONDITIONS {
                    let between = now.with(valve, wanted.of(valve)).depth(first, 0.0);
                    for between in planner.half_marks(between).into_iter().filter(|depth| *depth > 0.0) {
                        let doubles = if planner.is_easy(between) { &mut easy } else { &mut hard };
                        let settings = [(valve, first, between), (valve.other(), last, target)];
                        doubles.extend(planner.plan(now, wanted, &settings));
                    }
                }
            }
        }
        let least =
            |plans: Vec<ValvePlan>| plans.into_iter().min_by(|a, b| a.miss.si().total_cmp(&b.miss.si()));
        let enough = WORTH_ONE_SETTING * goal.tolerance().si();
        let single = least(singles).filter(|plan| plan.miss.si() <= enough);
        single.or_else(|| least(easy)).or_else(|| least(hard))
    }

    pub(crate) fn settings(&self) -> impl Iterator<Item = Setting> {
        std::iter::once(self.first).chain(self.second)
    }
}

struct Planner<'a> {
    goal: &'a CalibrationGoal,
    dial: &'a Dial,
    plugged: Pressure,
    through: Pressure,
}

impl Planner<'_> {
    fn plan(&self, now: Areas, wanted: Areas, settings: &[Depths]) -> Option<ValvePlan> {
        let &(valve, condition, depth) = settings.first()?;
        let opened = wanted.of(valve) * (1.0 + 0.1);
        let nudged = now.with(valve, opened).depth(condition, 0.0);
        let setting = |&(valve, condition, depth): &Depths| Setting {
            condition,
            valve,
            turn: if wanted.of(valve) > now.of(valve) { ValveTurn::Open } else { ValveTurn::Close },
            set_to_pa: self.vacuum(depth),
        };
        let (miss, steepness) = (self.vacuum(self.miss(settings)?), self.vacuum((nudged - depth).abs()));
        let mut settings = settings.iter().map(setting);
        Some(ValvePlan { first: settings.next()?, second: settings.next(), miss, steepness })
    }

    /// The distance of the reading that is not set last from its target, two standard deviations included.
    fn miss(&self, settings: &[Depths]) -> Option<f64> {
        let none = Slips::default();
        let nominal = self.end(settings, none)?;
        let slips = [
            Slips { plugged: 1.0, ..none },
            Slips { through: 1.0, ..none },
            Slips { offset: 1.0, ..none },
            Slips { gain: 1.0, ..none },
            Slips { shortfall: 1.0, ..none },
            Slips { settings: [1.0, 0.0], ..none },
            Slips { settings: [0.0, 1.0], ..none },
        ];
        let square =
            |slip: &Slips| self.end(settings, *slip).map_or(1.0, |end| (end - nominal) * (end - nominal));
        Some(nominal.abs() + 2.0 * slips.iter().map(square).sum::<f64>().sqrt())
    }

    /// Where the reading that is not set last ends up, from its target.
    fn end(&self, settings: &[Depths], slips: Slips) -> Option<f64> {
        let mut areas = self.pair(slips)?;
        for (&(valve, condition, depth), slip) in settings.iter().zip(slips.settings) {
            let seen = depth + slip * self.reading_error();
            areas = areas.after(valve, condition, self.truly(seen, slips), slips.shortfall);
        }
        let checked = match settings.last()?.1 {
            Condition::Through => Condition::Plugged,
            _ => Condition::Through,
        };
        let wanted = self.truly(self.depth(self.goal.target(checked)), slips);
        Some(areas.depth(checked, slips.shortfall) - wanted)
    }

    fn pair(&self, slips: Slips) -> Option<Areas> {
        let plugged = self.depth(self.plugged) + slips.plugged * self.reading_error();
        let through = self.depth(self.through) + slips.through * self.reading_error();
        Areas::of_pair(self.truly(plugged, slips), self.truly(through, slips), slips.shortfall)
    }

    /// The depth behind an indicated one.
    fn truly(&self, seen: f64, slips: Slips) -> f64 {
        let offset = self.dial.offset_limit() / self.goal.barometer().si() / 3.0_f64.sqrt();
        let gain = self.dial.gain_limit() / 3.0_f64.sqrt();
        seen * (1.0 - slips.gain * gain) - slips.offset * offset
    }

    /// The standard deviation in depth of a reading that is right within a quarter of a division.
    fn reading_error(&self) -> f64 {
        self.depth(self.dial.smallest_division()) / 4.0 / 3.0_f64.sqrt()
    }

    /// From the first mark on to one mark short of the dial's end and of what the pump reaches.
    fn is_easy(&self, depth: f64) -> bool {
        let mark = self.depth(self.dial.smallest_division());
        let deepest = self.depth(self.dial.span()).min(self.depth(self.goal.reach()));
        (mark..=deepest - mark).contains(&depth)
    }

    /// The half marks of the dial on both sides of a depth.
    fn half_marks(&self, depth: f64) -> [f64; 2] {
        let half = 0.5 * self.depth(self.dial.smallest_division());
        let below = (depth / half).floor() * half;
        [below, below + half]
    }

    fn depth(&self, vacuum: Pressure) -> f64 {
        self.goal.depth(vacuum)
    }

    fn vacuum(&self, depth: f64) -> Pressure {
        self.goal.vacuum(depth)
    }
}

/// What one pair of readings says about the valves, and what to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct PairAdvice {
    /// The inlet valve's effective area over the test orifice's.
    pub inlet_relative: f64,
    pub bleed_relative: f64,
    pub settled: bool,
    pub target_plugged_pa: Pressure,
    pub target_through_pa: Pressure,
    /// What to set, in this order; empty where settled.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub next: Vec<Setting>,
}

impl PairAdvice {
    pub(crate) fn new(calibration: &Calibration, goal: &CalibrationGoal, dial: &Dial) -> PairAdvice {
        let (plugged, through) = (calibration.plugged(), calibration.through());
        let settled = goal.is_met_by(plugged, through);
        let plan = if settled { None } else { ValvePlan::best(&goal.on(dial), dial, plugged, through) };
        PairAdvice {
            inlet_relative: calibration.inlet_relative(),
            bleed_relative: calibration.bleed_relative(),
            settled,
            target_plugged_pa: goal.plugged(),
            target_through_pa: goal.through(),
            next: plan.map(|plan| plan.settings().collect()).unwrap_or_default(),
        }
    }
}
