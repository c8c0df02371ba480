//! How a walk keeps the rig set.

use super::wording::{check_words, look_again};
use super::{Duty, Halt, Shown, Walk};
use crate::record::{HoseOn, Wants};
use crate::rig::Condition;

impl Walk {
    /// Does what the rig needs before a circuit, or before the end where none is named.
    pub(crate) fn keep_rig(&mut self, before: Option<&str>) -> Result<(), Halt> {
        loop {
            match self.desk.duty(before) {
                Duty::None => return Ok(()),
                Duty::Calibrate => self.calibrate()?,
                Duty::Check => return self.check_rig(before),
                Duty::CheckBeforeCalibrating => self.check_rig(before)?,
            }
        }
    }

    /// Looks at both points; where they are off, once more before anything is taken back: it may have been a slip.
    fn check_rig(&mut self, before: Option<&str>) -> Result<(), Halt> {
        for is_last in [false, true] {
            for condition in [Condition::Plugged, Condition::Through] {
                let (deepest_pa, unit) = (self.bench.deepest_pa(), self.vacuum_unit.symbol.to_owned());
                let wants = Wants::Reading { on: HoseOn::Check(condition), deepest_pa, unit };
                self.ask_for_runner(check_words(before, condition), wants)?;
            }
            let Some(check) = self.bench.check() else { return Ok(()) };
            self.desk.show(&Shown::Checked(&check));
            match is_last {
                _ if check.is_good => return Ok(()),
                false => self.desk.show(&Shown::LookedAgain(look_again(check.is_plugged_good))),
                true => {}
            }
        }
        Err(Halt::Drifted)
    }
}
