use std::time::Duration;

/// What walking a procedure again and again may cost in all: the same for proofreading and for the form.
///
/// Walks, questions and operations bound it alike on every machine. Processor time is the last resort, for a script
/// whose operations cost far more than usual; no ordinary one comes near it.
#[derive(Debug, Clone)]
pub(crate) struct WalkBudget {
    walks: usize,
    questions: usize,
    operations: u64,
    until: Duration,
}

const MOST_WALKS: usize = 6_000;
const MOST_QUESTIONS_IN_ALL: usize = 120_000;
const MOST_OPERATIONS_IN_ALL: u64 = 4_000_000;
/// Processor time for walking. Without optimisation everything takes many times as long.
const LONGEST: Duration = Duration::from_millis(if cfg!(debug_assertions) { 3_000 } else { 1_200 });

impl WalkBudget {
    pub(crate) fn new() -> WalkBudget {
        WalkBudget {
            walks: MOST_WALKS,
            questions: MOST_QUESTIONS_IN_ALL,
            operations: MOST_OPERATIONS_IN_ALL,
            until: processor_time() + LONGEST,
        }
    }

    /// Takes one walk off it.
    pub(crate) fn spend(&mut self, n_questions: usize, n_operations: u64) {
        self.walks = self.walks.saturating_sub(1);
        self.questions = self.questions.saturating_sub(n_questions);
        self.operations = self.operations.saturating_sub(n_operations);
    }

    /// Returns whether nothing is left of it.
    pub(crate) fn is_spent(&self) -> bool {
        self.walks == 0 || self.questions == 0 || self.operations == 0 || processor_time() > self.until
    }
}

/// Returns the processor time that this thread has taken; time on the clock where the system does not tell.
fn processor_time() -> Duration {
    #[cfg(target_os = "linux")]
    {
        let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
        let seconds = u64::try_from(time.tv_sec).unwrap_or_default();
        Duration::new(seconds, u32::try_from(time.tv_nsec).unwrap_or_default())
    }
    #[cfg(not(target_os = "linux"))]
    {
        use std::sync::OnceLock;
        use std::time::Instant;
        static START: OnceLock<Instant> = OnceLock::new();
        START.get_or_init(Instant::now).elapsed()
    }
}
