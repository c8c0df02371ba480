//! Pure statistics: summaries, analysis of variance, control charts, gauge studies, tolerance intervals.
//! Nothing here knows of vacuum.

mod bell;
mod control_chart;
mod f_distribution;
mod gauge_study;
mod gauge_table;
mod normal;
mod one_way;
mod summary;
mod tolerance;

pub use bell::{BELL_MISFIT_LIMIT, bell_misfit};
pub use control_chart::{ControlChart, Signal};
#[cfg(test)]
pub use control_chart::{MOVING_RANGE_D2, MOVING_RANGE_D4};
pub use f_distribution::f_above;
#[cfg(test)]
pub use gauge_study::StudyError;
pub use gauge_study::{Components, GaugeStudy, Observation, Reader};
pub use gauge_table::{GaugeTable, Source};
pub use normal::{normal_below, normal_quantile};
#[cfg(test)]
pub use one_way::one_way;
pub use summary::Summary;
#[cfg(test)]
pub use summary::autocorrelation;
#[cfg(test)]
pub use tolerance::lower_tolerance_limit;
pub use tolerance::{tolerance_factor, values_needed, values_needed_for_least};
