//! Scripts as nobody writes them: by the grammar of the language, with the values that break things, and any pieces in
//! any order.

use proptest::prelude::*;
use proptest::strategy::Union;
use proptest::test_runner::{Config, TestRunner};

const OPENING: &str = "procedure(#{ title: \"Invented\", unit: \"Invented\", version: \"1.0.0\" });\n";

/// The words and marks of the language, and those of others.
const WORDS: &str = r##"
    let const fn if else while loop for in return break continue import export as throw try catch switch
    private this global eval Fn call curry procedure circuit test t |t| || ( ) [ ] { } #{ ; , : :: . ..
    ..= = == => + - * / % ** ! ? ?? ?. && | & ^ << >> < > += /= ` ${ ' // /* */ 1 20.inHg 1e400 0x 0b1
    1_0 $ @ # “ ” ’ é `a${x}b` x y 20,5 elif and not true false () anon$1 ~ $$
    " \ "text" #"raw"# r#"
"##;
/// What a text of words can't hold.
const ODD: [&str; 9] = ["\n", " ", "\u{202e}", "\u{0}", "\u{feff}", "\t", "\r", "12 inHg", "fn x(a) { a }"];

/// Pieces of scripts in any order, most of which do not parse.
pub(crate) fn pieces() -> impl Strategy<Value = String> {
    let words = WORDS.split_whitespace().chain(ODD.iter().copied()).collect::<Vec<_>>();
    let piece = prop_oneof![6 => prop::sample::select(words).prop_map(str::to_owned), 1 => any::<String>()];
    (any::<bool>(), prop::collection::vec((piece, prop::sample::select(vec!["", " ", "\n"])), 0..40))
        .prop_map(|(is_opened, pieces)| {
            let text: String = pieces.into_iter().map(|(piece, gap)| piece + gap).collect();
            if is_opened { format!("{OPENING}{text}") } else { text }
        })
}

/// Procedures that parse, most of them, and do anything.
pub(crate) fn procedure() -> impl Strategy<Value = String> {
    (prop::collection::vec(statement(3), 0..6), prop::collection::vec(function(), 0..2)).prop_map(
        |(statements, functions)| {
            format!(
                "{OPENING}{}\nlet x = 1; let y = [1, 2]; let m = #{{ a: 1 }}; let s = \"text\";\n\
                 let c = circuit(#{{ name: \"c\", holds: 20.inHg, leaks: 15.inHg }});\n{}\n",
                functions.join("\n"),
                statements.join("\n")
            )
        },
    )
}

fn function() -> impl Strategy<Value = String> {
    (
        prop::sample::select(vec!["f", "g", "test", "read", "to_string"]),
        prop::collection::vec(statement(2), 0..3),
    )
        .prop_map(|(name, body)| format!("fn {name}(x) {{ {} }}", body.join(" ")))
}

/// One of the words of a text.
fn one_of(choices: &'static str) -> BoxedStrategy<String> {
    let choices: Vec<_> = choices.split_whitespace().collect();
    prop::sample::select(choices).prop_map(str::to_owned).boxed()
}

/// Values that are at the edge of what can be.
const EDGE: &str = r##"
    0 ~ 1 ~ -1 ~ 2 ~ 255 ~ 4096 ~ 9223372036854775807 ~ (-9223372036854775807 - 1) ~ 0.0 ~ -0.0 ~ 0.1 ~
    1e308 ~ 5e-324 ~ 1.7e308 ~ "" ~ "a" ~ "text \x1b[2J" ~ "\u202e" ~ "äöü½日本" ~ 'a' ~ true ~ false ~ () ~
    x ~ y ~ m ~ s ~ c ~ t ~ r ~ this ~ 20.inHg ~ 0.inHg ~ -5.inHg ~ 12.7.mm ~ 93.celsius ~ 1e300.psi ~
    [] ~ [1, [2, [3]]] ~ #{} ~ #{ a: 1, b: #{} } ~ 0..3 ~ 3..0 ~ -5..=5 ~ |v| v ~ |v| x + v ~ || 1 ~ f ~
    c.name
"##;

fn leaf() -> BoxedStrategy<String> {
    let edge: Vec<_> = EDGE.split('~').map(str::trim).collect();
    prop::sample::select(edge).prop_map(str::to_owned).boxed()
}

const OPERATORS: &str = "+ - * / % ** == != < <= > >= && || & | ^ << >> ?? in .. ..=";

const METHODS: &str = "
    abs all call ceiling clear contains ends_with filter find floor for_each get index_of insert
    is_empty keys len map max min parse_float parse_int pop push range reduce remove replace retain
    reverse round sign some sqrt starts_with sub_string to_float to_int to_lower to_string to_upper trim
    values read trial ready finding say section caution ask_yes ask_text test wait curry pad split inHg
    mm
";

fn expression(depth: u32) -> BoxedStrategy<String> {
    if depth == 0 {
        return leaf();
    }
    // One strategy of which all hold a copy: a new one each would be millions.
    let shared = expression(depth - 1);
    let inner = || shared.clone();
    prop_oneof![
        3 => leaf(),
        3 => (inner(), one_of(OPERATORS), inner()).prop_map(|(a, o, b)| format!("({a} {o} {b})")),
        1 => (one_of("- ! +"), inner()).prop_map(|(o, a)| format!("{o}({a})")),
        3 => (inner(), one_of(METHODS), prop::collection::vec(inner(), 0..3))
            .prop_map(|(a, m, args)| format!("({a}).{m}({})", args.join(", "))),
        1 => (one_of(METHODS), prop::collection::vec(inner(), 0..3))
            .prop_map(|(m, args)| format!("{m}({})", args.join(", "))),
        1 => (inner(), one_of("holds leaks verdict standard hole within value name a inHg mm"))
            .prop_map(|(a, p)| format!("({a}).{p}")),
        1 => (inner(), inner()).prop_map(|(a, i)| format!("({a})[{i}]")),
        1 => (inner(), inner(), inner()).prop_map(|(a, b, c)| format!("if {a} {{ {b} }} else {{ {c} }}")),
        1 => inner().prop_map(|a| format!("`text ${{{a}}} text`")),
        1 => prop::collection::vec(inner(), 0..4).prop_map(|items| format!("[{}]", items.join(", "))),
        1 => (inner(), inner()).prop_map(|(a, b)| format!("#{{ a: {a}, b: {b} }}")),
        1 => inner().prop_map(|a| format!("|v| {a}")),
        1 => inner().prop_map(|a| format!("ask_number(\"q\", #{{ unit: \"mm\", low: {a} }})")),
    ]
    .boxed()
}

const ENDS: &str =
    r#"return; ~ break; ~ continue; ~ throw "x"; ~ test(c); ~ import "x" as q; ~ exit(); ~ /* open"#;

fn statement(depth: u32) -> BoxedStrategy<String> {
    let shared = expression(2);
    let value = || shared.clone();
    let mut choices: Vec<BoxedStrategy<String>> = vec![
        value().prop_map(|a| format!("{a};")).boxed(),
        (one_of("x y m s y[0] m.a m.b y[5] s[0]"), one_of("= += -= *= /= %= **="), value())
            .prop_map(|(n, o, a)| format!("{n} {o} {a};"))
            .boxed(),
        (one_of("z w read x"), value()).prop_map(|(n, a)| format!("let {n} = {a};")).boxed(),
        (one_of("say caution ready finding section"), value()).prop_map(|(w, a)| format!("{w}({a});")).boxed(),
        value().prop_map(|a| format!("ask_choice(\"q\", {a});")).boxed(),
        value().prop_map(|a| format!("test(circuit(#{{ name: {a}, holds: 20.inHg, leaks: 15.inHg }}));")).boxed(),
        value().prop_map(|a| format!("test(circuit(#{{ name: \"d\", holds: {a}, leaks: 15.inHg, land: #{{ diameter: {a}, length: {a} }} }}));")).boxed(),
        prop::sample::select(ENDS.split('~').map(str::trim).collect::<Vec<_>>()).prop_map(str::to_owned).boxed(),
    ];
    if depth > 0 {
        let shared = statement(depth - 1);
        let block = || prop::collection::vec(shared.clone(), 0..3).prop_map(|body| body.join(" "));
        choices.extend([
            (value(), block(), block())
                .prop_map(|(a, b, c)| format!("if {a} {{ {b} }} else {{ {c} }}"))
                .boxed(),
            (value(), block()).prop_map(|(a, b)| format!("while {a} {{ {b} }}")).boxed(),
            (value(), block()).prop_map(|(a, b)| format!("for i in {a} {{ {b} }}")).boxed(),
            block().prop_map(|b| format!("for i in 0..300 {{ {b} }}")).boxed(),
            block().prop_map(|b| format!("loop {{ {b} break; }}")).boxed(),
            block().prop_map(|b| format!("test(c, |t| {{ let r = t.read(\"l\"); {b} }});")).boxed(),
            block().prop_map(|b| format!("y.map(|v| {{ {b} v }});")).boxed(),
        ]);
    }
    Union::new(choices).boxed()
}

/// Checks so many inputs, or as many as `SPOOLPROOF_FUZZ` says, on as much stack as the program itself has.
pub(crate) fn fuzz<S: Strategy>(
    usual: u32,
    strategy: impl FnOnce() -> S + Send + 'static,
    check: impl Fn(S::Value) -> Result<(), TestCaseError> + Send + 'static,
) {
    let asked = std::env::var("SPOOLPROOF_FUZZ").ok().and_then(|n| n.parse().ok());
    let config = Config { cases: asked.unwrap_or(usual), failure_persistence: None, ..Config::default() };
    let run = move || TestRunner::new(config).run(&strategy(), check).unwrap();
    std::thread::Builder::new().stack_size(16 << 20).spawn(run).unwrap().join().unwrap();
}
