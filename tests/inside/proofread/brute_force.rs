//! The search against brute force: every product of answers to small procedures made at random.

use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;
use std::rc::Rc;

use super::paper::{agrees, fields, walked};
use crate::procedure::{Aside, Desk, Place, Program, RunnersPart, Shown, Trail, Walk};
use crate::proofread::{proofread, worksheet};
use crate::quantity::UNITS;
use crate::record::{Answer, BenchState, HoseOn, Question, Told, Wants};
use crate::tests::support::{Draws, seeds, source};

/// A procedure in the making.
struct Writer {
    draws: Draws,
    text: String,
    n_texts: usize,
    n_questions: usize,
    n_readings: usize,
}

const CIRCUIT: &str = "holds: 20.inHg, leaks: 15.inHg";

impl Writer {
    fn line(&mut self, depth: usize, line: &str) {
        self.text.push_str(&"    ".repeat(depth));
        self.text.push_str(line);
        self.text.push('\n');
    }

    fn name(&mut self) -> usize {
        self.n_texts += 1;
        self.n_texts
    }

    /// Writes something that is true or not: of a reading, a flag, a counter, an answer.
    fn condition(&mut self, readings: &[String], is_in_test: bool) -> String {
        let of = |draws: &mut Draws, list: &[String]| list[draws.below(list.len())].clone();
        let verdict = ["holds", "worn", "leaks", "retest"][self.draws.below(4)];
        match self.draws.below(8) {
            0..=3 if !readings.is_empty() => {
                let reading = of(&mut self.draws, readings);
                let not = if self.draws.below(4) == 0 { "!" } else { "" };
                format!("{not}{reading}.{verdict}")
            }
            4 if readings.len() > 1 => {
                let (a, b) = (of(&mut self.draws, readings), of(&mut self.draws, readings));
                let both = ["&&", "||"][self.draws.below(2)];
                format!("{a}.{verdict} {both} !{b}.leaks")
            }
            5 => format!("n >= {}", self.draws.below(3)),
            6 => "flag".to_owned(),
            _ if self.n_questions < 3 => {
                self.n_questions += 1;
                let (name, t) = (self.name(), if is_in_test { "t." } else { "" });
                match self.draws.below(3) {
                    0 => format!("{t}ask_choice(\"q{name}\", [\"a{name}\", \"b{name}\"]) == \"b{name}\""),
                    _ => format!("{t}ask_yes(\"q{name}\")"),
                }
            }
            _ => "n == 1".to_owned(),
        }
    }

    fn steps(&mut self, depth: usize, n: usize, readings: &mut Vec<String>, is_in_test: bool) {
        let t = if is_in_test { "t." } else { "" };
        for _ in 0..n {
            match self.draws.below(7) {
                0..=2 if depth < 4 => {
                    let condition = self.condition(readings, is_in_test);
                    self.line(depth, &format!("if {condition} {{"));
                    self.steps(depth + 1, 1, &mut readings.clone(), is_in_test);
                    if self.draws.below(2) == 0 {
                        self.line(depth, "} else {");
                        self.steps(depth + 1, 1, &mut readings.clone(), is_in_test);
                    }
                    self.line(depth, "}");
                }
                3 => self.line(depth, "n += 1;"),
                4 => {
                    let value = ["true", "false", "!flag", "n > 0"][self.draws.below(4)];
                    self.line(depth, &format!("flag = {value};"));
                }
                5 if is_in_test && self.n_readings < 3 => {
                    self.n_readings += 1;
                    let name = self.name();
                    self.line(depth, &format!("let r{name} = t.read(\"r{name}\");"));
                    readings.push(format!("r{name}"));
                }
                _ => {
                    let name = self.name();
                    self.line(depth, &format!("{t}finding(\"f{name}.\");"));
                }
            }
        }
    }
}

/// Writes a small procedure: counters and flags, one or two tests, functions that return early, loops.
fn procedure_of(seed: u64) -> String {
    let mut writer =
        Writer { draws: Draws(seed), text: String::new(), n_texts: 0, n_questions: 0, n_readings: 0 };
    writer.line(0, "procedure(#{ title: \"Small\", unit: \"Merle M2\", version: \"1.0.0\" });");
    let has_function = writer.draws.below(3) == 0;
    if has_function {
        writer.line(0, "fn look(t, r) {");
        writer.line(1, "if r.holds { return 0; }");
        let name = writer.name();
        writer.line(1, &format!("t.finding(\"f{name}.\");"));
        writer.line(1, "if r.leaks { return 2; }");
        let name = writer.name();
        writer.line(1, &format!("t.finding(\"f{name}.\");"));
        writer.line(1, "1");
        writer.line(0, "}");
    }
    writer.line(0, "let n = 0;");
    writer.line(0, "let flag = false;");
    if writer.draws.below(3) == 0 {
        writer.steps(0, 1, &mut Vec::new(), false);
    }
    let (n_tests, is_loop) = (1 + writer.draws.below(2), writer.draws.below(4) == 0);
    for test in 0..n_tests {
        let set_up =
            if writer.draws.below(4) == 0 { format!("set_up: \"s{test}\", ") } else { String::new() };
        let depth = usize::from(is_loop && test == 0);
        if depth == 1 {
            writer.line(0, "for name in [\"c x\", \"c y\"] {");
            writer.line(1, &format!("test(circuit(#{{ name: name, {set_up}{CIRCUIT} }}), |t| {{"));
        } else {
            writer.line(0, &format!("test(circuit(#{{ name: \"c{test}\", {set_up}{CIRCUIT} }}), |t| {{"));
        }
        let name = writer.name();
        writer.n_readings += 1 + depth;
        writer.line(depth + 1, &format!("let r{name} = t.read(\"r{name}\");"));
        let mut readings = vec![format!("r{name}")];
        if has_function && writer.draws.below(2) == 0 {
            writer.line(depth + 1, &format!("n += look(t, r{name});"));
        }
        let n_steps = 1 + writer.draws.below(2);
        writer.steps(depth + 1, n_steps, &mut readings, true);
        writer.line(depth, "});");
        if depth == 1 {
            writer.line(0, "}");
        }
    }
    let n_steps = writer.draws.below(2);
    writer.steps(0, n_steps, &mut Vec::new(), false);
    writer.text
}

/// A desk that goes through all products of answers: which one comes next is counted up like the figures of a number.
#[derive(Default)]
struct Counting {
    /// The answers of this walk, each with how many there are.
    figures: Rc<RefCell<Vec<(usize, usize)>>>,
    nth: Rc<Cell<usize>>,
    again: Option<&'static str>,
}

impl Desk for Counting {
    fn tell(&mut self, told: &Told) {
        if let Told::Began { .. } | Told::Ended { .. } = told {
            self.again = None;
        }
    }

    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        let is_reading = matches!(question.wants, Wants::Reading { on: HoseOn::Circuit { .. }, .. });
        if let Some(again) = self.again.filter(|_| is_reading) {
            return Ok(question.read(again).expect("a reading"));
        }
        let mut ways: Vec<&'static str> = match &question.wants {
            Wants::Yes => vec!["yes", "no"],
            Wants::Choice { .. } => vec!["1", "2"],
            Wants::Reading { .. } => vec!["22.5 inHg", "17.5 inHg", "12 inHg", "20 inHg"],
            _ => vec![""],
        };
        // After seating again it could be left as well; that is as if it had not been read at all.
        let is_reseat = self.again.is_some();
        if !is_reseat && question.accepts(&Answer::Unable("no".to_owned())).is_ok() {
            ways.push("cannot");
        }
        let (nth, figures) = (self.nth.get(), &mut *self.figures.borrow_mut());
        self.nth.set(nth + 1);
        if nth == figures.len() {
            figures.push((0, ways.len()));
        }
        let way = ways[figures[nth].0];
        if way == "cannot" {
            return Ok(Answer::Unable("no".to_owned()));
        }
        self.again = is_reading.then_some(way).or(self.again);
        Ok(question.read(way).expect("an answer"))
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if let Shown::Judged { more: false, .. } = shown {
            self.again = None;
        }
    }
}

/// Walks all products of answers, with every choice of circuits left out; none where there are too many.
fn brute_force(program: &Program, trail: &Trail) -> Option<()> {
    let circuits: Vec<String> =
        program.outline().expect("an outline").circuits.iter().map(|circuit| circuit.name.clone()).collect();
    for plan in 1..1_usize << circuits.len() {
        let planned: Vec<String> =
            (0..circuits.len()).filter(|n| plan & (1 << n) != 0).map(|n| circuits[n].clone()).collect();
        let figures = Rc::<RefCell<Vec<(usize, usize)>>>::default();
        for n_walks in 0.. {
            if n_walks > 400 {
                return None;
            }
            let desk = Counting { figures: Rc::clone(&figures), ..Counting::default() };
            let walk = Walk::new(Box::new(desk), BenchState::exact(None), &UNITS[0]).leaving(trail.clone());
            let walk = walk
                .with_runner(RunnersPart { set_rig: |_| Ok(()), close: |_| Ok(()), commit: None })
                .first_of(planned.len(), &planned);
            program.run(walk).expect("a walk that comes to its end");
            let figures = &mut *figures.borrow_mut();
            while figures.last().is_some_and(|(figure, of)| figure + 1 == *of) {
                figures.pop();
            }
            match figures.last_mut() {
                Some((figure, _)) => *figure += 1,
                None => break,
            }
        }
    }
    Some(())
}

/// Compares the search with brute force on one procedure; returns whether that could be done.
fn compared(seed: u64) -> bool {
    let text = procedure_of(seed);
    let program = match Program::compile(source(&text)) {
        Ok(program) => program,
        Err(faults) => panic!("seed {seed}: {faults:?}\n{text}"),
    };
    let trail = Trail::default();
    if brute_force(&program, &trail).is_none() {
        return false;
    }
    let report = proofread(source(&text));
    assert!(report.is_sound(), "seed {seed}: {}\n{text}", report.text());
    assert!(!report.tried.is_cut && report.tried.not_tried == 0, "seed {seed}: {}\n{text}", report.text());
    let impossible: BTreeSet<(Option<usize>, Option<usize>)> = report
        .faults
        .iter()
        .filter(|found| found.fault.message.starts_with("no answer leads to this"))
        .map(|found| (found.fault.line, found.fault.column))
        .collect();
    for (word, site) in program.sites() {
        let is_impossible = impossible.contains(&(Some(site.line), Some(site.column)));
        assert_eq!(
            is_impossible,
            !trail.has_seen(site),
            "seed {seed}: {word} in line {}: {}\n{text}",
            site.line,
            report.text()
        );
    }
    let form = fields(&worksheet(&program, None).0);
    for unit in 0..12 {
        let mut draws = Draws(seed ^ (unit << 40));
        agrees(&form, &walked(&program, move |n| draws.below(n), &Trail::default()));
    }
    true
}

/// More procedures by `SPOOLPROOF_SEEDS=0-12000 cargo test --lib brute_force`.
#[test]
fn what_the_search_calls_reached_and_impossible_is_what_all_products_of_answers_reach_and_do_not() {
    let n_seeds = seeds(0..40).count();
    let n_compared = seeds(0..40).filter(|seed| compared(*seed)).count();
    assert!(n_compared * 4 > n_seeds * 3, "only {n_compared} of {n_seeds} procedures are small enough");
}
