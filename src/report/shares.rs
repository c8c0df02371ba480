use super::markup::Markup;
use super::svg::{Drawing, PICTURE_WIDTH as WIDTH, fill, legend};
use crate::console::{Screen, clean};
use crate::leak::Verdict;
use crate::record::VerdictCounts;
use crate::tell::mark;

/// How often each verdict was given, of those that were.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Shares {
    /// What is counted.
    pub(crate) label: String,
    pub(crate) counts: VerdictCounts,
}

/// What the parts of a bar are marked and filled as, worst first; retest is left white. Passages that are to be open
/// stand with what is to hold.
const PARTS: [Verdict; 4] = [Verdict::Leaks, Verdict::Worn, Verdict::Retest, Verdict::Holds];

impl Shares {
    /// Returns the verdicts' counts, the worst first.
    fn worst_first(&self) -> [usize; 4] {
        let VerdictCounts { worn, retest, .. } = self.counts;
        [self.counts.amiss() - worn, worn, retest, self.counts.sound()]
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
        for (end, part) in self.ends(length as f64).into_iter().zip(PARTS) {
            while bar.len() < end.round() as usize {
                bar.push(mark(part));
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
        let legend = PARTS.into_iter().zip(words(shares));
        let legend: Vec<_> = legend.map(|(part, word)| format!("{} {word}", mark(part))).collect();
        screen.line(&format!("  {}", legend.join(", ")));
    }

    pub(super) fn drawn(shares: &[Shares]) -> Markup {
        // The name of each stands above its bar, whatever its length.
        const ROW: f64 = 32.0;
        const NAME: f64 = 15.0;
        let mut drawing = Drawing::default();
        for (index, share) in shares.iter().enumerate() {
            let top = index as f64 * ROW;
            drawing.text("", (1.0, top + 12.0), &share.label);
            let mut from = 1.0;
            let counts = share.worst_first();
            for ((end, part), count) in share.ends(WIDTH - 2.0).into_iter().zip(PARTS).zip(counts) {
                if count > 0 {
                    drawing.rectangle("bar", (from, top + NAME), (1.0 + end - from, 12.0), fill(part));
                }
                from = 1.0 + end;
            }
        }
        let said = shares.iter().map(|share| {
            let parts = share.worst_first().into_iter().zip(words(shares)).rev();
            let parts: Vec<_> = parts.map(|(n, word)| format!("{n} {word}")).collect();
            format!("{}: {}", share.label, parts.join(", "))
        });
        let said = said.collect::<Vec<_>>().join(". ");
        let bars = drawing.picture("picture", (WIDTH, shares.len() as f64 * ROW), &said);
        let [amiss, worn, _, sound] = words(shares);
        let zones = [(Verdict::Leaks, amiss), (Verdict::Worn, worn), (Verdict::Holds, sound)];
        [bars, legend(&zones, "White: retest.")].into()
    }
}

/// Says what the parts of the bars are.
fn words(shares: &[Shares]) -> [&'static str; 4] {
    let has_window = shares.iter().any(|Shares { counts, .. }| counts.right + counts.open + counts.tight > 0);
    match has_window {
        false => ["leaks", "worn", "retest", "holds"],
        true => ["leaks, too open or too tight", "worn", "retest", "holds or right"],
    }
}
