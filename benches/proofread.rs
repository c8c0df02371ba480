//! Shows how proofreading grows with the number of circuits: time and answers, each beside those of half as many.
//!
//! `cargo bench --bench proofread`.

#![expect(clippy::print_stdout, reason = "a benchmark shows what it found")]

use std::error::Error;
use std::time::Instant;

use spoolproof::script::Source;
use spoolproof::script::proofread;

/// A procedure of so many circuits, every third one with branches.
fn procedure_of(n_circuits: usize) -> String {
    let mut text = "procedure(#{ title: \"Growth\", version: \"1.0.0\" });\n\
                    caution(\"Mind the suction of the hose.\");\n"
        .to_owned();
    for n in 0..n_circuits {
        let circuit = format!("circuit(#{{ name: \"circuit {n}\", holds: 20.inHg, leaks: 15.inHg }})");
        let steps = match n % 3 {
            0 => {
                ", |t| { let a = t.read(\"inboard\"); let b = t.read(\"outboard\"); \
                  if a.holds && b.leaks { t.finding(\"Only the outboard land is worn.\"); } \
                  if !a.holds && t.ask_yes(\"Is the plug in place?\") { t.trial(\"neighbour blocked\"); } }"
            }
            _ => "",
        };
        text.push_str(&format!("test({circuit}{steps});\n"));
    }
    text
}

fn main() -> Result<(), Box<dyn Error>> {
    println!(
        "{:>8} {:>10} {:>6} {:>8} {:>10} {:>10}",
        "circuits", "statements", "walks", "answers", "ms", "grows by"
    );
    let mut before: Option<(usize, f64)> = None;
    // 14 circuits stand apart: about as many as a whole body has.
    for n_circuits in [14, 10, 20, 40, 80, 160] {
        let files = [("growth.rhai".to_owned(), procedure_of(n_circuits).into_bytes())];
        let source = Source::from_files("growth", files).map_err(|fault| fault.message)?;
        let start = Instant::now();
        let report = proofread(source);
        let ms = start.elapsed().as_secs_f64() * 1e3;
        let tried = report.tried;
        let half = before.filter(|(n, _)| 2 * n == n_circuits);
        let growth = half.map_or(String::new(), |(_, before)| format!("{:.1}", ms / before));
        println!(
            "{n_circuits:>8} {:>10} {:>6} {:>8} {ms:>10.1} {growth:>10}",
            tried.statements, tried.walks, tried.answers
        );
        before = Some((n_circuits, ms));
    }
    Ok(())
}
