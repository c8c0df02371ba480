//! Pure statistics: summaries, analysis of variance, control charts, gauge studies, tolerance intervals.
//! Nothing here knows of vacuum.

mod control_chart;
mod distribution;
mod fitting;
mod gauge_study;
mod summary;
mod tolerance;

#[cfg(test)]
pub(crate) use control_chart::deviation_by_steps;
pub(crate) use control_chart::{ControlChart, Signal};
pub(crate) use distribution::{BELL_MISFIT_LIMIT, bell_misfit, deviation_limits, f_above, normal_below};
#[cfg(test)]
pub(crate) use distribution::{normal_quantile, student_quantile};
#[cfg(test)]
pub(crate) use gauge_study::StudyError;
pub(crate) use gauge_study::{Components, GaugeStudy, GaugeTable, OperatorHabit, StudyReading, VarianceLine};
pub(crate) use summary::{Summary, mean};
pub(crate) use tolerance::{
    is_least_odd, limit_rank, tolerance_factor, values_needed, values_needed_for_least,
};
