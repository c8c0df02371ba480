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
pub use control_chart::{ControlChart, MOVING_RANGE_D2, MOVING_RANGE_D4, Signal};
pub use f_distribution::f_above;
pub use gauge_study::{Components, GaugeStudy, Observation, Reader, StudyError};
pub use gauge_table::{GaugeTable, Source};
pub use normal::{normal_below, normal_quantile};
pub use one_way::{OneWay, one_way};
pub use summary::{Summary, autocorrelation, sum};
pub use tolerance::{lower_tolerance_limit, tolerance_factor, values_needed, values_needed_for_least};
