//! Sessions that are not finished: shown, told apart and taken up by choice.

use crate::tests::support::{FEED_LINES, Home, home, lines};

/// A shop with an open session of each of two jobs.
fn two_open() -> Home {
    let home = home();
    for (job, n) in [("Blue van", 3), ("Red cab", 2)] {
        home.run(&["guide", "merle.rhai", "--job", job], &lines(&FEED_LINES[..n])).exits(3);
    }
    home
}

#[test]
fn of_several_open_sessions_one_is_chosen_by_its_number_the_latest_first() {
    let home = two_open();
    let asked = home.run(&["guide", "--resume"], "9\n2\n").exits(3);
    let asked = asked.says("Several sessions are open:").says("Type a number from 1 to 2.");
    let place = |text: &str| asked.out.find(text).unwrap_or_else(|| panic!("no {text} in {}", asked.out));
    assert!(place("job Red cab") < place("job Blue van"));
    let rest = lines(&[&["2"], &FEED_LINES[3..]].concat());
    home.run(&["guide", "--resume"], &rest).exits(0);
    assert_eq!(home.record().job.as_deref(), Some("Blue van"));
}

#[test]
fn nothing_chosen_leaves_every_session_as_it_was() {
    let home = two_open();
    home.run(&["guide", "--resume"], "park\n").exits(3).complains("No session was taken up");
    home.run(&["guide", "--resume"], "").exits(3).complains("No session was taken up");
    home.says(&["records", "list"], "job Red cab, 2 answers");
}

#[test]
fn a_session_is_taken_up_by_its_job_or_by_the_beginning_of_its_name() {
    let home = two_open();
    home.run(&["guide", "--resume", "Blue van"], &lines(&FEED_LINES[3..])).exits(0);
    assert_eq!(home.record().job.as_deref(), Some("Blue van"));
    let name = home.names(&home.shop().join("open")).pop().unwrap();
    home.run(&["guide", "--resume", &name[..10]], "").exits(3).says("Merle");
    home.run(&["guide", "--resume", "Green bus"], "")
        .exits(2)
        .complains("none of a job \"Green bus\"; open are: ");
}

#[test]
fn a_second_session_of_the_same_unit_is_begun_knowingly() {
    let home = two_open();
    let told = home.run(&["guide", "merle.rhai"], "").exits(3);
    told.says("is open, Merle M2, job Blue van")
        .says("To go on with that instead, park this one:")
        .says("guide --resume");
}

#[test]
fn a_report_of_a_session_that_is_still_open_says_so_and_how_to_go_on() {
    let home = two_open();
    home.refuses(2, &["report", "Blue van"], "is open, so there is no record of it yet");
    home.refuses(2, &["report", "Blue van"], "guide --resume");
}

#[test]
fn who_takes_a_session_over_stands_in_the_record_and_all_that_is_told_of_it() {
    let home = home();
    home.run(&["guide", "merle.rhai", "--job", "4711"], &lines(&FEED_LINES[..3])).exits(3);
    let over = ["guide", "--resume", "4711", "--technician"];
    home.run(&[&over[..], &["y"]].concat(), "").exits(2).complains("say it in words");
    home.run(&[&over[..], &["Bo"]].concat(), "park\n").exits(3).says("was left, Bo testing.");
    let rest = [&["technician", "technician Cy"][..], &FEED_LINES[3..]].concat();
    home.run(&["guide", "--resume"], &lines(&rest))
        .exits(0)
        .says("was left, Bo testing. Where somebody else tests now, type technician and the name.")
        .says("Write who tests from here on behind it: technician Mo")
        .says("From here on Cy tests, and the record says so.");
    let read_by = |home: &Home| home.done(&["records", "export"]).contains(",Cy,");
    assert!(read_by(&home));
    home.run(&["job", "4711"], "").exits(0).says("by Ada and Bo and Cy");
    let told = home.run(&["report", "4711"], "").exits(0);
    told.says("Technician: Ada and Bo and Cy").says("read 22 inHg, by Cy;");
    home.run(&["history", "by", "technician"], "").exits(0).says("Ada and Bo and Cy");
    home.run(&["records", "audit"], "").exits(0);
    // An amendment keeps who tested.
    let session = home.record().session;
    let amend = ["amend", &session, "--reason", "typed wrong", "--by", "Ada"];
    home.run(&amend, "2\nyes\n29.92 inHg\n").exits(0);
    home.run(&["report", "4711"], "").exits(0).says("Technician: Ada and Bo and Cy");
    assert!(read_by(&home));
}

#[test]
fn a_session_is_discarded_by_its_job_where_that_has_but_one() {
    let home = two_open();
    home.run(&["guide", "merle.rhai", "--job", "Red cab"], "park\n").exits(3);
    home.run(&["records", "discard", "Red cab"], "")
        .exits(2)
        .complains("several open sessions are meant by \"Red cab\"; name one: ");
    home.run(&["records", "discard", "Blue van"], "").exits(0).says("Discarded");
    let left = home.run(&["job"], "").exits(0).out;
    assert!(!left.contains("Blue van") && left.contains("Red cab"), "{left}");
}

#[test]
fn a_session_is_discarded_by_the_part_of_its_name_that_it_is_resumed_by() {
    let home = two_open();
    let open = || home.names(&home.shop().join("open"));
    home.run(&["records", "discard", &open()[0][..8]], "").exits(2).complains("several open sessions");
    let (gone, stays) = (open().remove(0), open().remove(1));
    let letters = gone.rsplit('-').next().unwrap();
    home.run(&["guide", "--resume", letters], "").exits(3);
    home.run(&["records", "discard", letters], "").exits(0).says("Discarded");
    assert_eq!(open(), [stays]);
}

#[test]
fn a_rig_that_another_session_used_is_looked_at_before_the_next_circuit() {
    let home = Home::with(
        "merle.rhai",
        "procedure(#{ title: \"Merle M2, feeds\", unit: \"Merle M2\", version: \"1.0.0\" });
         test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));
         test(circuit(#{ name: \"drain\", holds: 20.inHg, leaks: 15.inHg }));",
    );
    let begun = lines(&["Ada", "29.92 inHg", "20 C", "25", "5", "22", "park"]);
    home.run(&["guide", "merle.rhai", "--job", "Blue van"], &begun).exits(3);
    let told = "Another session was at the rig since";
    let alone = home.run(&["guide", "--resume", "Blue van"], "park\n").exits(3);
    assert!(!alone.out.contains(told) && !alone.out.contains("recheck"), "{}", alone.out);
    home.run(&["guide", "merle.rhai", "--job", "Red cab"], &begun).exits(3);
    // Whoever looks in and parks has looked at no rig.
    home.run(&["guide", "--resume", "Blue van"], "park\n").exits(3).says(told);
    // The rig is off, so the feed is read again too.
    let rest = ["24", "5", "24", "5", "25", "5", "22", "22", "25", "5"];
    let ran = home.run(&["guide", "--resume", "Blue van"], &lines(&rest)).exits(0);
    ran.says(told)
        .says("Before drain, recheck the calibration")
        .says("read again, after setting the rig: feed");
    home.run(&["records", "audit"], "").exits(0);
}

#[test]
fn a_rig_that_another_session_used_before_anything_was_read_on_it_is_looked_at_and_set_again() {
    let home = home();
    let set = [&FEED_LINES[..3], &["ok", "25", "5"]].concat();
    home.run(&["guide", "merle.rhai", "--job", "Blue van"], &lines(&[&set[..], &["park"]].concat())).exits(3);
    home.run(&["guide", "merle.rhai", "--job", "Red cab"], &lines(&[&set[..], &["22", "park"]].concat()))
        .exits(3);
    let rest = ["24", "5", "24", "5", "25", "5", "22", "", "25", "5"];
    let ran = home.run(&["guide", "--resume", "Blue van"], &lines(&rest)).exits(0);
    ran.says("Another session was at the rig since, so the rig is looked at before the next circuit.")
        .says("mind As before: Suction holds skin.")
        .says("Before feed, recheck the calibration")
        .says("It has drifted since it was last good, so it is set again.");
    home.run(&["report", "Blue van"], "").exits(0).says("drifted, so it was set again");
    home.run(&["records", "audit"], "").exits(0);
}
