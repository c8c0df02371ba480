//! Jobs: what stands open, what is noted, and the one report of all tests.

use crate::tests::support::{FEED, FEED_LINES, Home, flat, lines};

/// A home with a feed that has a complaint and a repair, and a replacement that has a price.
fn home() -> Home {
    let told = "leaks: 15.inHg, symptoms: [\"late upshift\"], repairs: [#{ does: \"new seals\", parts: 8, hours: 0.5 }] }";
    let home = Home::with("merle.rhai", FEED.replace("leaks: 15.inHg }", told));
    std::fs::create_dir_all(home.shop()).unwrap();
    std::fs::write(home.shop().join("prices.json"), "{\"currency\": \"USD\", \"replacement\": 850}").unwrap();
    home
}

/// Tests a feed that leaks, for job 4711, and decides on the repair.
fn found_leaking(home: &Home) {
    let leaking = lines(&FEED_LINES).replacen("22", "9\n\n9", 1) + "1\n";
    let ran = home.run(&["guide", "merle.rhai", "--job", "4711"], &leaking).exits(0);
    ran.says("note what was really done: spoolproof job repaired 4711")
        .says("spoolproof guide --retest 4711");
}

#[test]
fn a_job_goes_from_a_customer_to_a_report_of_before_and_after() {
    let home = home();
    home.run(&["job"], "").exits(0).says("No job stands open.");
    let set = ["job", "set", "4711", "--customer", "Ann Example", "--vehicle", "red pickup"];
    home.run(&set, "").exits(0).says("Customer: Ann Example");
    home.run(&["job"], "").exits(0).says("4711 nothing tested to its end yet; Ann Example; red pickup");
    found_leaking(&home);
    home.run(&["job"], "").exits(0).says("4711 1 to be repaired; Merle M2; Ann Example; red pickup");
    home.run(&["job", "4711"], "").exits(0).says("To be repaired feed: leaks; decided: new seals");
    home.run(&["report", "4711"], "").exits(0).says("Decided: new seals. That it was done is not noted.");

    let repaired = home.run(&["job", "repaired", "4711"], "\nBo\nkit 12\n-3\n118.50\n").exits(0);
    repaired
        .says("that is no price")
        .says("To be tested again feed: leaks")
        .says("feed: new seals, with kit 12, by Bo, for 118.50 USD");
    let again =
        home.run(&["guide", "--retest", "4711"], &lines(&[&[""], &FEED_LINES[3..]].concat())).exits(0);
    again
        .says("Repaired: feed: new seals, with kit 12, by Bo, for 118.50 USD.")
        .says("(before: leaks, 9 inHg)");
    home.run(&["job"], "").exits(0).says("No job stands open.");
    home.run(&["job", "4711"], "").exits(0).says("Done feed: holds");

    home.run(&["shop", "set", "--name", "Hill Bench", "--phone", "555 0100"], "").exits(0);
    let told = home.run(&["report", "4711"], "").exits(0);
    let told = told
        .says("Hill Bench 555 0100")
        .says("Customer: Ann Example")
        .says(
            "1 of 1 circuit tested did not read as sound: 1 as leaking. Tested again: 1 of 1 read as sound.",
        )
        .says("feed: read as leaking, now reads as sound On the road it can show as: late upshift.")
        .says("Done: new seals, with kit 12, by Bo, for 118.50 USD.")
        .says("What was done: 118.50 USD, as the shop noted it.")
        // 850 less 118.50
        .says("A replacement would be 850 USD by the shop's figures, so that is 731.50 USD less.")
        .says("test 1 of 2")
        .says("test 2 of 2");
    assert!(!told.out.contains("It was tested again since"), "{}", told.out);
    home.run(&["report", "4711", "--html", "report.html"], "").exits(0).says("Written: report.html");
    let page = home.read("report.html");
    let said = "feed. Before: reads as leaking, 9 inHg (";
    assert!(page.contains(said) && page.contains("After: reads as sound, 22 inHg ("), "{page}");
}

#[test]
fn what_the_test_again_found_no_more_is_told_so_and_a_measurement_before_a_cannot_is_kept() {
    let home = Home::with(
        "merle.rhai",
        FEED.replace(
            "test(feed);",
            "let coil = ask_number(\"Coil?\", #{ unit: \"ohm\", low: 7.ohm, high: 9.ohm });
             if !ask_yes(\"All balls out?\") { finding(\"Check balls were missing.\"); ready(\"Find them.\"); }
             test(feed);",
        ),
    );
    let typed = [
        "Ada",
        "29.92 inHg",
        "20 C",
        "ok",
        "4",
        "cannot no ohmmeter",
        "no",
        "",
        "25",
        "5",
        "9",
        "",
        "9",
        "",
        "25",
        "5",
    ];
    let ran = home.run(&["guide", "merle.rhai", "--job", "4711"], &(lines(&typed) + "1\n")).exits(0);
    let left = "could not be done: Coil? (no ohmmeter; before that 4 ohm, out of its limits)";
    ran.says(left);
    let told = home.run(&["report", "4711"], "").exits(0).says(&format!("{left}."));
    assert!(!told.out.contains("that was no longer so"), "{}", told.out);
    let again = ["", "ok", "8", "yes", "25", "5", "22", "", "25", "5"];
    home.run(&["guide", "--retest", "4711"], &lines(&again)).exits(0);
    home.run(&["report", "4711"], "")
        .exits(0)
        .says(&format!("{left}. When tested again, that was no longer so."))
        .says("Check balls were missing. When tested again, that was no longer so.");
}

#[test]
fn what_was_found_of_a_circuit_that_is_still_amiss_is_not_told_as_gone() {
    let found = "test(feed, |t| { if t.read(\"inboard\").leaks { t.finding(\"The seal is out.\"); } });";
    let home = Home::with("merle.rhai", FEED.replace("test(feed);", found));
    let leaking = lines(&FEED_LINES).replacen("22", "9\n\n9", 1) + "1\n";
    home.run(&["guide", "merle.rhai", "--job", "4711"], &leaking).exits(0);
    let worn = lines(&["", "ok", "25", "5", "17", "", "17", "", "25", "5", "1"]);
    home.run(&["guide", "--retest", "4711"], &worn).exits(0);
    let told = home.run(&["report", "4711"], "").exits(0);
    let told = told.says("now reads as worn").says("The seal is out.");
    assert!(!told.out.contains("that was no longer so"), "{}", told.out);
}

#[test]
fn a_body_that_was_replaced_is_not_told_as_the_one_that_was_tested() {
    let home = home();
    found_leaking(&home);
    let said = "what was read is of the one that was taken out";
    let told = home.run(&["report", "4711"], "").exits(0);
    assert!(!told.out.contains("was taken out"), "{}", told.out);
    let replaced =
        ["job", "repaired", "4711", "--did", "replace the body", "--by", "Bo", "--circuit", "feed"];
    home.run(&[&replaced[..], &["--cost", "900"]].concat(), "").exits(0);
    home.run(&["report", "4711"], "").exits(0).says(said);
}

#[test]
fn whose_unit_it_is_stands_in_no_record_and_can_be_left_out_of_the_report() {
    let home = home();
    home.run(&["job", "set", "4711", "--customer", "Ann Example", "--vehicle", "red pickup"], "").exits(0);
    found_leaking(&home);
    let record = std::fs::read_to_string(&home.records()[0]).unwrap();
    assert!(!record.contains("Ann Example") && !record.contains("red pickup"));
    let told = home.run(&["report", "--without-customer"], "").exits(0).says("Job: 4711");
    assert!(!told.out.contains("Ann Example") && !told.out.contains("red pickup"), "{}", told.out);
    home.run(&["report"], "").exits(0).says("The records behind this page are not signed");
    home.run(&["records", "sign", "--as", "Hill Bench"], "").exits(0);
    home.run(&["report"], "").exits(0).says("Records behind this page: 1, signed: 1, by Hill Bench (");
    // The same record at another shop is not that shop's job of the same name.
    let file = home.path("handed-on.json");
    std::fs::write(&file, record).unwrap();
    let told = home.run(&["report", "handed-on.json"], "").exits(0).says("Job: 4711");
    assert!(!told.out.contains("Ann Example"), "{}", told.out);
}

#[test]
fn what_is_not_sound_is_never_told_as_money_saved() {
    let home = home();
    found_leaking(&home);
    let repaired = ["job", "repaired", "4711", "--did", "new seals", "--by", "Bo", "--circuit", "feed"];
    home.run(&[&repaired[..], &["--cost", "118.50"]].concat(), "").exits(0);
    let told = home.run(&["report", "4711"], "").exits(0);
    let told = told
        .says("Repaired, but no test in this report shows them sound since; what more they may take is not in it: feed.")
        .says("No test after that is in this report.");
    assert!(!told.out.contains("A replacement would be"), "{}", told.out);
}

#[test]
fn an_open_session_shows_with_its_job_when_the_shift_changes() {
    let home = home();
    home.run(&["guide", "merle.rhai", "--job", "12"], "Ada\npark\n").exits(3);
    home.run(&["guide", "merle.rhai"], "Ada\npark\n").exits(3);
    home.run(&["job"], "")
        .exits(0)
        .says("12 nothing tested to its end yet")
        .says("Sessions that are not finished:")
        .says("open, Merle M2, job 12, 1 answer; go on with: spoolproof guide --resume");
    home.run(&["job", "12"], "").exits(0).says("Open session");
}

#[test]
fn a_closed_job_stands_open_no_more_until_something_is_noted_of_it_again() {
    let home = home();
    found_leaking(&home);
    home.run(&["job", "close", "4711", "--why", "taken away unrepaired"], "")
        .exits(0)
        .says("Closed: taken away");
    home.run(&["job"], "").exits(0).says("No job stands open.");
    home.run(&["job", "undo", "4711"], "").exits(0).says("To be repaired");
    home.run(&["job"], "").exits(0).says("4711 1 to be repaired");
    home.run(&["job", "close", "4711", "--why", "taken away"], "").exits(0);
    home.run(&["job", "set", "4711", "--customer", "Ann"], "").exits(0);
    home.run(&["job"], "").exits(0).says("4711 1 to be repaired");
}

#[test]
fn notes_that_cannot_be_right_are_refused() {
    let home = home();
    found_leaking(&home);
    let repaired = ["job", "repaired", "4711", "--did", "x", "--by", "Bo"];
    home.run(&[&repaired[..], &["--circuit", "feet"]].concat(), "")
        .exits(2)
        .complains("Did you mean \"feed\"?");
    home.run(&[&repaired[..], &["--cost=-1"]].concat(), "").exits(2).complains("that is no price");
    home.run(&["job", "repaired", "4711", "--did", "x"], "").exits(2).complains("--by");
    home.run(&["job", "4712"], "").exits(2).complains("there is no job \"4712\". Did you mean 4711?");
    home.run(&["job", "undo", "4711"], "").exits(2).complains("nothing is noted of job 4711");
    home.run(&["job", "set", "4711"], "").exits(2).complains("--customer");
    assert!(!home.shop().join("jobs.jsonl").exists());
}

#[test]
fn a_repair_is_asked_for_in_words_and_back_asks_again() {
    let home = home();
    found_leaking(&home);
    // A bare number is no repair, y is no name and back no part; y is what was decided.
    let typed =
        "64.5\ny\ny\nBo\nback\nAda\nback\nback\nhoned the bore\n\nback 2\nhoned and sealed\nAda\n\n120\n";
    home.run(&["job", "repaired", "4711"], typed)
        .exits(0)
        .says("was it done: yes, no, or what was done instead [new seals]")
        .says("\"64.5\" says nothing in the report")
        .says("\"y\" says nothing in the report")
        .says("feed: honed and sealed, by Ada, for 120 USD");
    let undone = home.run(&["job", "undo", "4711"], "").exits(0);
    undone.says("Taken back: repaired: feed: honed and sealed, by Ada, for 120 USD").says("To be repaired");
    home.run(&["job", "repaired", "4711"], "back\nno\n").exits(0).says("That is the first question");
    home.run(&["job", "repaired", "4711"], "y\nBo\n\n\n").exits(0).says("feed: new seals, by Bo");
    // A figure with noughts too many is asked about, and can be entered once more.
    home.run(&["job", "undo", "4711"], "").exits(0);
    home.run(&["job", "repaired", "4711"], "y\nBo\n\n1e9\nno\n1185000\nyes\n")
        .exits(0)
        .says("is 1 000 000 000 USD right")
        .says("feed: new seals, by Bo, for 1 185 000 USD");
}

/// SI Brochure, 9th edition, 5.4.4: groups of three, a space between them, customarily none where
/// there are four figures.
#[test]
fn a_large_sum_of_money_stands_in_threes() {
    let written = |figure| crate::tell::money(figure, Some("USD")).replace('\u{a0}', " ");
    assert_eq!(written(1_000_000_160.0), "1 000 000 160 USD");
    assert_eq!(written(43_279.5), "43 279.50 USD");
    assert_eq!(written(3279.0), "3279 USD");
    assert_eq!(written(118.5), "118.50 USD");
}

#[test]
fn programs_that_note_at_once_lose_nothing_and_a_line_that_was_cut_off_does_not_count() {
    const PROGRAMS: usize = 8;
    let home = home();
    let running: Vec<_> = (0..PROGRAMS)
        .map(|n| {
            let did = format!("repair {n}");
            let arguments = ["job", "set", "4711", "--customer", did.as_str()].map(str::to_owned);
            home.command(&arguments).stdout(std::process::Stdio::null()).spawn().unwrap()
        })
        .collect();
    for mut program in running {
        assert!(program.wait().unwrap().success());
    }
    let file = home.shop().join("jobs.jsonl");
    let text = std::fs::read_to_string(&file).unwrap();
    assert_eq!(text.lines().count(), PROGRAMS, "{text}");
    std::fs::write(&file, format!("{text}{{\"job\":\"4711\",\"at\":\"20")).unwrap();
    home.run(&["job", "4711"], "").exits(0).says("Customer: repair");
    home.run(&["job", "set", "4711", "--vehicle", "red pickup"], "").exits(0).says("Vehicle: red pickup");
    let text = std::fs::read_to_string(&file).unwrap();
    assert_eq!(text.lines().count(), PROGRAMS + 1, "{text}");
    // A line in the middle that is none is said, and nothing is written behind it.
    std::fs::write(&file, text.replacen("\"job\"", "\"jab\"", 1)).unwrap();
    home.run(&["job", "set", "4711", "--vehicle", "x"], "").exits(2).complains("is damaged at line 1");
}

#[test]
fn the_clock_on_the_wall_of_the_shop_stands_in_its_report() {
    let told = |zone: &str| {
        let home = home();
        let mut command = home.command(&["guide", "merle.rhai"]);
        command.env("TZ", zone);
        crate::tests::support::run(&mut command, &lines(&FEED_LINES)).exits(0);
        home.run(&["report"], "").exits(0).out
    };
    // POSIX counts these zones west of Greenwich (POSIX.1-2017, 8.3 TZ).
    assert!(told("XYZ7").contains("UTC-07:00"));
    assert!(told("XYZ-5:30").contains("UTC+05:30"));
    assert!(!told("UTC0").contains("UTC+"));
}

#[test]
fn a_circuit_that_could_not_be_tested_is_still_to_be_and_one_that_is_left_is_done_with() {
    let home = home();
    let unable = lines(&FEED_LINES).replacen("22", "cannot no plate", 1);
    home.run(&["guide", "merle.rhai", "--job", "1"], &unable).exits(0);
    let left = lines(&FEED_LINES).replacen("22", "9\n\n9", 1) + "2\n";
    home.run(&["guide", "merle.rhai", "--job", "2"], &left).exits(0);
    let told = home.run(&["job"], "").exits(0).says("1 1 to be tested; Merle M2");
    assert_eq!(told.out.lines().count(), 1, "{}", told.out);
    home.run(&["job", "2"], "").exits(0).says("Left as it is feed: leaks; decided: leave it as it is");
    let told = home.run(&["report", "2"], "").exits(0).says("It was decided to leave it as it is.");
    told.says("Leaking: feed (decided: leave it as it is).");
}

#[test]
fn what_a_leak_can_do_is_told_as_the_procedures_word_and_not_as_what_was_found() {
    let home = home();
    home.write(
        "merle.rhai",
        home.read("merle.rhai").replace("repairs:", "means: \"Clutches slip.\", repairs:"),
    );
    found_leaking(&home);
    home.run(&["report", "4711", "--html", "report.html"], "").exits(0);
    for told in [home.run(&["report", "4711"], "").exits(0).out, home.read("report.html")] {
        let told = flat(&told).replace("&quot;", "\"");
        let n_told = told.matches("Clutches slip.").count();
        let as_its_word = "What a leak here can do, as the procedure has it: \"Clutches slip.\"";
        assert_eq!((n_told, told.matches(as_its_word).count()), (2, 2), "{told}");
    }
}

/// Both tests leave the same circuit out.
#[test]
fn a_report_of_several_tests_says_each_thing_once() {
    let home = home();
    let other = "let lube = circuit(#{ name: \"lube\", holds: 20.inHg, leaks: 15.inHg }); test(lube);\nready(\"Done?\");";
    let both = FEED.replace("leaks: 15.inHg }", "leaks: 15.inHg, symptoms: [\"late upshift\"] }");
    home.write("merle.rhai", both.replace("ready(\"Done?\");", other));
    for _ in 0..2 {
        let guide = ["guide", "merle.rhai", "--job", "4711", "--complaint", "late upshift"];
        home.run(&guide, &lines(&FEED_LINES)).exits(0);
    }
    let told = home.run(&["report", "4711"], "").exits(0);
    let told = told.says("Unit: Merle M2 Complaint: late upshift").says("Not tested: lube.");
    assert!(told.out.contains("1 circuit tested, and each reads as sound."), "{}", told.out);
}

/// Two bodies whose feeds have one name, both leaking, of one job.
fn two_bodies() -> Home {
    let home = home();
    home.write("alba.rhai", home.read("merle.rhai").replace("Merle M2", "Alba A1"));
    found_leaking(&home);
    let leaking = lines(&FEED_LINES).replacen("22", "9\n\n9", 1) + "1\n";
    home.run(&["guide", "alba.rhai", "--job", "4711"], &leaking).exits(0);
    home
}

#[test]
fn a_repair_belongs_to_the_feed_of_one_body_and_not_to_that_of_another() {
    let home = two_bodies();
    home.says(&["job", "4711"], "Merle M2, feed: leaks; decided: new seals Alba A1, feed: leaks");
    let did = ["job", "repaired", "4711", "--did", "new seals", "--by", "Bo", "--circuit", "feed"];
    home.run(&did, "").exits(2).complains("with --unit: 'Merle M2' or 'Alba A1'");
    let of_one = [&did[..], &["--unit", "Alba A1", "--cost", "80"]].concat();
    let told = home.run(&of_one, "").exits(0);
    told.says("To be repaired Merle M2, feed: leaks")
        .says("To be tested again Alba A1, feed: leaks")
        .says("Repairs noted Alba A1, feed: new seals, by Bo, for 80 USD");
    home.run(&["job", "repaired", "4711"], "no\n").exits(0).says("Merle M2, feed: leaks was it done");
    home.run(&["report", "4711"], "")
        .exits(0)
        .says("Merle M2, feed: reads as leaking On the road it can show as: late upshift. Decided: new seals. That it was done")
        .says("Alba A1, feed: reads as leaking On the road it can show as: late upshift. Done: new seals, by Bo, for 80 USD.")
        .says("Not settled, so what they will cost is not in it: Merle M2, feed.");
}

#[test]
fn a_customer_who_is_forgotten_stands_nowhere_in_the_shop_any_more() {
    let home = home();
    for (job, customer) in [("4711", "Ann Example"), ("4712", "Bob Example")] {
        home.done(&["job", "set", job, "--customer", customer, "--vehicle", "red pickup"]);
    }
    home.done(&["job", "set", "4711", "--customer", ""]);
    let noted = || std::fs::read_to_string(home.shop().join("jobs.jsonl")).unwrap();
    assert!(noted().contains("Ann Example"));
    home.says(&["job", "forget", "4711"], "stand in no line of jobs.jsonl any more");
    assert!(!noted().contains("Ann") && noted().contains("Bob Example"), "{}", noted());
    home.says(&["job", "forget", "4711"], "Neither customer nor vehicle was noted of it.");
    // What is noted after that stands behind the rest.
    home.says(&["job", "set", "4711", "--vehicle", "blue van"], "Vehicle: blue van");
}

#[test]
fn what_was_done_at_the_bench_alone_has_no_page_for_a_customer() {
    let home = Home::new();
    home.write(
        "merle.rhai",
        "procedure(#{ title: \"Bench\", version: \"1.0.0\" });
         test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));",
    );
    home.run(&["guide", "merle.rhai"], &lines(&["Ada", "29.92 inHg", "20 C", "25", "5", "22", "25", "5"]))
        .exits(0);
    let told = home.run(&["report"], "").exits(0).says("The figures").says("1 of 1 circuit holds.");
    assert!(!told.out.contains("What this does not say") && !told.out.contains("behind it"), "{}", told.out);
    home.done(&["report", "--html", "report.html"]);
    let page = home.read("report.html");
    assert!(!page.contains("Customer, date") && page.contains("1 of 1 circuit holds."), "{page}");
}

/// A unit with a feed, and what comes behind it.
fn unit_of(more: &str) -> Home {
    let title = "procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\" });";
    let feed = "test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));";
    Home::with("merle.rhai", [title, feed, more].join("\n"))
}

#[test]
fn what_was_read_while_the_rig_drifted_stands_in_the_figures() {
    let home = unit_of("");
    let drifted = ["Ada", "29.92 inHg", "20 C", "25", "5", "22", "25.6", "5.9", "25.6", "5.9"];
    let again = ["25", "5", "21.5", "25", "5"];
    home.run(&["guide", "merle.rhai"], &lines(&[&drifted[..], &again].concat())).exits(0);
    home.says(&["report"], "Taken back after a drift: feed: 22 inHg");
    home.says(&["history", "drift"], "1 of 2 checks found the rig drifted");
    // A few checks are not said to be in order.
    let overview = home.run(&["history", "overview"], "").exits(0).says("None stands out");
    assert!(!overview.out.contains("Nothing out of the ordinary"), "{}", overview.out);
}

#[test]
fn both_pages_of_a_report_count_what_was_judged() {
    let home = unit_of("test(circuit(#{ name: \"drain\", limits: \"to be found\" }));");
    let typed = ["Ada", "29.92 inHg", "20 C", "25", "5", "22", "21", "21", "25", "5"];
    home.run(&["guide", "merle.rhai"], &lines(&typed)).exits(0);
    home.run(&["report"], "")
        .exits(0)
        .says("1 circuit tested, and each reads as sound.")
        .says("1 of 1 circuit holds. Read and not judged, for want of limits: drain.");
}

#[test]
fn what_no_circuit_carries_keeps_a_job_open_until_it_is_mended_and_asked_again() {
    let home = unit_of(
        "let coil = ask_number(\"Coil?\", #{ unit: \"ohm\", low: 15.ohm, high: 18.5.ohm });
         if coil.high { finding(\"The coil is bad.\"); }",
    );
    let bad = ["Ada", "29.92 inHg", "20 C", "25", "5", "22", "21", "21", "25", "5"];
    let walked = home.run(&["guide", "merle.rhai", "--job", "4711"], &lines(&bad));
    walked.exits(0);
    home.says(&["job"], "4711 1 to be decided, 1 done");
    home.says(&["job", "4711"], "To be decided found: The coil is bad.");
    let repaired = home.run(&["job", "repaired", "4711"], "new coil\nBo\n\n60\n").exits(0);
    repaired
        .says("To be tested again found: The coil is bad.")
        .says("Repairs noted The coil is bad: new coil, by Bo, for 60");
    home.says(&["report", "4711"], "Also done: The coil is bad: new coil, by Bo, for 60.");
    // What can't be measured then is no coil that is good.
    // Where nothing is read, no rig is set.
    let unable = ["", "cannot no meter"];
    home.run(&["guide", "--retest", "4711"], &lines(&unable)).exits(0);
    home.says(&["job", "4711"], "To be tested found: could not be done: Coil? (no meter)");
    home.run(&["guide", "--retest", "4711"], &lines(&["", "16.8"])).exits(0);
    home.says(&["job"], "No job stands open.");
}
