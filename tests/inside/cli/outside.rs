//! The program from outside: exit statuses, what goes to standard output and what to standard error, where things are
//! kept. Nothing here depends on the machine's home or environment.

use crate::record::validate;
use crate::tests::support::{
    FEED, FEED_LINES, Home, Ran, flat, home, keyed, lines, records_in, run, sample, walked,
};
use serde_json::{Value, json};

/// The name of a session that was left: it stands last.
fn last_word(ran: &Ran) -> String {
    ran.out.trim_end().rsplit(' ').next().unwrap().to_owned()
}

#[test]
fn a_finished_session_exits_0_with_the_whole_transcript_and_a_record() {
    let home = home();
    let ran = home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    assert_eq!(ran.err, "");
    for wanted in [
        "Merle M2, feed, version 1.0.0",
        "ask Who is testing? name: Ada",
        "CARE Suction holds skin. type ok: ok",
        "read Reading inHg: 22 holds. do Done?",
        "do Done? Enter when done: read Before the end",
        "holds feed: standard 22 inHg kept Record:",
    ] {
        assert!(flat(&ran.out).contains(wanted), "no {wanted:?} in {}", ran.out);
    }
    let stored = &home.records()[0];
    assert!(ran.out.contains(stored.file_name().unwrap().to_str().unwrap()));
    let value: Value = serde_json::from_slice(&std::fs::read(stored).unwrap()).unwrap();
    assert_eq!(validate(&value), Ok(()));
    let record = home.record();
    // SHA-256 of the procedure's bytes is in the record, so that anybody can tell which one ran.
    assert_eq!(record.procedure.files[0].name, "merle.rhai");
    assert_eq!(record.program, env!("CARGO_PKG_VERSION"));
    assert!(home.names(&home.shop().join("open")).is_empty());
}

#[test]
fn input_that_ends_pauses_with_3_and_the_transcript_up_to_there() {
    for n in 0..FEED_LINES.len() {
        let home = home();
        let ran = home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES[..n])).exits(3);
        let ran =
            ran.complains("there are no more answers").complains("go on with: spoolproof guide --resume");
        let prompts = keyed(
            "name: | barometer: | temperature: | type ok: | inHg: | inHg: | inHg: | Enter when done: | inHg: | inHg:",
        );
        assert!(ran.out.trim_end().ends_with(prompts[n]), "after {n} lines: {}", ran.out);
        for (prompt, line) in prompts.iter().zip(&FEED_LINES[..n]) {
            assert!(ran.out.contains(&format!("{prompt} {line}\n")), "no {prompt} {line} in {}", ran.out);
        }
        home.run(&["guide", "--resume"], &lines(&FEED_LINES[n..])).exits(0).says("holds feed");
    }
}

#[test]
fn a_session_says_what_the_hose_does_where_its_procedure_does_not() {
    let told =
        "This procedure may warn of the hose too late or not at all. The open hose end holds on to skin";
    sample().run(&["guide", "merle-m2.rhai"], "").exits(3).says(told);
    let (head, caution) =
        ("procedure(#{ title: \"Case\", version: \"1.0.0\" });", "caution(\"Keep off the hose.\");");
    let feed = "test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));";
    for (script, is_told) in [
        (format!("{head} {caution} {feed}"), false),
        (format!("{head} {caution} calibrate(); {feed}"), false),
        (format!("{head} calibrate(); {caution} {feed}"), true),
        (format!("{head} {feed} {caution}"), true),
        (format!("{head} if ask_yes(\"Is it old?\") {{ {caution} }} {feed}"), true),
        (format!("{head} {caution}"), false),
        (format!("{head} ask_yes(\"Is it old?\");"), false),
    ] {
        let ran = Home::with("case.rhai", &script).run(&["guide", "case.rhai"], "").exits(3);
        assert_eq!(flat(&ran.out).contains(&flat(told)), is_told, "{script}\n{}", ran.out);
    }
    for warned in ["merle.rhai", "osier-o7-rear", "rig-commissioning", "test-orifice"] {
        let ran = home().run(&["guide", warned], "").exits(3);
        assert!(!ran.out.contains("warn of the hose"), "{}", ran.out);
    }
}

#[test]
fn a_parked_session_exits_3_and_is_resumed_by_name_or_as_the_latest() {
    let home = home();
    let ran = home.run(&["guide", "merle.rhai"], "Ada\npark\n").exits(3).says("Parked. Nothing is lost");
    let name = last_word(&ran);
    home.run(&["guide", "merle.rhai"], "Bo\npark\n").exits(3);
    let ran = home.run(&["records", "list", "--json"], "").exits(0);
    assert_eq!(ran.json()["open"].as_array().unwrap().len(), 2);
    home.run(&["guide", "--resume", &name], &lines(&FEED_LINES[1..]))
        .exits(0)
        .says(&format!("Going on where {name} was left"));
    home.run(&["guide", "--resume"], "park\n").exits(3);
    home.run(&["guide", "--resume", &name], "").exits(2).complains("there is no open session");
    home.run(&["records", "list"], "")
        .exits(0)
        .says("Merle M2; 1 holds; by Ada")
        .says("open, Merle M2, 1 answer;");
}

#[test]
fn a_shop_that_is_not_there_is_begun_with_a_word_and_never_by_looking() {
    let home = home();
    for command in [&["records", "list"][..], &["history", "failing"], &["records", "audit"]] {
        let arguments = [&["--shop", "slipped"][..], command].concat();
        home.run(&arguments, "").exits(2).complains("there is no shop in slipped");
    }
    home.run(&["--shop", "other", "guide", "merle.rhai"], "Ada\npark\n")
        .exits(3)
        .complains("A new shop is begun in other");
}

#[test]
fn a_rig_that_nobody_described_is_assumed_aloud() {
    let home = home();
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0).says("Nobody has described this rig");
    let report = home.run(&["report"], "").exits(0).says("assumed, as nobody had described the rig");
    // The customer reads it too.
    report.says("Nobody had described the rig");
}

#[test]
fn a_rig_that_was_described_meanwhile_is_assumed_no_more() {
    let home = home();
    home.run(&["guide", "merle.rhai"], "Ada\npark\n").exits(3).says("Nobody has described this rig");
    home.done(&["rig", "set", "--orifice", "0.0348in"]);
    let ran = home.run(&["guide", "--resume"], &lines(&FEED_LINES[1..])).exits(0);
    let ran = ran.says("The rig's parts have changed");
    assert!(!ran.out.contains("Nobody has described"), "{}", ran.out);
}

#[test]
fn usage_names_no_flag_that_is_not_wanted() {
    let home = home();
    let usage = |shop: &[&str]| home.refused(2, &[shop, &["amend", "x"]].concat());
    assert_eq!(usage(&["--shop", "other"]), usage(&[]));
}

#[test]
fn a_session_that_is_discarded_leaves_the_list_and_can_be_put_back() {
    let home = home();
    let ran = home.run(&["guide", "merle.rhai"], "Ada\npark\n").exits(3);
    let name = last_word(&ran);
    home.run(&["records", "discard", "other"], "").exits(2).complains(&format!("open are: {name}"));
    home.run(&["records", "discard", &name], "").exits(0).says("Discarded");
    home.run(&["records", "list"], "").exits(0).says("No records yet");
    home.run(&["guide", "--resume"], "").exits(2).complains("there is no open session");
    std::fs::rename(home.shop().join("discarded").join(&name), home.shop().join("open").join(&name)).unwrap();
    home.run(&["guide", "--resume"], &lines(&FEED_LINES[1..])).exits(0).says("holds feed");
}

#[test]
fn without_a_procedure_guide_names_those_that_there_are() {
    Home::new().run(&["guide"], "").exits(2).complains("osier-o7-rear").complains("--resume");
}

#[test]
fn there_is_nothing_to_resume_in_an_empty_shop() {
    Home::new().run(&["guide", "--resume"], "").exits(2).complains("there is no open session");
}

#[test]
fn answers_come_from_a_file_first_and_then_from_standard_input() {
    let home = home();
    home.write("some.answers", format!("# For bench two.\n{}", lines(&FEED_LINES[..5])));
    let arguments = ["guide", "merle.rhai", "--answers", "some.answers"];
    home.run(&arguments, "").exits(3).complains("there are no more answers");
    home.write("all.answers", lines(&FEED_LINES));
    home.run(&["guide", "merle.rhai", "--answers", "all.answers"], "").exits(0).says("holds feed");
    let home = crate::tests::support::home();
    home.run(&["guide", "merle.rhai", "--answers", "gone"], "").exits(2).complains("gone");
    assert_eq!(home.run(&["records", "list", "--json"], "").exits(0).json()["open"], json!([]));
}

#[test]
fn wrong_usage_exits_2_and_says_so_on_standard_error_only() {
    for arguments in [
        &["guide"][..],
        &["guyde", "x"],
        &["guide", "osier-o7-rear", "--resume"],
        &["guide", "osier-o7-rear", "--frob"],
        &["records"],
        &["records", "show", "nothing"],
        &["records", "show"],
        &["rehearse", "--seed", "many"],
        &["rehearse", "--leak", "feed"],
        &["leak", "18.5 mm"],
        &["completions", "dos"],
        &["amend", "x", "--reason", "", "--by", "Bo"],
    ] {
        let ran = Home::new().run(arguments, "").exits(2);
        assert_eq!(ran.out, "", "{arguments:?}");
        assert!(!ran.err.is_empty(), "{arguments:?}");
    }
}

#[test]
fn an_unknown_procedure_is_told_the_nearest_name() {
    let ran = Home::new().run(&["guide", "osier-o7-raer"], "").exits(2);
    let ran = ran.complains("there is no procedure \"osier-o7-raer\". Did you mean osier-o7-rear?");
    assert_eq!(ran.out, "");
    Home::new().run(&["rehearse", "something-else"], "").exits(2).complains("Known are osier-o7-rear");
}

#[test]
fn a_file_that_cannot_be_read_exits_2_and_a_procedure_with_errors_exits_1() {
    let home = home();
    for (name, wanted) in [("gone.rhai", "gone.rhai"), (".", "")] {
        home.run(&["guide", name], "").exits(2).complains(wanted);
    }
    home.write("latin.rhai", b"// Gr\xf6\xdfe\n");
    home.run(&["guide", "latin.rhai"], "").exits(2).complains("line 1 is not UTF-8 text");
    home.write("typo.rhai", FEED.replace("test(feed)", "tets(feed)"));
    let ran = home
        .run(&["guide", "typo.rhai"], &lines(&FEED_LINES))
        .exits(1)
        .complains("there is no word \"tets\"");
    assert!(ran.err.contains("typo.rhai:5:1") && ran.err.contains("^^^^"), "{}", ran.err);
    home.write("far.rhai", format!("import \"../steps\" as steps;{FEED}"));
    let ran = home.run(&["guide", "far.rhai"], "").exits(1).complains("own folder");
    assert!(ran.err.contains("far.rhai:1:1") && ran.err.contains("import \"../steps\""), "{}", ran.err);
    assert!(home.names(&home.shop().join("open")).is_empty(), "nothing begins");
}

#[test]
fn a_procedure_that_breaks_at_the_bench_exits_1_and_loses_nothing() {
    let home = home();
    home.write("broken.rhai", FEED.replace("ready(\"Done?\");", "fn f(x) { x > \"a\" }\nif f(5) { }"));
    let ran = home.run(&["guide", "broken.rhai"], &lines(&FEED_LINES)).exits(1);
    let ran = ran.complains("The procedure has a fault. Every answer is kept");
    assert!(ran.err.contains("broken.rhai:6:13"), "{}", ran.err);
    home.write("broken.rhai", FEED);
    home.run(&["guide", "--resume"], &lines(&FEED_LINES[6..])).exits(0).says("holds feed");
}

#[test]
fn a_record_that_cannot_be_read_exits_1_and_hides_no_other() {
    let home = walked();
    std::fs::write(home.shop().join("records/20200101-000000-old.json"), "{}").unwrap();
    let ran = home.run(&["records", "list"], "").exits(1).complains("20200101-000000-old").says("1 holds");
    assert_eq!(ran.out.lines().count(), 1);
    let ran = home.run(&["records", "list", "--json"], "").exits(1);
    assert_eq!(ran.json()["records"].as_array().unwrap().len(), 1);
    let ran = home.run(&["records", "show", "20200101-000000-old"], "").exits(1);
    assert_eq!(ran.out, "");
}

#[test]
fn with_json_there_is_one_document_on_standard_output_and_nothing_else() {
    let home = walked();
    let calibrate = ["calibrate", "--plugged", "24inHg", "--through", "6inHg", "--json"];
    for arguments in [
        &["records", "list", "--json"][..],
        &["records", "show", "--json"],
        &["records", "audit", "--json"],
        &["proofread", "merle.rhai", "--json"],
        &["leak", "18.5inHg", "--json"],
        &calibrate,
    ] {
        let ran = home.run(arguments, "").exits(0);
        assert!(ran.json().is_object() || ran.json().is_array(), "{arguments:?}");
        assert_eq!(ran.err, "", "{arguments:?}");
    }
    let listed = home.run(&["records", "list", "--json"], "").exits(0).json();
    let shown = home.run(&["records", "show", "--json"], "").exits(0).json();
    assert_eq!(listed["records"][0]["session"], shown["session"]);
    assert_eq!(listed["records"][0]["technician"], "Ada");
    assert_eq!(shown["format"], "spoolproof/record/2");
    let stored = home.shop().join("records").join(format!("{}.json", shown["session"].as_str().unwrap()));
    let ran = home.run(&["records", "show", "--json"], "").exits(0);
    assert_eq!(ran.out, std::fs::read_to_string(stored).unwrap(), "to the byte, so that its digest holds");
}

#[test]
fn the_shop_is_the_flags_else_the_environments_else_the_users() {
    let home = home();
    let park = |command: &mut std::process::Command| run(command, "Ada\npark\n").exits(3);
    park(&mut home.command(&["guide", "merle.rhai"])).says("go on with: spoolproof guide --resume");
    assert_eq!(home.names(&home.shop().join("open")).len(), 1);

    let named = home.path("named");
    park(home.command(&["guide", "merle.rhai"]).env("SPOOLPROOF_SHOP", &named))
        .says("go on with: spoolproof guide --resume");
    assert_eq!(home.names(&named.join("open")).len(), 1);

    let flagged = home.path("flagged shop");
    let flag = ["--shop", "flagged shop", "guide", "merle.rhai"];
    let ran = park(home.command(&flag).env("SPOOLPROOF_SHOP", &named));
    assert_eq!(home.names(&flagged.join("open")).len(), 1);
    // The command that it names must find the session again.
    let ran = ran.says("go on with: spoolproof --shop 'flagged shop' guide --resume");
    let name = last_word(&ran);
    let again = ["--shop", "flagged shop", "guide", "--resume", &name];
    home.run(&again, &lines(&FEED_LINES[1..])).exits(0).says("holds feed");

    let homeless = ["guide", "merle.rhai"];
    let mut command = home.command(&homeless);
    command.env_remove("HOME").env_remove("XDG_DATA_HOME").env("SPOOLPROOF_SHOP", home.path("other"));
    park(&mut command).says("Parked");
    let nameless = run(home.command(&["records", "list"]).env("SPOOLPROOF_SHOP", ""), "").exits(2);
    nameless.complains("the name is empty: give --shop or SPOOLPROOF_SHOP a folder, or take it out");
}

#[test]
fn prices_that_no_record_can_hold_are_refused_before_the_first_question() {
    let home = home();
    std::fs::create_dir_all(home.shop()).unwrap();
    let prices = |text: &str| std::fs::write(home.shop().join("prices.json"), text).unwrap();
    for text in [
        "{",
        "{\"labour\": 5}",
        "{\"currency\": null, \"labour_per_hour\": -5, \"replacement\": null}",
        "{\"currency\": \"\", \"labour_per_hour\": 5, \"replacement\": null}",
        "{\"currency\": null, \"labour_per_hour\": 5, \"replacement\": -1}",
        "{\"currency\": null, \"labour_per_hour\": 1e300, \"replacement\": 1}",
        "{\"currency\": null, \"labour_per_hour\": 5, \"replacement\": 1, \"repairs\": [{\"does\": \"x\", \"parts\": -1, \"hours\": 1}]}",
    ] {
        prices(text);
        let ran = home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(2).complains("prices.json");
        assert_eq!(ran.out, "");
    }
    prices("{\"currency\": \"crowns\", \"labour_per_hour\": 60, \"replacement\": null}");
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0).says("holds feed");
}

#[test]
fn a_rehearsal_needs_no_rig_and_enters_no_records() {
    let home = home();
    let ran = home.run(&["rehearse", "merle.rhai", "--leak", "feed=0.03in"], "").exits(0);
    let ran = ran.says("nothing is measured").says("leaks feed");
    let again = home.run(&["rehearse", "merle.rhai", "--leak", "feed=0.03in"], "").exits(0);
    let steps = |ran: &Ran| {
        ran.out.lines().filter(|line| !line.contains("Record:")).map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(steps(&ran)[..10], steps(&again)[..10], "the same number gives the same rehearsal");
    assert_eq!(home.run(&["records", "list", "--json"], "").exits(0).json()["records"], json!([]));
    let records = records_in(&home.shop().join("rehearsals/records"));
    assert_eq!(records.len(), 2);
    for record in records {
        let value: Value = serde_json::from_slice(&std::fs::read(record).unwrap()).unwrap();
        assert_eq!((validate(&value), &value["mode"]), (Ok(()), &json!("rehearsal")));
    }
}

#[test]
fn an_attempt_that_is_parked_is_found_again_by_the_command_that_it_names_and_at_its_bench_only() {
    let home = home();
    let ran = home.run(&["practice", "merle.rhai", "--seed", "1"], "Ada\nroom\npark\n").exits(3);
    let ran = ran.says("The barometer on the wall shows 29.92 inHg").says("practice --resume");
    let command =
        ran.out.split("go on with:\nspoolproof ").nth(1).unwrap().split_whitespace().collect::<Vec<_>>();
    home.run(&command, "29.92\npark\n").exits(3).says("What is the temperature at the bench?");
    let attempts = home.shop().join("practice");
    let listed = home.run(&["records", "list", "--shop", attempts.to_str().unwrap()], "").exits(0);
    let listed = listed.says(&command[..3].join(" "));
    assert!(!listed.out.contains("guide"), "{}", listed.out);
    home.run(&["guide", "--resume", "--shop", attempts.to_str().unwrap()], "")
        .exits(2)
        .complains("practice --resume");
}

#[test]
fn an_exercise_is_written_out_for_an_instructor_to_change_and_worked_at_from_that() {
    let home = home();
    home.run(&["practice", "prepare", "set-the-rig", "--to-edit", "-o", "ours.json"], "").exits(0);
    let text = std::fs::read_to_string(home.path("ours.json")).unwrap();
    assert!(text.contains("\"found\""), "the weights stand in it, to be changed: {text}");
    home.run(&["practice", "ours.json"], "Ada\npark\n").exits(3).says("To set both points of a rig");
    let broken = text.replace("reverse boost", "reverse bust");
    std::fs::write(home.path("ours.json"), broken).unwrap();
    home.run(&["practice", "ours.json"], "").exits(2).complains("has no circuit");
}

#[test]
fn what_is_typed_cannot_move_the_cursor_or_recolour_the_screen() {
    let home = home();
    let ran = home
        .run(&["guide", "merle.rhai"], "\u{1b}[31mAda\u{202e}\u{9b}2J\njot \u{7}\u{1b}]0;x\npark\n")
        .exits(3);
    let hidden = |c: char| c.is_control() && c != '\n' || c == '\u{202e}';
    assert!(!ran.out.contains(hidden), "{:?}", ran.out);
    let ran = home.run(&["guide", "no\u{1b}[2Jne"], "").exits(2);
    assert!(!ran.err.contains(hidden), "{:?}", ran.err);
}

#[test]
fn help_and_version_exit_0_and_say_what_a_mechanic_needs() {
    let home = Home::new();
    let ran = home.run(&["--version"], "").exits(0);
    assert_eq!(ran.out, format!("spoolproof {}\n", env!("CARGO_PKG_VERSION")));
    let ran = home.run(&["--help"], "").exits(0).says("licensed technician").says("SPOOLPROOF_SHOP");
    assert_eq!(ran.err, "");
    for command in ["guide", "rehearse", "records", "leak", "calibrate", "completions"] {
        assert!(ran.out.contains(&format!("\n  {command} ")), "{command} is not in the help");
        let ran = home.run(&[command, "--help"], "").exits(0);
        assert!(ran.out.contains("Usage: spoolproof"), "{}", ran.out);
        assert!(ran.out.lines().all(|line| line.chars().count() <= 100), "{}", ran.out);
    }
    assert!(home.names(&home.path("data")).is_empty(), "help makes no folders");
}

#[test]
fn completions_know_the_commands_for_every_shell() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let ran = Home::new().run(&["completions", shell], "").exits(0);
        for word in ["guide", "rehearse", "records", "resume", "answers"] {
            assert!(ran.out.contains(word), "{shell} does not know {word}");
        }
        assert_eq!(ran.err, "");
    }
}

#[test]
fn the_manual_has_a_page_for_each_command() {
    let home = Home::new();
    home.done(&["manual", "share/man1"]);
    for command in ["spoolproof", "spoolproof-guide", "spoolproof-records-audit"] {
        let page = home.read(&format!("share/man1/{command}.1"));
        assert!(page.contains(&format!(".TH {command} 1")) && page.contains("DESCRIPTION"), "{page}");
    }
    home.write("taken", "");
    home.refuses(2, &["manual", "taken"], "taken: ");
}

#[test]
fn the_program_s_name_alone_says_what_to_do_first() {
    let said = Home::new().run::<&str>(&[], "").exits(0).out;
    assert!(said.starts_with("First steps:\n") && said.contains("\n  spoolproof rig set "), "{said}");
    assert!(said.lines().all(|line| line.chars().count() <= 80), "{said}");
}
