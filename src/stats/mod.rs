//! Pure statistics: summaries, analysis of variance, control charts, gauge studies, tolerance intervals.
//! Nothing here knows of vacuum.

mod distribution;
mod gauge_study;
mod summary;

#[cfg(test)]
pub(crate) use distribution::normal_quantile;
pub(crate) use distribution::{
    BELL_MISFIT_LIMIT, bell_misfit, f_above, normal_below, tolerance_factor, values_needed,
    values_needed_for_least,
};
#[cfg(test)]
pub(crate) use gauge_study::StudyError;
pub(crate) use gauge_study::{Components, GaugeStudy, GaugeTable, OperatorHabit, StudyReading, VarianceLine};
pub(crate) use summary::{ControlChart, Signal, Summary};
#[cfg(test)]
pub(crate) use summary::{MOVING_RANGE_D2, MOVING_RANGE_D4};
