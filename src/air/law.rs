use super::{CRITICAL_FLOW, CRITICAL_RATIO, flow_function};

/// How much a restriction passes as the pressure behind it falls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Law {
    /// An ideal nozzle: the isentropic flow function.
    Nozzle,
    /// A real valve by ISO 6358-1: sonic up to this critical ratio (0 to 0.6), then a quarter ellipse.
    Valve {
        /// The critical pressure ratio b.
        critical_ratio: f64,
    },
}

impl Law {
    /// Returns the flow for a ratio of downstream to upstream pressure, 0 to 1, in the units of the flow function: mass
    /// flow times sqrt(R T) over effective area and upstream pressure.
    pub fn flow(self, ratio: f64) -> f64 {
        match self {
            Law::Nozzle => flow_function(ratio.clamp(0.0, 1.0)).unwrap_or(0.0),
            Law::Valve { critical_ratio } if ratio <= critical_ratio => CRITICAL_FLOW,
            Law::Valve { critical_ratio } => {
                let beyond = (ratio - critical_ratio) / (1.0 - critical_ratio);
                CRITICAL_FLOW * (1.0 - beyond * beyond).max(0.0).sqrt()
            }
        }
    }

    /// Returns the greatest pressure ratio at which the flow is still sonic.
    pub fn critical_ratio(self) -> f64 {
        match self {
            Law::Nozzle => CRITICAL_RATIO,
            Law::Valve { critical_ratio } => critical_ratio,
        }
    }
}
