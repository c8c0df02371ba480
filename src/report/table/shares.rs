/// How often each verdict was given, of those that were.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shares {
    /// What is counted.
    pub label: String,
    /// How many hold.
    pub holds: u64,
    /// How many are worn.
    pub worn: u64,
    /// How many leak.
    pub leaks: u64,
    /// How many are not decided.
    pub retest: u64,
}

/// Marks of the verdicts in a bar of text.
pub(super) const MARKS: [(char, &str); 4] = [('x', "leaks"), ('-', "worn"), ('?', "retest"), ('=', "holds")];

impl Shares {
    /// Returns the verdicts' counts, the worst first.
    pub(in crate::report) fn worst_first(&self) -> [u64; 4] {
        [self.leaks, self.worn, self.retest, self.holds]
    }

    /// Returns the ends of the verdicts' parts of a bar of this length, worst first.
    pub(in crate::report) fn ends(&self, length: f64) -> [f64; 4] {
        let counts = self.worst_first();
        let all = counts.iter().sum::<u64>().max(1) as f64;
        let mut end = 0.0;
        counts.map(|count| {
            end += count as f64;
            length * end / all
        })
    }

    /// Draws a bar of that many characters; empty where nothing was counted.
    pub(super) fn bar(&self, length: usize) -> String {
        if self.worst_first().iter().sum::<u64>() == 0 {
            return String::new();
        }
        let mut bar = String::new();
        for (end, (mark, _)) in self.ends(length as f64).into_iter().zip(MARKS) {
            while bar.len() < end.round() as usize {
                bar.push(mark);
            }
        }
        bar
    }
}
