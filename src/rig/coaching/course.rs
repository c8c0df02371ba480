use super::phase::{Course, Doubt, Following, Otherwise, Pairing, Phase, Proving, Why};
use super::step::{Missed, NextStep};
use super::{Coach, CoachReading, CoachStep, RigConcern};
use crate::quantity::Pressure;
use crate::rig::Condition;

impl Coach {
    /// Returns the course on which nothing has been read yet: at the start, and after a repair.
    pub(crate) fn begin(&self) -> Course {
        let phase =
            if self.is_thorough { Phase::prove(Why::Prove) } else { Phase::Pairing(Pairing::default()) };
        Course { phase, passes: 0, is_proven: false, is_untouched: true, before: None, last: None }
    }

    /// Returns what to do next on a course that this coach has led so far.
    pub(crate) fn step(&self, course: &Course) -> CoachStep {
        self.step_after_miss(course).0
    }

    /// Returns why that is to be done, in a sentence.
    pub(crate) fn reason(&self, course: &Course) -> String {
        match self.step_after_miss(course).1 {
            Some(missed) => missed.words(),
            None => course.phase.asks(self).reason.into_owned(),
        }
    }

    fn step_after_miss(&self, course: &Course) -> (CoachStep, Option<Missed>) {
        let mut step = course.phase.step(self);
        let missed = match (&mut step, &course.last) {
            (CoachStep::Set { setting, .. }, Some(seen)) => setting.follow(course.before.as_ref(), seen),
            _ => None,
        };
        (step, missed)
    }
}

impl Course {
    /// Returns the course after one more reading, led by the coach that has begun it.
    pub(crate) fn after(self, coach: &Coach, seen: &CoachReading) -> Course {
        // Whatever does not belong to the plan is a fresh look at the rig as it now is.
        let phase = self.next(coach, seen).unwrap_or_else(|| Phase::pair(seen.condition, seen.reading, None));
        let set_last = matches!(self.phase, Phase::Following(_) | Phase::Proving(Proving::SetBleed { .. }));
        let is_pass = set_last && matches!(phase, Phase::Pairing(_));
        let has_proven = matches!(phase, Phase::Proving(Proving::SetBleed { thorough: true }));
        Course {
            passes: self.passes + u32::from(is_pass),
            is_proven: self.is_proven || has_proven,
            is_untouched: self.is_untouched && seen.moved.is_none(),
            before: self.last,
            last: Some(*seen),
            phase,
        }
    }

    /// The phase after a reading; `None` where it was not asked for.
    fn next(&self, coach: &Coach, seen: &CoachReading) -> Option<Phase> {
        let barometer = coach.goal.barometer();
        let limit = barometer.si() + coach.sight().dial_error_pa(seen.reading);
        match &self.phase {
            Phase::Found(_) => Some(self.phase.clone()),
            _ if seen.reading.si() > limit => {
                Some(Phase::Found(RigConcern::BeyondBarometer { reading: seen.reading, barometer }))
            }
            Phase::Pairing(pairing) => pairing.clone().after(coach, self, seen),
            phase if !phase.step(coach).is_answered_by(seen) => None,
            Phase::Following(_) | Phase::Proving(_) => Some(self.after_turning(coach, seen)),
            Phase::Comparing(comparing) => Some(comparing.after(coach, seen)),
            Phase::NeedleCheck { at, doubt } => Some(self.after_needle_check(coach, *at, *doubt, seen)),
            Phase::Settled { .. } => None,
        }
    }

    fn after_turning(&self, coach: &Coach, seen: &CoachReading) -> Phase {
        if let Some(doubt) = self.standstill(&self.phase.step(coach), coach, seen) {
            return Phase::NeedleCheck { at: seen.reading, doubt };
        }
        match &self.phase {
            Phase::Following(following) => following.clone().after(coach, seen),
            Phase::Proving(proving) => proving.after(coach, seen),
            phase => phase.clone(),
        }
    }

    /// What to doubt where the needle stands still, short of what is asked for, while a valve is turned
    /// for the second time.
    fn standstill(&self, asked: &CoachStep, coach: &Coach, seen: &CoachReading) -> Option<Doubt> {
        let CoachStep::Set { setting, .. } = asked else { return None };
        let (sight, wanted) = (coach.sight(), setting.set_to_pa);
        let is_same_turn = |before: &CoachReading| {
            before.condition == seen.condition && before.moved.is_some() && before.moved == seen.moved
        };
        let before = self.last.as_ref().filter(|before| is_same_turn(before))?;
        let stands = sight.has_not_moved(before.reading, seen.reading) && sight.missed(wanted, seen.reading);
        let is_at_stop = seen.moved.is_some_and(|moved| moved.stop.is_some());
        (stands && !is_at_stop).then_some(match wanted > seen.reading {
            true => Doubt::Reach { wanted },
            false => Doubt::Stop,
        })
    }

    fn after_needle_check(&self, coach: &Coach, at: Pressure, doubt: Doubt, seen: &CoachReading) -> Phase {
        let sight = coach.sight();
        if sight.same_needle(at, seen.reading) {
            return Phase::Found(RigConcern::DialStuck { at });
        }
        match doubt {
            _ if !sight.is_low(seen.reading) => Phase::Found(RigConcern::HoseBlocked),
            // A plug that lets past as much as the orifice looks the same as an orifice that lets nothing past.
            Doubt::Orifice => Phase::compare(at, sight.notably_above(at), 1.0, Otherwise::OrificeBlocked),
            Doubt::Reach { wanted } => Phase::Found(RigConcern::NoDeeper { at, wanted }),
            Doubt::Stop if self.is_proven => Phase::Found(RigConcern::DoesNotRepeat),
            Doubt::Stop => Phase::prove(Why::Missed),
        }
    }
}

impl Phase {
    /// What is asked for, without the reason, which takes longer to put into words.
    fn step(&self, coach: &Coach) -> CoachStep {
        match self {
            Phase::Following(following) => following.step(),
            phase => phase.asks(coach).step,
        }
    }

    fn asks(&self, coach: &Coach) -> NextStep {
        match self {
            Phase::Pairing(pairing) => pairing.asks(coach),
            Phase::Following(following) => following.asks(),
            Phase::Proving(proving) => proving.asks(coach),
            Phase::Comparing(comparing) => comparing.asks(),
            Phase::NeedleCheck { .. } => NextStep::new(
                CoachStep::Read(Condition::Open),
                "The needle has not moved as it should; with the hose end open it must fall to zero.",
            ),
            Phase::Found(concern) => NextStep::new(CoachStep::Repair(*concern), concern.to_string()),
            Phase::Settled { plugged, through } => NextStep::new(
                CoachStep::Settled { plugged: *plugged, through: *through },
                "Both readings are within tolerance of their targets.",
            ),
        }
    }
}

impl Following {
    fn step(&self) -> CoachStep {
        CoachStep::Set { setting: self.setting(), then: self.then() }
    }

    fn asks(&self) -> NextStep {
        let (setting, then) = (self.setting(), self.then());
        let valve = setting.valve;
        let reason = match then {
            Some(then) => format!(
                "The {valve} comes first, to this reading; setting the {} to {} {} after it brings both readings home. Of \
                 all ways this is the surest, since the needle moves {} here for a tenth more opening.",
                then.valve, then.set_to_pa, then.condition, self.plan.steepness
            ),
            None if self.is_second => {
                let other = valve.other();
                format!(
                    "The {other} is set, so the {valve} is to bring both readings home; a look at both then shows how near."
                )
            }
            None => format!("Only the {valve} is off: at this reading the other one comes right too."),
        };
        NextStep::new(self.step(), reason)
    }

    fn after(self, coach: &Coach, seen: &CoachReading) -> Phase {
        let setting = self.setting();
        if coach.sight().missed(setting.set_to_pa, seen.reading) {
            return Phase::Following(self).missed(seen);
        }
        match self.then() {
            Some(_) => Phase::Following(Following { is_second: true, ..self }),
            None => Phase::pair(setting.condition, seen.reading, Some(self.plan.miss)),
        }
    }
}
