//! Records at the command line: named by session and job, amended, altered, tested again.

use crate::tests::support::{FEED, FEED_LINES, Home, home, lines, walked};

/// What is typed at a feed that leaks.
fn leaking() -> String {
    lines(&FEED_LINES).replacen("22", "9\n9", 1) + "1\n"
}

#[test]
fn a_job_that_was_named_stands_on_every_screen_and_in_the_test_after_the_repair() {
    let home = home();
    let arguments = ["guide", "merle.rhai", "--job", " order 4711 "];
    home.run(&arguments, &leaking()).exits(0).says("Job: order 4711.");
    home.run(&["records", "list"], "").exits(0).says("Merle M2; 1 leaks; job order 4711; by Ada");
    home.run(&["report"], "").exits(0).says("Job: order 4711");
    let name = home.latest();
    home.run(&["guide", "--retest", name.as_str()], "park\n").exits(3).says("Job: order 4711.");
    for wrong in ["", "  ", "two\nlines", &"x".repeat(61)] {
        home.run(&["guide", "merle.rhai", "--job", wrong], "").exits(2).complains("1 to 60 characters");
    }
}

#[test]
fn an_amended_record_and_the_one_that_stands_in_for_it_name_each_other() {
    let home = walked();
    let name = home.latest();
    let name = name.as_str();
    let arguments = ["amend", name, "--reason", "misread", "--by", "Bo"];
    home.run(&arguments, "?\n1\npark\n")
        .exits(3)
        .says("numbers of the answers")
        .complains("nothing was amended");
    home.run(&arguments, "1\nno\n1\nyes\nAda\n").exits(0).says("asked again; it was Ada");
    home.run(&["records", "list"], "").exits(0).says(&format!("amends {name}")).says("amended by 20");
    home.run(&["records", "show", name], "").exits(0).says("was amended by 20");
    home.run(&["report", name], "").exits(0).says("was amended by 20");
    home.run(&arguments, "1\nyes\nAda\n").exits(2).complains("which counts in its place; amend that one");
    let table = home.run(&["records", "export"], "").exits(0).out.clone();
    assert!(table.starts_with("\u{feff}session,"), "{table}");
    assert!(table.lines().next().unwrap().contains("tests_again,amends,amended_by"));
}

#[test]
fn a_test_after_a_repair_stands_beside_what_was_amended() {
    let home = home();
    home.run(&["guide", "merle.rhai", "--job", "4711"], &leaking()).exits(0);
    let name = home.latest();
    let name = name.as_str();
    let arguments = ["amend", name, "--reason", "misread", "--by", "Bo"];
    // The first reading of the feed was 8 and not 9.
    let ran = home.run(&arguments, "7 8\nyes\n8\n8\n").exits(0);
    assert!(ran.out.contains("it was 9 inHg"), "{}", ran.out);
    let again = home.run(&["guide", "--retest", name], &lines(&[&[""], &FEED_LINES[3..]].concat())).exits(0);
    let again = again.says(&format!("{name} was amended by")).says("(before: leaks, 8 inHg)");
    assert!(again.out.contains("1 feed: before: leaks"), "{}", again.out);
    home.run(&["report"], "").exits(0).says("Before: leaks, standard reading 8");
    home.run(&["history", "repairs"], "").exits(0).says("feed");
}

#[test]
fn a_record_that_was_changed_is_shown_and_reported_with_a_warning() {
    let home = walked();
    let name = home.latest();
    let file = home.shop().join("records").join(format!("{}.json", name.as_str()));
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replacen("\"holds\":1", "\"holds\":0", 1)).unwrap();
    for command in [&["records", "show"][..], &["report"]] {
        home.run(command, "").exits(1).says("is not as it was stored");
    }
    home.run(&["records", "list"], "").exits(0).says("NOT AS STORED");
    home.run(&["records", "export"], "").exits(1).complains("is not as it was stored");
    home.run(&["history", "rebuild"], "").exits(0).complains("is left out: it is not as it was stored");
    home.run(&["guide", "--retest", name.as_str()], "").exits(1).complains("nothing is built on it");
}

#[test]
fn a_first_test_that_is_amended_later_is_not_the_latest_of_its_job() {
    let home = home();
    home.run(&["guide", "merle.rhai", "--job", "4711"], &leaking()).exits(0);
    let first = home.latest();
    let first = first.as_str();
    std::thread::sleep(std::time::Duration::from_millis(1100));
    home.run(&["guide", "--retest", "4711"], &lines(&[&[""], &FEED_LINES[3..]].concat())).exits(0);
    home.run(&["amend", first, "--reason", "misread", "--by", "Bo"], "7 8\nyes\n8\n8\n").exits(0);
    home.run(&["report", "4711"], "").exits(0).says("1 of 1 circuit holds");
    home.run(&["report", first], "").exits(0).says("It was tested again since");
    home.run(&["guide", "--retest", "4711"], "").exits(2).complains("there is nothing to test again");
}

#[test]
fn an_amendment_after_which_nothing_is_to_be_decided_says_what_is_dropped() {
    let home = home();
    let named = FEED.replace("leaks: 15.inHg }", "leaks: 15.inHg, repairs: [#{ does: \"new seals\" }] }");
    home.write("merle.rhai", &named);
    // Of a repair without figures nothing is claimed.
    let told = "what is not known of these is not in it: new seals";
    let ran = home.run(&["guide", "merle.rhai"], &leaking()).exits(0).says(told);
    assert!(!ran.out.contains("together") && !ran.out.contains("than a replacement"), "{}", ran.out);
    let first = home.latest();
    let arguments = ["amend", first.as_str(), "--reason", "misread", "--by", "Bo"];
    home.run(&arguments, "7 8\nyes\n22\n").exits(0).says("It was: new seals.");
}

/// The unit is gone by the time that a slip of the pen is found: 22 was 12.
#[test]
fn an_amended_reading_counts_where_the_unit_is_gone_and_what_was_found_is_told() {
    let home = home();
    let steps = "test(feed, |t| { if t.read().holds { t.finding(\"The feed is sound.\"); } });";
    home.write("merle.rhai", FEED.replace("test(feed);", steps));
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0).says("holds feed");
    let first = home.latest();
    let amend = ["amend", first.as_str(), "--reason", "misread", "--by", "Bo"];
    let parked = home.run(&amend, "7\nyes\n12\npark\n").exits(3);
    parked.says("type: cannot unit is gone");
    home.run(&["records", "list"], "")
        .exits(0)
        .says(&format!("open, Merle M2, amends {first}, 10 answers, last at feed; go on with:"));
    let ran = home.run(&amend, "7\nyes\n12\ncannot unit is gone\n").exits(0);
    ran.says("retest feed: standard 12 inHg (not tested to its end: unit is gone)")
        .says("feed was \"holds\" and is \"retest\" in the new record.")
        .says("Not found any more: feed: The feed is sound.");
    home.run(&["records", "audit"], "").exits(0);
}

/// A feed that leaks, and a trial behind it that cannot be done.
#[test]
fn a_leak_that_was_found_stands_where_the_rest_of_its_test_cannot_be_done() {
    let home = home();
    let steps =
        "test(feed, |t| { let r = t.read(); if r.leaks { t.ready(\"Block it.\"); t.trial(\"blocked\"); } });";
    home.write("merle.rhai", FEED.replace("test(feed);", steps));
    let found = [
        "Ada",
        "29.92 inHg",
        "20 C",
        "ok",
        "25",
        "5",
        "12",
        "",
        "12",
        "",
        "cannot no block",
        "",
        "25",
        "5",
        "1",
    ];
    let ran = home.run(&["guide", "merle.rhai"], &lines(&found)).exits(0);
    let ran = ran.says("leaks feed: standard 12 inHg (not tested to its end: no block)");
    assert!(ran.out.contains("what is to be done?"), "{}", ran.out);
    home.run(&["records", "audit"], "").exits(0);
    home.run(&["report"], "").exits(0).says("feed: LEAKS").says("Not tested to its end: no block.");
    // A reading that was not yet seated and read again condemns nothing and clears nothing, and
    // nothing is held for sound.
    for (reading, rest, said) in [
        ("12", "cannot no block", "retest feed: standard 12 inHg (not tested"),
        ("22", "", "not tested feed"),
    ] {
        let home = Home::new();
        let steps = "test(feed, |t| { t.read(); t.ask_yes(\"Is it clean?\"); });";
        home.write("merle.rhai", FEED.replace("test(feed);", steps));
        let mut left = vec!["Ada", "29.92 inHg", "20 C", "ok", "25", "5", reading];
        left.extend(if rest.is_empty() { ["cannot no lamp"] } else { [rest] });
        left.extend(["", "25", "5"]);
        home.run(&["guide", "merle.rhai"], &lines(&left)).exits(0).says(said);
        home.run(&["records", "audit"], "").exits(0);
        let report = home.run(&["report"], "").exits(0);
        assert_eq!(report.out.contains("so it decides nothing"), reading == "12", "{}", report.out);
    }
}

/// A valve that leaks at its first stop and holds at its second: the first reading decided, the second came last.
#[test]
fn the_closing_screen_and_show_give_the_reading_that_decided_a_verdict() {
    let home = home();
    let steps = "test(feed, |t| { t.read(\"inboard\"); t.read(\"outboard\"); });";
    home.write("merle.rhai", FEED.replace("test(feed);", steps));
    let first = ["Ada", "29.92 inHg", "20 C", "ok", "25", "5", "12", "", "12", "22", "", "25", "5", "1"];
    let decided = "leaks feed: standard 12 inHg";
    home.run(&["guide", "merle.rhai", "--job", "4711"], &lines(&first)).exits(0).says(decided);
    home.run(&["records", "show"], "").exits(0).says(decided);
    home.run(&["report"], "").exits(0).says("feed: LEAKS").says("Reading \"inboard\": It leaks");
    let again = ["", "ok", "25", "5", "22", "22", "", "25", "5"];
    let before = "holds feed: standard 22 inHg (before: leaks, 12 inHg)";
    home.run(&["guide", "--retest", "4711"], &lines(&again)).exits(0).says(before);
}

#[test]
fn a_job_names_its_latest_record() {
    let home = home();
    home.run(&["guide", "merle.rhai", "--job", "order 4711"], &lines(&FEED_LINES)).exits(0);
    home.run(&["report", "order 4711"], "").exits(0).says("Job: order 4711");
    home.run(&["records", "show", "order 4712"], "").exits(2).complains("no record and no job");
    home.run(&["guide", "--retest", "order 4711"], "").exits(2).complains("there is nothing to test again");
}

#[test]
fn a_page_for_a_folder_that_is_not_there_is_refused_by_the_name_that_was_typed() {
    let home = home();
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    let ran = home.run(&["report", "--html", "gone/page.html"], "").exits(2);
    let ran = ran.complains("gone/page.html: its folder is not there");
    assert!(!ran.err.contains("unfinished"), "{}", ran.err);
    home.write("plain", "");
    home.run(&["report", "--html", "plain/page.html"], "").exits(2).complains("is no folder");
}

#[test]
fn an_audit_begins_with_where_a_record_is_altered_and_tells_no_more_than_ten_fields_of_it() {
    let home = walked();
    let text = std::fs::read_to_string(&home.records()[0]).expect("a record");
    assert!(text.contains("\"22 inHg\""), "{text}");
    home.write("altered.json", text.replacen("\"22 inHg\"", "\"21 inHg\"", 1));
    let told = home.run(&["records", "audit", "altered.json"], "").exits(1);
    let told = told
        .says("not in order = The digest does not fit the content")
        .says("Look first at circuit \"feed\", reading 1.")
        .says("more, which --json tells too");
    let n_items = told.out.lines().filter(|line| line.trim_start().starts_with("- ")).count();
    assert_eq!(n_items, 11, "{}", told.out);
}
