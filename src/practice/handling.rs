use std::collections::BTreeSet;

use super::Workbench;
use super::doing::{Act, Doing};
use super::grade::Reached;
use crate::quantity::{INCH_OF_MERCURY, Pressure, shown, so_many};
use crate::record::{Answer, Circuit, Event, Exercise, HoseOn, Question, RigParts, RigStep, Wants, What};
use crate::rig::Condition;
use crate::rig::coaching::CalibrationGoal;
use crate::stats::mean;
use crate::tell::percent;

/// A reading is as near as can be within this share of a division, and worth nothing from a whole one; a point
/// of the rig is as right as can be by as much more than the coach is content with, and worth nothing from a
/// whole division more.
const NEAR: f64 = 0.25;
/// A practised hand sets the rig in so many settings or fewer; one that goes back and forth takes more than the other
/// (common practice, no source).
const SETTINGS: (f64, f64) = (5.0, 12.0);
/// A reading takes so many minutes where nobody hurries, and where somebody dawdles (common practice, no source).
const MINUTES: (f64, f64) = (1.5, 5.0);

/// How a student worked at the bench: what the events of an attempt say, beside what the bench was like at each.
pub(super) struct Handling {
    pub(super) bench: Workbench,
    /// How far each reading is from the needle, in divisions.
    off: Vec<f64>,
    /// The same of readings of the rig, which is looked at as a whole and not a circuit's.
    off_at_rig: Vec<f64>,
    /// Of each reading of the rig whether the right thing was on the hose.
    rig_readied: Vec<bool>,
    /// Of each reading of a circuit how it was prepared.
    prepared: Vec<Preparation>,
    /// The most that a plate which lay badly, or oil that had not gone, changed a reading of a circuit by.
    upset: Option<Pressure>,
    /// Of each look at the rig whether the right thing was on the hose and no valve had been turned.
    checks: Vec<bool>,
    /// Of each caution whether nothing was done before its acknowledgement but for what is asked before it.
    cautions: Vec<bool>,
    n_settings: u32,
    /// What the needle would have shown plugged and through each time that the rig had been set.
    set: Vec<[Pressure; 2]>,
    is_setting: bool,
    is_turned: bool,
    has_done: bool,
    is_handed_over_set: bool,
    has_turned: bool,
}

/// How a reading of a circuit was prepared: what hands did for it, and not what came of that by luck.
struct Preparation {
    is_in_place: bool,
    is_wiped: bool,
    is_still: bool,
}

impl Preparation {
    /// Nothing is read at the wrong place; else the plate is worth as much as the patience.
    fn share(&self) -> f64 {
        let halves = u8::from(self.is_wiped) + u8::from(self.is_still);
        if self.is_in_place { 0.5 * f64::from(halves) } else { 0.0 }
    }
}

impl Handling {
    pub(super) fn of(exercise: &Exercise, circuits: &[Circuit], events: &[Event]) -> Handling {
        let mut handling = Handling {
            bench: Workbench::new(exercise, circuits),
            off: Vec::new(),
            off_at_rig: Vec::new(),
            rig_readied: Vec::new(),
            prepared: Vec::new(),
            upset: None,
            checks: Vec::new(),
            cautions: Vec::new(),
            n_settings: 0,
            set: Vec::new(),
            is_setting: false,
            is_turned: false,
            has_done: false,
            is_handed_over_set: exercise.is_set,
            has_turned: false,
        };
        // What a student took back was no answer; the hands have done what they did.
        let taken_back: BTreeSet<u64> = events.iter().flat_map(|event| taken_back(&event.what)).collect();
        for event in events {
            if !is_of_rig(&event.what) && std::mem::take(&mut handling.is_setting) {
                let points = [Condition::Plugged, Condition::Through];
                handling.set.push(points.map(|point| handling.bench.would_show(point)));
            }
            handling.bench.take(&event.what);
            match &event.what {
                What::Did { doing, .. } => {
                    let act = Act::read(doing);
                    let is_turn = matches!(act, Some(Ok(Act::Doing(Doing::Turn(..)))));
                    handling.is_turned |= is_turn;
                    handling.has_turned |= is_turn;
                    handling.has_done = true;
                }
                What::Answered { question, answer } if !taken_back.contains(&event.n) => {
                    handling.answered(question, answer);
                }
                _ => {}
            }
        }
        handling
    }

    fn answered(&mut self, question: &Question, answer: &Answer) {
        match (&question.wants, answer) {
            (Wants::Acknowledgement, _) => self.cautions.push(*answer == Answer::Confirmed && !self.has_done),
            (Wants::Reading { on, .. }, Answer::Quantity { entry, .. } | Answer::AtStop(entry)) => {
                let off = (entry.si - self.bench.needle().si()).abs() / self.division();
                match on {
                    HoseOn::Circuit { .. } => self.off.push(off),
                    HoseOn::Rig(_) | HoseOn::Check(_) => self.off_at_rig.push(off),
                }
                self.read(on, question);
            }
            _ => {}
        }
        // Names, the air and cautions want nothing of a hand: what it did there it did for what comes behind them.
        let wants_hand = matches!(
            question.wants,
            Wants::Ready | Wants::Wait { .. } | Wants::Yes | Wants::Number { .. } | Wants::Reading { .. }
        );
        self.has_done &= !wants_hand;
    }

    fn read(&mut self, on: &HoseOn, question: &Question) {
        let is_ready = self.bench.is_ready_for(question);
        match on {
            HoseOn::Rig(step) => {
                self.rig_readied.push(is_ready);
                self.n_settings += u32::from(!matches!(step, RigStep::Read { .. }));
                (self.is_setting, self.is_turned) = (true, false);
            }
            HoseOn::Check(_) => self.checks.push(is_ready && !self.is_turned),
            HoseOn::Circuit { .. } => {
                let (needle, well_handled) = (self.bench.needle(), self.bench.well_handled());
                let off = (needle.si() - well_handled.si()).abs();
                if is_ready && self.upset.is_none_or(|upset| off > upset.si()) {
                    self.upset = Pressure::from_si(off);
                }
                let (is_wiped, is_still) = (self.bench.is_seated_clean, self.bench.is_still());
                self.prepared.push(Preparation { is_in_place: is_ready, is_wiped, is_still });
            }
        }
    }

    fn division(&self) -> f64 {
        RigParts::USUAL.dial.smallest_division().si()
    }

    /// Nothing where the rig was handed over set and nobody has turned a valve: then it shows what another hand did.
    pub(super) fn rig_set(&self) -> Option<Reached> {
        if self.is_handed_over_set && !self.has_turned {
            return None;
        }
        let goal = CalibrationGoal::usual(self.bench.settings().barometer).ok()?.on(&RigParts::USUAL.dial);
        // What an eye can be off comes on top of what the coach is content with.
        let allowed = goal.tolerance().si() / self.division() + NEAR;
        let wanted = [goal.plugged(), goal.through()];
        let share = |(set, wanted): (&Pressure, Pressure)| {
            let off = (set.si() - wanted.si()).abs() / self.division();
            (1.0 + allowed - off).clamp(0.0, 1.0)
        };
        let inch = |pressure: Pressure| shown(pressure.si() / INCH_OF_MERCURY, 1);
        let because = match self.set.last() {
            Some([plugged, through]) => format!(
                "{}it stood at {} inHg plugged and {} through the rig's own orifice; {} and {} were wanted",
                if self.set.len() > 1 { "as you set it last, " } else { "" },
                inch(*plugged),
                inch(*through),
                inch(wanted[0]),
                inch(wanted[1])
            ),
            None => return Some((0.0, "you read no circuit on a rig that was set".to_owned())),
        };
        let shares: Vec<f64> = self.set.iter().flat_map(|set| set.iter().zip(wanted).map(share)).collect();
        Some((mean(&shares), because))
    }

    pub(super) fn settings(&self) -> Option<Reached> {
        let n_times = self.set.len();
        let each = f64::from(self.n_settings) / (n_times.max(1) as f64);
        let (few, many) = SETTINGS;
        let because = format!(
            "you read the needle at {} settings of a valve{}; {few} or fewer give all, {many} or more nothing",
            shown(each, 1),
            if n_times > 1 { " each time" } else { "" }
        );
        // Of a rig that was handed over set, nobody has shown how they set one.
        (n_times > 0 && self.n_settings > 0).then_some(((many - each) / (many - few), because))
    }

    /// Circuits count as much as the rig, which is read more often and more easily.
    pub(super) fn readings(&self) -> Option<Reached> {
        let share = |off: &f64| ((1.0 - off) / (1.0 - NEAR)).clamp(0.0, 1.0);
        let share = |all: &Vec<f64>| mean(&all.iter().map(share).collect::<Vec<_>>());
        let read: Vec<_> = [("at circuits", &self.off), ("at the rig", &self.off_at_rig)]
            .into_iter()
            .filter(|(_, all)| !all.is_empty())
            .collect();
        let inch = |divisions: f64, decimals| shown(divisions * self.division() / INCH_OF_MERCURY, decimals);
        let told = read.iter().map(|(place, all)| {
            let worst = all.iter().copied().fold(0.0, f64::max);
            format!("{} inHg off the needle {place} (at worst {})", inch(mean(all), 2), inch(worst, 2))
        });
        let because = format!(
            "on average you read {}; {} or less gives all, {} or more nothing",
            told.collect::<Vec<_>>().join(" and "),
            inch(NEAR, 3),
            inch(1.0, 3)
        );
        let shares: Vec<f64> = read.iter().map(|(_, all)| share(all)).collect();
        (!shares.is_empty()).then(|| (mean(&shares), because))
    }

    /// What was not right at the rig takes its share of what was right at circuits.
    pub(super) fn handling(&self) -> Option<Reached> {
        let (n_ready, n_rig) =
            (self.rig_readied.iter().filter(|is_ready| **is_ready).count(), self.rig_readied.len());
        let of_rig = match n_rig {
            n if n == n_ready => String::new(),
            n => format!(
                "; {} of that counts, for {n_ready} of {} at the rig had the right thing on the hose",
                percent(n_ready as f64 / n as f64, 0),
                so_many(n, "reading")
            ),
        };
        let upset = self.upset.filter(|upset| upset.si() > 0.5 * self.division());
        let upset = upset.map_or(String::new(), |upset| {
            let off = shown(upset.si() / INCH_OF_MERCURY, 1);
            format!("; a plate that lay badly, or oil, put one {off} inHg off: wipe, seat, and wait for the needle")
        });
        let because = format!("{}{of_rig}{upset}", self.told_prepared());
        let shares: Vec<f64> = self.prepared.iter().map(Preparation::share).collect();
        let of_rig = if n_rig == 0 { 1.0 } else { n_ready as f64 / n_rig as f64 };
        (!shares.is_empty()).then(|| (of_rig * mean(&shares), because))
    }

    /// Says what was lacking where readings of circuits were prepared, and what that takes.
    fn told_prepared(&self) -> String {
        let lacking = |is: fn(&Preparation) -> bool| self.prepared.iter().filter(|one| !is(one)).count();
        let readings = so_many(self.prepared.len(), "reading");
        let all = [
            (lacking(|one| one.is_in_place), "without the hose in the right place (takes all of it)"),
            (lacking(|one| one.is_wiped), "with faces not wiped before the plate was seated (takes half)"),
            (lacking(|one| one.is_still), "before the needle stood (takes half)"),
        ];
        let told: Vec<_> =
            all.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
        match told.is_empty() {
            true => format!(
                "{readings} at circuits, each with the hose in the right place, faces wiped and a needle that stood"
            ),
            false => format!("of {readings} at circuits you took {}", told.join(", ")),
        }
    }

    pub(super) fn checks(&self) -> Option<Reached> {
        counted(&self.checks, "look", "at the rig with the right thing on the hose and no valve turned")
    }

    pub(super) fn time(&self) -> Option<Reached> {
        let minutes = self.bench.seconds / 60.0;
        let n = self.prepared.len() + self.rig_readied.len();
        let each = minutes / n.max(1) as f64;
        let (short, long) = MINUTES;
        let because = format!(
            "{} minutes by the bench's clock, {} a reading; {short} or less give all, {long} or more nothing",
            shown(minutes, 1),
            shown(each, 1)
        );
        (n > 0).then_some(((long - each) / (long - short), because))
    }

    pub(super) fn cautions(&self) -> Option<Reached> {
        counted(&self.cautions, "caution", "acknowledged before your hands did anything more")
    }
}

/// Returns the numbers of the answers that a student takes back; those of a rig that had drifted were given in earnest.
fn taken_back(what: &What) -> impl Iterator<Item = u64> {
    let answers: &[u64] = match what {
        What::Retracted { answers } => answers,
        _ => &[],
    };
    answers.iter().copied()
}

/// Returns whether an event belongs to setting the rig.
fn is_of_rig(what: &What) -> bool {
    match what {
        What::Did { on, .. } => matches!(on, Some(HoseOn::Rig(_))),
        What::Answered { question, .. } => {
            matches!(question.wants, Wants::Reading { on: HoseOn::Rig(_), .. })
        }
        _ => true,
    }
}

fn counted(all: &[bool], one: &str, what: &str) -> Option<Reached> {
    let n = all.iter().filter(|one| **one).count();
    let because = format!("{n} of {} {what}", so_many(all.len(), one));
    (!all.is_empty()).then(|| (n as f64 / all.len() as f64, because))
}
