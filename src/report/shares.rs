use super::markup::Markup;
use super::svg::{Drawing, PICTURE_WIDTH as WIDTH, legend};
use crate::console::{Screen, clean};
use crate::record::VerdictCounts;

/// How often each verdict was given, of those that were.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Shares {
    /// What is counted.
    pub(crate) label: String,
    pub(crate) counts: VerdictCounts,
}

/// Marks of the verdicts in a bar of text, worst first.
const MARKS: [(char, &str); 4] = [('x', "leaks"), ('-', "worn"), ('?', "retest"), ('=', "holds")];

/// Fills of the verdicts in a bar of a page, worst first; retest is left white.
const FILLS: [&str; 4] = ["url(#leaks)", "url(#worn)", "#fff", "url(#holds)"];

impl Shares {
    /// Returns the verdicts' counts, the worst first.
    fn worst_first(&self) -> [usize; 4] {
        let VerdictCounts { holds, worn, leaks, retest, .. } = self.counts;
        [leaks, worn, retest, holds]
    }

    /// Returns the ends of the verdicts' parts of a bar of this length, worst first.
    fn ends(&self, length: f64) -> [f64; 4] {
        let counts = self.worst_first();
        let all = counts.iter().sum::<usize>().max(1) as f64;
        let mut end = 0.0;
        counts.map(|count| {
            end += count as f64;
            length * end / all
        })
    }

    /// Draws a bar of that many characters; empty where nothing was counted.
    fn bar(&self, length: usize) -> String {
        if self.worst_first().iter().sum::<usize>() == 0 {
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

    pub(super) fn show(screen: &mut Screen, shares: &[Shares]) {
        let label = shares.iter().map(|share| share.label.chars().count()).max().unwrap_or(0).min(30);
        let length = screen.width().saturating_sub(label + 6).clamp(10, 60);
        for share in shares {
            let name: String = clean(&share.label).chars().take(label).collect();
            screen.line(&format!("  {name:<label$}  {}", share.bar(length)));
        }
        let legend: Vec<_> = MARKS.iter().map(|(mark, word)| format!("{mark} {word}")).collect();
        screen.line(&format!("  {}", legend.join(", ")));
    }

    pub(super) fn drawn(shares: &[Shares]) -> Markup {
        const ROW: f64 = 16.0;
        const NAME: f64 = 170.0;
        let mut drawing = Drawing::default();
        for (index, share) in shares.iter().enumerate() {
            let top = index as f64 * ROW;
            drawing.text("end", (NAME - 6.0, top + 11.0), &share.label);
            let mut from = NAME;
            let counts = share.worst_first();
            for ((end, fill), count) in share.ends(WIDTH - NAME - 6.0).into_iter().zip(FILLS).zip(counts) {
                if count > 0 {
                    drawing.rectangle("bar", (from, top + 2.0), (NAME + end - from, ROW - 4.0), fill);
                }
                from = NAME + end;
            }
        }
        let said = shares.iter().map(|share| {
            let [leaks, worn, retest, holds] = share.worst_first();
            format!("{}: {holds} hold, {worn} worn, {leaks} leak, {retest} to be read again", share.label)
        });
        let said = said.collect::<Vec<_>>().join(". ");
        let bars = drawing.picture("picture", (WIDTH, shares.len() as f64 * ROW), &said);
        let zones = [("leaks", "leaks"), ("worn", "worn"), ("holds", "holds")];
        [bars, legend(&zones, "White: retest.")].into()
    }
}
