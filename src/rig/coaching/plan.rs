use std::cell::OnceCell;

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

/// What goes wrong between the first reading and the last, each in its own standard deviations: the eye at the pair,
/// the dial all along, the bleed's shortfall from an ideal nozzle, and the eye at the settings in their order.
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
    /// With both areas known from the pair, every order of the valves and every choice of hose ends has one
    /// intermediate reading that puts the first valve where the targets need it. The plan chosen is the one that errors
    /// of reading and setting disturb least: its intermediate reading is on the dial and the needle moves there. A plan
    /// with a single setting is preferred where that is as good as within tolerance.
    pub(crate) fn best(
        goal: &CalibrationGoal,
        dial: &Dial,
        plugged: Pressure,
        through: Pressure,
    ) -> Option<ValvePlan> {
        let planner = Planner::new(goal, dial, plugged, through)?;
        let enough = WORTH_ONE_SETTING * goal.tolerance().si();
        planner.least(planner.singles(), enough).or_else(|| {
            let (easy, hard): (Vec<_>, Vec<_>) = planner.doubles().partition(|route| planner.is_easy(route));
            planner.least(if easy.is_empty() { hard } else { easy }, f64::INFINITY)
        })
    }

    pub(crate) fn settings(&self) -> impl Iterator<Item = Setting> {
        std::iter::once(self.first).chain(self.second)
    }
}

/// One or two settings in their order.
#[derive(Clone, Copy)]
struct Route {
    before: Option<Depths>,
    last: Depths,
}

impl Route {
    fn settings(&self) -> impl Iterator<Item = &Depths> {
        self.before.iter().chain(std::iter::once(&self.last))
    }
}

/// A pair of readings as depths, and what may be wrong with a reading of this dial, each a standard deviation in depth.
struct SeenPair {
    plugged: f64,
    through: f64,
    /// Of a reading that is right within a quarter of a division.
    eye: f64,
    offset: f64,
    /// Over the reading.
    gain: f64,
}

impl SeenPair {
    fn new(goal: &CalibrationGoal, dial: &Dial, plugged: Pressure, through: Pressure) -> SeenPair {
        SeenPair {
            plugged: goal.depth(plugged),
            through: goal.depth(through),
            eye: goal.depth(dial.smallest_division()) / 4.0 / 3.0_f64.sqrt(),
            offset: dial.offset_limit() / goal.barometer().si() / 3.0_f64.sqrt(),
            gain: dial.gain_limit() / 3.0_f64.sqrt(),
        }
    }

    /// The areas that show this pair where the readings are off by so much.
    fn areas(&self, slips: Slips) -> Option<Areas> {
        let plugged = self.plugged + slips.plugged * self.eye;
        let through = self.through + slips.through * self.eye;
        Areas::of_pair(self.truly(plugged, slips), self.truly(through, slips), slips.shortfall)
    }

    /// The depth behind an indicated one.
    fn truly(&self, seen: f64, slips: Slips) -> f64 {
        seen * (1.0 - slips.gain * self.gain) - slips.offset * self.offset
    }
}

struct Planner<'a> {
    goal: &'a CalibrationGoal,
    seen: SeenPair,
    /// A division of the dial and the deepest reading that the dial shows and the pump reaches, as depths.
    mark: f64,
    deepest: f64,
    now: Areas,
    wanted: Areas,
    /// Each slip by itself, with the areas that the pair stands for then, once they are asked for. Most routes are out
    /// before the last slip, which takes the longest to follow.
    slipped: [(Slips, OnceCell<Option<Areas>>); 7],
}

impl<'a> Planner<'a> {
    fn new(
        goal: &'a CalibrationGoal,
        dial: &Dial,
        plugged: Pressure,
        through: Pressure,
    ) -> Option<Planner<'a>> {
        let seen = SeenPair::new(goal, dial, plugged, through);
        let none = Slips::default();
        let slips = [
            Slips { settings: [1.0, 0.0], ..none },
            Slips { settings: [0.0, 1.0], ..none },
            Slips { plugged: 1.0, ..none },
            Slips { through: 1.0, ..none },
            Slips { offset: 1.0, ..none },
            Slips { gain: 1.0, ..none },
            Slips { shortfall: 1.0, ..none },
        ];
        Some(Planner {
            goal,
            mark: goal.depth(dial.smallest_division()),
            deepest: goal.depth(dial.span()).min(goal.depth(goal.reach())),
            now: seen.areas(none)?,
            wanted: goal.areas(0.0)?,
            slipped: slips.map(|slips| (slips, OnceCell::new())),
            seen,
        })
    }

    fn lasts(&self) -> impl Iterator<Item = Depths> {
        let of_valve = |valve| CONDITIONS.map(|last| (valve, last, self.goal.depth(self.goal.target(last))));
        VALVES.into_iter().flat_map(of_valve)
    }

    fn singles(&self) -> impl Iterator<Item = Route> {
        self.lasts().map(|last| Route { before: None, last })
    }

    /// Each order of the valves, each choice of hose ends, and the half marks on both sides of the reading between.
    fn doubles(&self) -> impl Iterator<Item = Route> {
        self.lasts().flat_map(move |(valve, last, target)| {
            let last = (valve.other(), last, target);
            CONDITIONS.into_iter().flat_map(move |first| {
                let between = self.now.with(valve, self.wanted.of(valve)).depth(first, 0.0);
                let half = 0.5 * self.mark;
                let below = (between / half).floor() * half;
                let marks = [below, below + half].into_iter().filter(|depth| *depth > 0.0);
                marks.map(move |depth| Route { before: Some((valve, first, depth)), last })
            })
        })
    }

    /// From the first mark on to one mark short of the dial's end and of what the pump reaches.
    fn is_easy(&self, route: &Route) -> bool {
        route.before.is_none_or(|(_, _, depth)| (self.mark..=self.deepest - self.mark).contains(&depth))
    }

    /// The route that misses by the least, where that is no more than this many Pa.
    fn least(&self, routes: impl IntoIterator<Item = Route>, most: f64) -> Option<ValvePlan> {
        let nominal = |route: Route| (self.end(&route, Slips::default(), self.now), route);
        let mut routes: Vec<(f64, Route)> = routes.into_iter().map(nominal).collect();
        // The others are soon out once one that ends up near its target has been followed through all slips.
        routes.sort_by(|(one, _), (other, _)| one.abs().total_cmp(&other.abs()));
        let mut best: Option<(Route, Pressure)> = None;
        for (nominal, route) in routes {
            let most = best.map_or(most, |(_, miss)| miss.si());
            let miss = self.miss(&route, nominal, most).filter(|miss| best.is_none() || miss.si() < most);
            best = miss.map(|miss| (route, miss)).or(best);
        }
        best.and_then(|(route, miss)| self.plan(&route, miss))
    }

    fn plan(&self, route: &Route, miss: Pressure) -> Option<ValvePlan> {
        let setting = |&(valve, condition, depth): &Depths| Setting {
            condition,
            valve,
            turn: if self.wanted.of(valve) > self.now.of(valve) { ValveTurn::Open } else { ValveTurn::Close },
            set_to_pa: self.goal.vacuum(depth),
        };
        let (valve, condition, depth) = route.before.unwrap_or(route.last);
        let opened = self.wanted.of(valve) * (1.0 + 0.1);
        let nudged = self.now.with(valve, opened).depth(condition, 0.0);
        let steepness = self.goal.vacuum((nudged - depth).abs());
        let mut settings = route.settings().map(setting);
        Some(ValvePlan { first: settings.next()?, second: settings.next(), miss, steepness })
    }

    /// The distance of the reading that is not set last from its target, two standard deviations included, by where it
    /// ends up where nothing slips; `None` as soon as it is known to be more than this many Pa.
    fn miss(&self, route: &Route, nominal: f64, most: f64) -> Option<Pressure> {
        let with = |square: f64| self.goal.vacuum(nominal.abs() + 2.0 * square.sqrt());
        let mut square = 0.0;
        for (slips, areas) in &self.slipped {
            if with(square).si() > most {
                return None;
            }
            square += areas.get_or_init(|| self.seen.areas(*slips)).map_or(1.0, |areas| {
                let end = self.end(route, *slips, areas);
                (end - nominal) * (end - nominal)
            });
        }
        Some(with(square)).filter(|miss| miss.si() <= most)
    }

    /// Where the reading that is not set last ends up from these areas on, from its target.
    fn end(&self, route: &Route, slips: Slips, mut areas: Areas) -> f64 {
        for (&(valve, condition, depth), slip) in route.settings().zip(slips.settings) {
            let seen = depth + slip * self.seen.eye;
            areas = areas.after(valve, condition, self.seen.truly(seen, slips), slips.shortfall);
        }
        let checked = match route.last.1 {
            Condition::Through => Condition::Plugged,
            _ => Condition::Through,
        };
        let wanted = self.seen.truly(self.goal.depth(self.goal.target(checked)), slips);
        areas.depth(checked, slips.shortfall) - wanted
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
