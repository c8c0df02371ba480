//! Whatever way a technician goes through a procedure, back and forth, away and again, the record is that of the
//! straight way with the final answers.

use std::cell::RefCell;
use std::rc::Rc;

use crate::procedure::{Aside, Desk, Place, Program};
use crate::record::{Answer, HoseOn, Question, Record, RigStep, Wants};
use crate::rig::Condition;
use crate::session::Ended;
use crate::tests::support::{Script, Shopfront, essence, question, runner_line};
use proptest::prelude::*;

/// A procedure that branches on everything it can: answers, verdicts, measurements; whose options and limits change
/// with answers; that tests circuits in a loop and reads with labels.
const SCRIPT: &str = "
caution(\"Hands off.\");
let side = ask_choice(\"Which side?\", [\"left\", \"right\", \"both\"]);
let ports = if side == \"left\" { [\"A\", \"B\"] } else if side == \"right\" { [\"B\", \"C\"] } else { [\"A\", \"B\", \"C\"] };
let port = ask_choice(\"Which port?\", ports);
if ask_yes(\"Was it apart?\") {
    let bore = ask_number(\"Bore?\", #{ unit: \"mm\", low: 5.mm, high: 9.mm });
    if bore.high { finding(\"worn\"); let words = ask_text(\"Since when?\"); }
    else if !bore.taken { ready(\"Measure it later.\"); }
} else { ready(\"Take it apart.\"); }
test(c, |t| {
    t.ready(\"Seat it.\");
    let first = t.read(\"in\");
    if first.leaks { if t.trial(\"with \" + port + \" blocked\").holds { t.finding(\"across from \" + port); } }
    else if t.ask_yes(\"Noise?\") { t.read(\"out\"); }
});
let n = if side == \"both\" { 2 } else { 1 };
for i in 0..n {
    let d = circuit(#{ name: \"d\" + i, set_up: \"Seat d\" + i + \".\", holds: 21.inHg, leaks: 18.inHg });
    test(d);
}
ready(\"Done?\");
";

fn program() -> Program {
    Script::new(SCRIPT).compile().unwrap()
}

/// One move of the technician at a prompt.
#[derive(Debug, Clone)]
enum Move {
    /// Answers with the answer that this number draws.
    Answer(u8),
    Back(usize),
    Again(usize),
    Park,
    Jot,
}

fn moves() -> impl Strategy<Value = Vec<Move>> {
    let one = prop_oneof![
        10 => any::<u8>().prop_map(Move::Answer),
        1 => (1_usize..8).prop_map(Move::Back),
        2 => (1_usize..12).prop_map(Move::Again),
        1 => Just(Move::Park),
        1 => Just(Move::Jot),
    ];
    proptest::collection::vec(one, 0..80)
}

/// Draws an answer to a question; the rig stands right throughout.
fn draw(question: &Question, n: u8) -> Answer {
    let unable = || Answer::Unable(format!("reason {n}"));
    if n.is_multiple_of(16) && question.accepts(&unable()).is_ok() {
        return unable();
    }
    let line = match (runner_line(question), &question.wants) {
        (_, Wants::Technician) => format!("technician {n}"),
        (_, Wants::Choice { options } | Wants::Decision { options, .. }) => {
            options[usize::from(n) % options.len()].clone()
        }
        (Some(line), _) => line,
        (None, Wants::Yes) => if n.is_multiple_of(2) { "yes" } else { "no" }.to_owned(),
        (None, Wants::Number { .. }) => format!("{}", 4 + n % 7),
        (None, Wants::Reading { .. }) => {
            ["23", "22", "20.5", "19.5", "17", "14", "6.25"][usize::from(n) % 7].to_owned()
        }
        (None, _) => format!("words {n}"),
    };
    question.read(&line).unwrap()
}

/// What the answers given so far amount to: the oracle, which knows nothing of journals.
///
/// It holds one answer a question. To see how far they lead, the procedure is run on them alone.
#[derive(Default)]
struct Model {
    held: Vec<(Question, Answer)>,
}

impl Model {
    fn get(&self, question: &Question) -> Option<&Answer> {
        let (_, answer) = self.held.iter().find(|(asked, _)| asked.is_same(question))?;
        question.accepts(answer).is_ok().then_some(answer)
    }

    fn forget(&mut self, question: &Question) {
        self.held.retain(|(asked, _)| !asked.is_same(question));
    }

    fn hold(&mut self, question: &Question, answer: &Answer) {
        self.forget(question);
        self.held.push((question.clone(), answer.clone()));
    }
}

/// A desk that answers from the model's answers and otherwise ends the walk; it keeps what was asked on the way.
struct Straight {
    model: Rc<RefCell<Model>>,
    asked: Rc<RefCell<Vec<Question>>>,
}

impl Desk for Straight {
    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        self.asked.borrow_mut().push(question.clone());
        self.model.borrow().get(question).cloned().ok_or(Aside::Lost("no answer".to_owned()))
    }
}

thread_local! {
    /// The shop of the straight way, whose procedure is compiled once.
    static STRAIGHT: Shopfront = Shopfront::of(program());
}

/// Returns the questions of the straight way on the model's answers, the first without an answer last, and the record
/// where there is none such.
fn straight(model: &Rc<RefCell<Model>>) -> (Vec<Question>, Option<Record>) {
    let asked = Rc::default();
    let desk = Straight { model: Rc::clone(model), asked: Rc::clone(&asked) };
    let ended = STRAIGHT.with(|front| {
        front.begin_anew();
        front.walk_with(Box::new(desk)).unwrap()
    });
    let record = match ended {
        Ended::Finished(record, _) => Some(*record),
        Ended::Lost(_) => None,
        other => panic!("{other:?}"),
    };
    (asked.take(), record)
}

/// Somebody who wanders, and keeps the model as they go.
struct Wanderer {
    model: Rc<RefCell<Model>>,
    moves: Rc<RefCell<std::vec::IntoIter<Move>>>,
}

impl Wanderer {
    fn undo(&self, asked: &[Question], places: std::ops::Range<usize>) {
        for question in &asked[places] {
            self.model.borrow_mut().forget(question);
        }
    }
}

fn is_of_rig(question: &Question) -> bool {
    matches!(question.wants, Wants::Reading { on: HoseOn::Rig(_), .. })
}

impl Desk for Wanderer {
    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        let (mut asked, _) = straight(&self.model);
        let next = asked.pop().expect("the walk is not at its end");
        assert!(next.is_same(question), "asked {question:?} where {next:?} is next");
        // When the moves run out, everything else is answered as a matter of course.
        let one = self.moves.borrow_mut().next().unwrap_or(Move::Answer(1));
        match one {
            Move::Answer(n) => {
                let answer = draw(question, n);
                self.model.borrow_mut().hold(question, &answer);
                Ok(answer)
            }
            Move::Back(steps) => {
                self.undo(&asked, asked.len().saturating_sub(steps)..asked.len());
                Err(Aside::Back(steps))
            }
            Move::Again(steps) => {
                if let Some(at) = asked.len().checked_sub(steps) {
                    let n_rig = asked[at..].iter().take_while(|question| is_of_rig(question)).count();
                    self.undo(&asked, at..at + n_rig.max(1));
                }
                Err(Aside::Again(steps))
            }
            Move::Park => Err(Aside::Park),
            Move::Jot => Err(Aside::Jot("a note".to_owned())),
        }
    }
}

/// Wanders through the procedure to the end, parked and resumed as the moves say.
fn wander(moves: Vec<Move>) -> (Record, Rc<RefCell<Model>>) {
    let front = Shopfront::of(program());
    let model = Rc::default();
    let moves = Rc::new(RefCell::new(moves.into_iter()));
    loop {
        let desk = Wanderer { model: Rc::clone(&model), moves: Rc::clone(&moves) };
        match front.walk_with(Box::new(desk)).unwrap() {
            Ended::Finished(record, _) => return (*record, model),
            Ended::Parked => {}
            other => panic!("{other:?}"),
        }
    }
}

fn check(moves: Vec<Move>) {
    let (record, model) = wander(moves);
    let (asked, wanted) = straight(&model);
    let wanted = wanted.unwrap_or_else(|| panic!("it ended before {:?}", asked.last()));
    assert_eq!(essence(&record), essence(&wanted));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_wandering_gives_the_record_of_the_straight_way(moves in moves()) {
        check(moves);
    }
}

#[test]
fn a_session_parked_at_the_last_look_at_the_rig_still_has_it_after_an_answer_was_left_behind() {
    // "Was it apart?" is answered yes, the bore given, then answered no: the bore is held, but nobody asks for it.
    let to_the_end = [1, 0, 0, 0, 3, 1, 1, 1, 1, 1, 1, 1, 1].map(Move::Answer);
    let mut moves = to_the_end[..9].to_vec();
    moves.push(Move::Again(1));
    for place in 0..40 {
        let mut moves = moves.clone();
        moves.push(Move::Again(3));
        moves.extend((0..place).map(|_| Move::Answer(1)));
        moves.push(Move::Park);
        check(moves);
    }
}

#[test]
fn the_model_itself_tells_ways_apart() {
    let (one, _) = wander(vec![Move::Answer(1); 8]);
    let (other, _) = wander(vec![Move::Answer(2); 8]);
    assert_ne!(essence(&one), essence(&other));
    assert_eq!(one.checks.len(), 1, "the rig is looked at before the end");
    let step = HoseOn::Rig(RigStep::Read(Condition::Plugged));
    let wants = Wants::Reading { on: step, deepest_pa: 1.0, unit: "inHg".to_owned() };
    assert!(is_of_rig(&question(crate::record::Asker::Runner, "", wants)));
}
