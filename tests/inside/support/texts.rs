//! Procedures that many tests walk, what is typed at them, and what their records say.

use super::{Home, lines};
use crate::record::{Answer, Asker, Question, Record, TakeRecord, What};

/// A script with one of everything, after the usual first line.
pub(crate) const BODY: &str = "
caution(\"Hands off the hose.\");
let kind = ask_choice(\"Which body?\", [\"early\", \"late\"]);
let bore = ask_number(\"Bore?\", #{ unit: \"mm\", low: 12.mm, high: 13.mm });
if bore.high { finding(\"The bore is worn.\"); }
test(c, |t| {
    t.ready(\"Seat the plate.\");
    let r = t.read(\"inboard\");
    if ask_yes(\"Any noise?\") { t.finding(\"It hisses.\"); }
});
let last = ask_text(\"Anything else?\");
";

/// Lines that answer it without a detour.
pub(crate) const BODY_LINES: [&str; 7] = ["ok", "late", "13.5", "", "22", "yes", "no"];

/// Returns the words and answers that stand in a record's journal, in the order of its last walk, the runner's aside.
pub(crate) fn answers(record: &Record) -> Vec<(String, Answer)> {
    let What::Finished { walk } = &record.journal.last().expect("an end").what else {
        panic!("not finished")
    };
    walk.iter()
        .map(|n| usize::try_from(*n).expect("a number"))
        .filter_map(|n| match &record.journal[n - 1].what {
            What::Answered { question: Question { asker: Asker::Procedure, words, .. }, answer } => {
                Some((words.clone(), answer.clone()))
            }
            _ => None,
        })
        .collect()
}

/// Returns how often a question with these words was answered in all.
pub(crate) fn times_answered(record: &Record, wanted: &str) -> usize {
    let asked = |what: &What| matches!(what, What::Answered { question, .. } if question.words == wanted);
    record.journal.iter().filter(|event| asked(&event.what)).count()
}

/// Returns the reading in inHg as it was entered, for each take of the one circuit.
pub(crate) fn takes(record: &Record) -> Vec<String> {
    let takes = record.circuits[0].readings.iter().flat_map(|reading| &reading.takes);
    takes.map(|take| entered(record, take).to_owned()).collect()
}

/// Returns the number of a take as it was entered.
pub(crate) fn entered<'a>(record: &'a Record, take: &TakeRecord) -> &'a str {
    record.read_at(take.event).unwrap().0.number()
}

/// A procedure of one circuit.
pub(crate) const FEED: &str = "
procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\" });
caution(\"Suction holds skin.\");
let feed = circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg });
test(feed);
ready(\"Done?\");
";
/// Answers to it; the last two are the look at the rig before the end.
pub(crate) const FEED_LINES: [&str; 10] = ["Ada", "29.92 inHg", "20 C", "ok", "25", "5", "22", "", "25", "5"];

/// A home with the procedure in it.
pub(crate) fn home() -> Home {
    Home::with("merle.rhai", FEED)
}

/// A home in which the procedure was walked to its end.
pub(crate) fn walked() -> Home {
    let home = home();
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0).says("holds feed");
    home
}

/// A home in which a procedure of one circuit and nothing else was walked to its end.
pub(crate) fn sample() -> Home {
    let one_circuit = r#"
procedure(#{ title: "Merle M2, feed", unit: "Merle M2", version: "1.0.0" });
let feed = circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg });
test(feed);
"#;
    let home = Home::with("merle-m2.rhai", one_circuit);
    home.run(&["guide", "merle-m2.rhai"], "Ana\n29.92 inHg\n20 C\n25\n5\n22\n25\n5\n").exits(0);
    home
}
