//! The traps of hosting a script language, each closed: what a script must not do is an error with its place, found
//! before the first question where that is possible.

use crate::leak::DEFAULT_CONFIDENCE;
use crate::procedure::*;
use crate::quantity::UNITS;
use crate::record::{Answer, BenchState, HoseOn, Question, RigParts, RigStep, Told, Wants};
use crate::rig::Condition;
use crate::tests::support::{Script, answer};

/// What is to come of a script.
enum Expected<'a> {
    /// It runs to its end and says this.
    Says(&'a str),
    /// It is refused before it runs, with this in the message, at the mark where there is one.
    Refused(&'a str),
    /// It is stopped while it runs, with this in the message, at the mark where there is one.
    Stopped(&'a str),
    /// It is either, with this in the message or the help.
    Faulty(&'a str),
}

use Expected::{Faulty, Refused, Says, Stopped};

/// Checks what comes of a script that goes on after the usual first line, which defines the circuit `c`.
#[track_caller]
fn check(text: &str, expected: Expected<'_>) {
    check_script(&Script::new(text), expected);
}

#[track_caller]
fn check_script(script: &Script, expected: Expected<'_>) {
    let says = |d: &Fault| format!("{}; {}", d.message, d.help.clone().unwrap_or_default());
    match (run(script), expected) {
        (Outcome::Said(found), Says(wanted)) => assert_eq!(found, wanted),
        (Outcome::Refused(found), Refused(wanted)) | (Outcome::Stopped(found), Stopped(wanted)) => {
            let fits = |d: &Fault| {
                let place = d.line.zip(d.column).map(|(line, column)| (d.file.clone(), line, column));
                says(d).contains(wanted) && (script.mark.is_none() || place == script.mark)
            };
            assert!(found.iter().any(fits), "no {wanted:?} at {:?} in {found:#?}", script.mark);
        }
        (Outcome::Refused(found) | Outcome::Stopped(found), Faulty(wanted)) => {
            assert!(found.iter().any(|d| says(d).contains(wanted)), "no {wanted:?} in {found:#?}");
        }
        (Outcome::Said(found), _) => panic!("it ran to its end and said {found:?}"),
        (Outcome::Refused(found), _) => panic!("it was refused: {found:#?}"),
        (Outcome::Stopped(found), _) => panic!("it was stopped: {found:#?}"),
    }
}

enum Outcome {
    Said(String),
    Refused(Vec<Fault>),
    Stopped(Vec<Fault>),
}

fn run(script: &Script) -> Outcome {
    let program = match script.compile() {
        Err(faults) => return Outcome::Refused(faults),
        Ok(program) => program,
    };
    let said = std::rc::Rc::default();
    let bench = BenchState::new(RigParts::USUAL, None, DEFAULT_CONFIDENCE);
    let mut walk = Walk::new(Box::new(Willing(std::rc::Rc::clone(&said))), bench, &UNITS[0]);
    walk.ask_for_runner("barometer", Wants::Barometer).unwrap();
    walk.begin_calibration();
    for condition in [Condition::Plugged, Condition::Through] {
        let on = HoseOn::Rig(RigStep::Read(condition));
        walk.ask_for_runner("point", Wants::Reading { on, deepest_pa: 101_325.0, unit: "inHg".to_owned() })
            .unwrap();
    }
    match program.run(walk) {
        Ok(_) => Outcome::Said(said.borrow().join(" ")),
        Err(Stop::Broken(fault)) => Outcome::Stopped(vec![*fault]),
        Err(stop) => panic!("{stop:?}"),
    }
}

/// Somebody who answers everything and remembers what was said.
struct Willing(std::rc::Rc<std::cell::RefCell<Vec<String>>>);

impl Desk for Willing {
    fn tell(&mut self, told: &Told) {
        if let Told::Said { text } = told {
            self.0.borrow_mut().push(text.clone());
        }
    }

    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        Ok(answer(question))
    }
}

/// One value of each kind, as an expression inside a test; things of one kind compare with each other.
const VALUES: &[(&str, &str)] = &[
    ("number", "5"),
    ("number", "5.5"),
    ("text", "\"a\""),
    ("yes or no", "true"),
    ("nothing", "()"),
    ("pressure", "20.inHg"),
    ("length", "3.mm"),
    ("reading", "r"),
    ("measurement", "m"),
    ("circuit", "c"),
    ("test", "t"),
    ("list", "[1]"),
    ("description", "#{ a: 1 }"),
    ("range", "(1..3)"),
];

const OPERATORS: [&str; 6] = ["==", "!=", "<", "<=", ">", ">="];

/// A script that compares in a function, where nothing can be known of the two before it runs.
fn compare(left: &str, operator: &str, right: &str) -> String {
    format!(
        "fn holds(a, b) {{ if a {operator} b {{ say(\"a\") }} else {{ say(\"b\") }} }} \
         let m = ask_number(\"m\", #{{ unit: \"mm\" }}); \
         test(c, |t| {{ let r = t.read(); holds({left}, {right}); if r.holds {{ say(m.to_string()); }} }});"
    )
}

#[test]
fn unlike_things_cannot_be_compared_in_either_order() {
    let mut turn = 0;
    for (index, (left_kind, left)) in VALUES.iter().enumerate() {
        for (right_kind, right) in &VALUES[index + 1..] {
            if left_kind == right_kind {
                continue;
            }
            // Every pair in both orders; the operators take turns.
            turn += 1;
            check(&compare(left, OPERATORS[turn % 6], right), Stopped("can't be compared with"));
            check(&compare(right, OPERATORS[(turn + 3) % 6], left), Stopped("can't be compared with"));
        }
    }
}

#[test]
fn every_operator_refuses_a_reading_or_a_quantity_against_a_number() {
    for operator in OPERATORS {
        for (left, right) in [("r", "20"), ("20.5", "r"), ("20.inHg", "20"), ("20.5", "r.standard")] {
            check(&compare(left, operator, right), Stopped("can't be compared with"));
        }
    }
}

#[test]
fn readings_measurements_and_circuits_are_not_compared_with_their_like_either() {
    for value in ["r", "m", "c", "t"] {
        for operator in OPERATORS {
            check(&compare(value, operator, value), Stopped("can't be compared with"));
        }
    }
    for operator in &OPERATORS[2..] {
        check(&compare("true", operator, "false"), Stopped("can't be compared with"));
        check(&compare("[1]", operator, "[1]"), Stopped("can't be compared with"));
    }
}

#[test]
fn like_things_compare_as_they_should() {
    for (left, operator, right, holds) in [
        ("2", "==", "2.0", true),
        ("2", "<", "2.5", true),
        ("2.5", "<=", "2", false),
        ("9007199254740993", "==", "9007199254740992", false),
        ("\"a\"", "<", "\"b\"", true),
        ("\"a\"", "==", "\"a\"", true),
        ("true", "!=", "false", true),
        ("()", "==", "()", true),
        ("20.inHg", ">", "50.kPa", true),
        ("25.4.mm", "==", "1.inch", true),
        ("r.standard", ">", "20.inHg", true),
        ("r.hole", "<", "0.035.inch", true),
        ("m.value", "==", "5.mm", true),
        ("[1, \"a\"]", "==", "[1, \"a\"]", true),
        ("#{ a: 1 }", "!=", "#{ a: 2 }", true),
    ] {
        check(&compare(left, operator, right), Says(if holds { "a 5 mm" } else { "b 5 mm" }));
    }
}

#[test]
fn unlike_things_inside_lists_chains_and_captured_variables_are_found_too() {
    for text in [
        "if 20 in [\"20\"] { }",
        "if 20 in [20.inHg] { }",
        "if [20.inHg] == [20] { }",
        "if #{ a: 20.inHg } != #{ a: 20 } { }",
        "if 10 < 15 < 20 { }",
        "let at = [20.inHg]; at.index_of(20);",
        "let limit = 20; test(c, |t| { t.read(); limit += 1; if limit > 20.inHg { } });",
        "if ask_yes(\"?\") > 5 { }",
        "if ask_text(\"?\") > 20 { }",
        "if #{ p: () }.p > 5 { }",
        "fn f(a) { for x in [1, 2] { if x == a { return; } } } f(\"1\");",
    ] {
        check(text, Faulty("can't be compared with"));
    }
    check("if 15.0 in 10..20 { }", Faulty(""));
}

#[test]
fn numbers_that_are_none_compare_with_nothing_and_make_no_quantity() {
    // Where such a number comes from is one trap, what it compares with another: either end may be the error.
    for text in [
        "let x = 1e308 * 10; if x > 20 { }",
        "let x = 1e308; x *= 10; if x > 20 { }",
        "let x = 10.0 ** 400; if x > 20 { }",
        "let x = 0.0; if 5.0 % x > 20 { }",
        "let x = parse_float(\"nan\"); if x < 20 { }",
        "let x = (1e308 * 10).inHg;",
        "let x = 20.inHg * (1e308 * 10);",
        "let x = 1.0 / 0;",
        "let x = 1 / 0;",
        "let x = 1; x /= 0;",
        "let x = 5 % 0;",
        "let x = sqrt(-1);",
        "let x = sqrt(-1.0);",
        "let x = 9223372036854775807 + 1;",
        "let d = circuit(#{ name: \"d\", holds: 2.inHg, leaks: 1.inHg, repairs: [#{ does: \"x\", hours: 1e308 * 10 }] }); \
         test(d);",
    ] {
        check(text, Faulty(""));
    }
}

#[test]
fn whole_numbers_divide_like_any_others_and_serve_wherever_numbers_do() {
    check("say(\"\" + 20 / 8);", Says("2.5"));
    check("say(\"\" + 20 / 4);", Says("5"));
    check("let x = 20; x /= 8; say(\"\" + x);", Says("2.5"));
    check("let x = [20]; x[0] /= 8; say(\"\" + x[0]);", Says("2.5"));
    check("say(\"\" + sqrt(16) + round(2) + round(2.6) + max(2, 3.5) + min(2, 3));", Says("4233.52"));
    check("say(\"\" + 20.inHg + 20.0.inHg);", Says("20 inHg20 inHg"));
    check(
        "let d = circuit(#{ name: \"d\", holds: 20.inHg, leaks: 15.inHg, land: #{ diameter: 12.mm, length: 7.mm, \
         eccentricity: 1 }, repairs: [#{ does: \"x\", parts: 48, hours: 1 }] }); test(d); say(d.name);",
        Says("d"),
    );
}

#[test]
fn a_bare_number_where_a_quantity_belongs_is_told_what_to_write() {
    let circuit = |limits: &str| format!("let d = circuit(#{{ name: \"d\", {limits} }}); test(d);");
    check(&circuit("holds: 20, leaks: 15.inHg"), Faulty("write 20.inHg"));
    check(&circuit("holds: 20.mm, leaks: 15.inHg"), Faulty("length"));
    check(&circuit("holds: 10.inHg, leaks: 15.inHg"), Faulty("swap the two"));
    check(&circuit("holds: 10.inHg"), Faulty("needs leaks"));
    // The same where it is not written out, and so found only when it is reached.
    let later = |limits: &str| format!("fn twenty() {{ 20 }} fn ten() {{ 10.inHg }} {}", circuit(limits));
    check(&later("holds: twenty(), leaks: 15.inHg"), Stopped("write 20.inHg"));
    check(&later("holds: ten(), leaks: 15.inHg"), Stopped("swap the two"));
    check("let x = 20.inHg + 5;", Faulty(""));
    check("let x = 20.inHg + 5.mm;", Faulty("can't be added"));
    check("let x = 20.celsius + 5.celsius;", Faulty("can't be added"));
}

#[test]
fn no_function_may_stand_in_for_a_word() {
    for name in ["test", "read", "say", "circuit", "procedure", "caution", "sqrt", "to_string"] {
        check(&format!("fn ▸{name}(x) {{ true }}"), Refused("can't be defined again"));
        check(&format!("if false {{ }}\nfn string.▸{name}() {{ true }}"), Refused("can't be defined again"));
    }
    let module = "import \"steps\" as steps; procedure(#{ title: \"T\", version: \"1.0.0\" });\n\
                  @@ steps.rhai\nfn ▸read(t) { }";
    check_script(&Script::whole(module), Refused("can't be defined again"));
    for reserved in ["type_of", "call", "is_shared", "print"] {
        check(&format!("fn ▸{reserved}(x) {{ true }}"), Refused(""));
    }
    // A variable of a word's name stands in for nothing: the word is still what is called.
    check("let read = 5; test(c, |t| { t.read(); }); say(\"tested\");", Says("tested"));
}

#[test]
fn what_goes_wrong_cannot_be_caught_and_text_cannot_be_run() {
    for text in [
        "▸try { test(c); } catch { }",
        "▸eval(\"say(1)\");",
        "let f = ▸Fn(\"say\");",
        "▸print(\"x\");",
        "▸debug(\"x\");",
        "▸switch 1 { 1 => say(\"one\"), _ => say(\"other\") }",
    ] {
        check(text, Refused(""));
    }
    let absent =
        ["sleep(1)", "timestamp()", "rand()", "open_file(\"x\")", "import_file(\"x\")", "env(\"HOME\")"];
    for absent in absent {
        check(&format!("if false {{ ▸{absent}; }}"), Refused("there is no word"));
    }
}

#[test]
fn unknown_words_keys_and_properties_are_found_in_branches_that_are_never_reached() {
    for text in [
        "if false { ▸tset(c); }",
        "if false { [1].map(|x| ▸nosuch(x)); }",
        "fn f() { [1].for_each(|x| { ▸nosuch() }); }",
        "if false { c.▸nosuch(); }",
        "if false { test(c, |t| { t.▸reed(); }); }",
        "if false { test(c, |t| { t.▸read(\"a\", \"b\"); }); }",
        "if false { ▸say(); }",
        "if false { test(c, |t| { if t.read().▸hold { } }); }",
        "if false { let r = c; r.▸nmae = 5; }",
        "if false { ▸nosuch }",
        "fn f() { ▸c } test(c);",
        "if false { circuit(#{ name: \"d\", ▸hold: 20.inHg, leaks: 15.inHg }); }",
        "if false { circuit(#{ name: \"d\", land: #{ ▸diamter: 5.mm } }); }",
        "if false { circuit(#{ name: \"d\", repairs: [#{ ▸doing: \"x\" }] }); }",
        "if false { ask_number(\"?\", #{ unit: \"mm\", ▸lo: 5.mm }); }",
        "if false { test(c, |t| { t.ask_number(\"?\", #{ ▸units: \"mm\" }); }); }",
        "if false { ▸steps::walk(); }",
    ] {
        check(text, Refused(""));
    }
    check("if false { circuit(#{ name: \"d\", hold: 20.inHg }); }", Faulty("did you mean \"holds\"?"));
    check("if false { ask_chioce(\"?\", [\"a\", \"b\"]); }", Faulty("did you mean ask_choice?"));
    check("fn add(n) { this + n } let x = 5; say(\"\" + x.add(2));", Says("7"));
    // Of a function return is no early end.
    check("fn f(r) { if r.holds { return 1; } 2 } test(c, |t| { say(\"\" + f(t.read())); });", Says("1"));
}

#[test]
fn a_byte_order_mark_and_foreign_line_ends_are_passed_over() {
    let text = "\u{FEFF}procedure(#{ title: \"T\", version: \"1.0.0\" });\r\nsay(\"heard\");\r\n";
    check_script(&Script::whole(text), Says("heard"));
}

#[test]
fn a_procedure_says_first_and_once_what_it_is() {
    let title = |title: &str| format!("procedure(#{{ title: {title}, version: \"1.0.0\" }});");
    let whole = |text: String, wanted| check_script(&Script::whole(&text), wanted);
    whole(format!("▸say(\"x\"); {}", title("\"T\"")), Refused("says first"));
    whole(format!("▸if true {{ {} }}", title("\"T\"")), Refused("says first"));
    whole(String::new(), Refused(""));
    check(&title("\"T\""), Faulty("stands once"));
    check(&format!("if true {{ {} }}", title("\"T\"")), Faulty("stands once"));
    whole("procedure(#{ title: \"T\", version: \"1.0\" });".to_owned(), Faulty("1.0.0"));
    whole(title("▸ask_text(\"?\")"), Refused("before the procedure begins"));
}

#[test]
fn quantities_of_one_kind_add_up_and_divide_to_a_number_and_temperatures_differ() {
    for (expression, said) in [
        ("93.celsius - 20.celsius", "73 K"),
        ("20.celsius + 5.kelvin", "25 °C"),
        ("5.kelvin + 68.fahrenheit", "77 °F"),
        ("20.celsius - 5.kelvin", "15 °C"),
        ("9.kelvin * 2 / 3", "6 K"),
        ("(212.fahrenheit - 32.fahrenheit) / 1.kelvin", "100"),
        ("10.inHg / 4.inHg", "2.5"),
        ("1.kilohm / 250.ohm", "4"),
        ("1.inch / 25.4.mm", "1"),
        ("7.lbf - 2.lbf", "5 lbf"),
        ("1.lbf_ft / 1.lbf_in", "12"),
        ("12.Nm * 2", "24 N·m"),
    ] {
        check(&format!("say(\"\" + ({expression}));"), Says(said));
    }
    check("let t = 20.celsius ▸+ 20.celsius;", Refused("add a difference"));
    check("let t = 20.celsius ▸/ 10.celsius;", Refused("take its difference"));
    check("let t = 5.ohm ▸/ 10.volt;", Refused("can't be divided by a voltage"));
    check("let none = 1.ohm - 1.ohm; say(\"\" + 1.ohm / none);", Stopped("finite"));
    check("if 20.celsius ▸> 5.kelvin { }", Refused("can't be compared with a temperature difference"));
}
