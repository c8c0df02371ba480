//! Sets 1,000 simulated rigs, coached and by going back and forth, from anywhere between sea level and 3,000 m, and
//! prints how the two compare.

use std::io::Write;

#[path = "../tests/bench/mod.rs"]
mod bench;

use bench::{Walk, anywhere, back_and_forth, follow, quarter_of_a_division};
use spoolproof::rig::coaching::Coach;

#[derive(Default)]
struct Tally {
    landed: u32,
    settled: u32,
    settings: Vec<usize>,
    readings: Vec<usize>,
    minutes: f64,
}

impl Tally {
    fn add(&mut self, walk: &Walk, seconds: f64) {
        self.landed += u32::from(walk.landed);
        self.settled += u32::from(walk.is_settled());
        self.settings.push(walk.settings.iter().sum());
        self.readings.push(walk.readings);
        self.minutes += seconds / 60.0;
    }

    fn line(&mut self, name: &str) -> String {
        let rigs = self.settings.len();
        let mut spread = |what: fn(&mut Tally) -> &mut Vec<usize>| {
            let counts = what(self);
            counts.sort_unstable();
            (counts[rigs / 2], counts[rigs * 95 / 100])
        };
        let (settings, most_settings) = spread(|tally| &mut tally.settings);
        let (readings, most_readings) = spread(|tally| &mut tally.readings);
        format!(
            "{name:<16}{:>6.1} %{:>9.1} %{settings:>8} /{most_settings:>3}{readings:>8} /{most_readings:>3}{:>9.1} min",
            f64::from(self.landed) / rigs as f64 * 100.0,
            f64::from(self.settled) / rigs as f64 * 100.0,
            self.minutes / rigs as f64,
        )
    }
}

fn main() -> std::io::Result<()> {
    let (mut coached, mut usual) = (Tally::default(), Tally::default());
    for seed in 0..1000 {
        let (rig, goal) = anywhere(seed, quarter_of_a_division());
        let coach = Coach::new(goal, rig.settings().dial.dial);
        let mut one = rig.clone();
        let walk = follow(&coach, &mut one);
        coached.add(&walk, one.elapsed_s() - rig.elapsed_s());
        let mut other = rig.clone();
        let walk = back_and_forth(&goal, &mut other);
        usual.add(&walk, other.elapsed_s() - rig.elapsed_s());
    }
    let mut out = std::io::stdout().lock();
    writeln!(
        out,
        "1000 rigs, valves anywhere, 0 to 3000 m, eye right within a quarter of a half-inch division\n"
    )?;
    writeln!(out, "                landed*   settled    settings**  readings**  waiting for the needle")?;
    writeln!(out, "{}", coached.line("coached"))?;
    writeln!(out, "{}", usual.line("back and forth"))?;
    writeln!(out, "\n*  both needles within 0.25 inHg after at most two settings of each valve")?;
    writeln!(out, "** median / 95 % of rigs need no more, until settled")
}
