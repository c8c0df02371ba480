//! The ledger of a shop, and signatures on its records: what was done to the folder shows.

use std::path::PathBuf;

use crate::tests::support::{FEED, FEED_LINES, Home, home, lines, walked};

/// A shop with three records of its own, each signed.
fn shop() -> Home {
    let home = home();
    let guide = || home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    guide();
    home.says(&["records", "sign", "--as", "North Bench"], "1 of 1 records signed.");
    guide();
    guide();
    home
}

fn ledger(home: &Home) -> (PathBuf, Vec<String>) {
    let path = home.shop().join("ledger.jsonl");
    let lines = std::fs::read_to_string(&path).unwrap().lines().map(str::to_owned).collect();
    (path, lines)
}

fn put(path: &PathBuf, lines: &[String]) {
    std::fs::write(path, lines.join("\n") + "\n").unwrap();
}

#[test]
fn what_sessions_leave_is_signed_entered_and_in_order() {
    let home = shop();
    home.says(&["records", "audit"], "3 of 3 records in order.");
    home.says(&["records", "audit"], "3 signed by North Bench (");
    home.says(&["records", "audit"], "), this shop.");
    assert_eq!(ledger(&home).1.len(), 3);
    home.says(&["records", "sign"], "0 of 3 records signed; 3 were signed already.");
    assert_eq!(ledger(&home).1.len(), 3);
}

#[test]
fn a_customer_checks_a_record_by_the_fingerprint_alone() {
    let home = shop();
    let record = home.records().swap_remove(1);
    let elsewhere = Home::new();
    let path = elsewhere.path(record.file_name().unwrap().to_str().unwrap());
    std::fs::copy(&record, &path).unwrap();
    let path = path.to_str().unwrap();
    let named = ["records", "audit", path, "--signer", &home.fingerprint()];
    elsewhere.run(&named, "").exits(0).says("1 of 1 records in order.").says("whom you named");
    elsewhere.says(&["records", "audit", path], "whom this shop does not know");
    let other = "00000 00000 00000 00000 00000 00000";
    elsewhere
        .run(&["records", "audit", path, "--signer", other], "")
        .exits(1)
        .says("not signed by whom you named");
}

#[test]
fn of_what_is_no_record_or_cut_off_nothing_is_said_of_its_signature_and_a_copy_is_told() {
    let (home, customer) = (shop(), Home::new());
    let record = std::fs::read(&home.records()[0]).unwrap();
    std::fs::create_dir(customer.path("handed")).unwrap();
    customer.write("handed/cut.json", &record[..record.len() / 2]);
    customer.write("handed/hello.json", "{\"hello\":1}");
    let ran = customer.run(&["records", "audit", "handed"], "").exits(1).says("not JSON");
    let ran = ran.says("this is no record: it has neither session nor journal nor digest");
    let said = ran.says("2 can't be read, so nothing can be said of who signed.").out;
    assert!(!said.contains("nobody") && !said.contains("schema"), "{said}");
    customer.write("one.json", &record);
    customer.write("two.json", &record);
    customer.run(&["records", "audit", "one.json", "two.json"], "").exits(0).says("is the same record in");
}

#[test]
fn a_folder_that_was_handed_over_is_checked_whole() {
    let (home, customer) = (shop(), Home::new());
    let handed = customer.path("handed");
    std::fs::create_dir(&handed).unwrap();
    customer.refuses(2, &["records", "audit", "handed"], "there are no records in the folder handed");
    for path in home.records() {
        std::fs::copy(&path, handed.join(path.file_name().unwrap())).unwrap();
    }
    customer.says(&["records", "audit", "handed"], "3 of 3 records in order.");
}

#[test]
fn a_record_that_was_removed_shows() {
    let home = shop();
    let gone = home.records().swap_remove(1);
    std::fs::remove_file(&gone).unwrap();
    let name = gone.file_stem().unwrap().to_str().unwrap().to_owned();
    home.run(&["records", "audit"], "").exits(1).says(&format!("{name} is missing: the ledger has it since"));
}

#[test]
fn a_record_that_was_slipped_in_shows() {
    let home = shop();
    let other = walked();
    let slipped = other.records().swap_remove(0);
    let name = "20200101-080000-merle";
    let text = std::fs::read_to_string(&slipped).unwrap();
    let session = slipped.file_stem().unwrap().to_str().unwrap();
    let record = serde_json::from_str(&text.replace(session, name)).unwrap();
    let path = home.shop().join(format!("records/{name}.json"));
    std::fs::write(path, crate::record::document(&record).unwrap()).unwrap();
    home.run(&["records", "audit"], "")
        .exits(1)
        .says(&format!("{name} is in no line of the ledger: it was slipped in"));
}

#[test]
fn a_record_of_another_bench_is_told_as_such() {
    // Under another name, since both may have begun in the same second.
    let (north, south) = (shop(), Home::with("other.rhai", FEED));
    south.run(&["guide", "other.rhai"], &lines(&FEED_LINES)).exits(0);
    let record = north.records().swap_remove(2);
    std::fs::copy(&record, south.shop().join("records").join(record.file_name().unwrap())).unwrap();
    south.says(&["records", "audit"], "came from another bench: it is signed by North Bench (");
}

#[test]
fn a_record_that_was_exchanged_shows_also_with_a_new_digest() {
    let home = shop();
    let path = home.records().swap_remove(0);
    let text = std::fs::read_to_string(&path).unwrap().replace("\"Ada\"", "\"Bo\"");
    let mut record: crate::record::Record = serde_json::from_str(&text).unwrap();
    (record.signer, record.signature) = (None, None);
    std::fs::write(&path, crate::record::document(&record).unwrap()).unwrap();
    home.run(&["records", "audit"], "").exits(1).says("it was altered or exchanged");
}

#[test]
fn lines_that_were_removed_moved_or_changed_show() {
    let home = shop();
    let (path, whole) = ledger(&home);
    let audited = || {
        let ran = home.run(&["records", "audit"], "").exits(1);
        ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let follows = "does not follow on the one before it";
    put(&path, &[whole[0].clone(), whole[2].clone()]);
    let said = audited();
    assert!(
        said.contains(&format!("line 2 of the ledger {follows}")) && said.contains("is in no line"),
        "{said}"
    );
    put(&path, &[whole[1].clone(), whole[0].clone(), whole[2].clone()]);
    home.run(&["records", "audit"], "").exits(1).says(&format!("line 1 of the ledger {follows}"));
    let changed = whole[1].replace("\"at\":\"20", "\"at\":\"19");
    put(&path, &[whole[0].clone(), changed, whole[2].clone()]);
    let said = audited();
    assert!(said.contains("the signature of line 2") && said.contains("stamped earlier"), "{said}");
    put(&path, &["no line".to_owned()]);
    home.run(&["records", "audit"], "").exits(1).says("line 1 of the ledger is none");
    put(&path, &whole);
    home.done(&["records", "audit"]);
}

#[test]
fn the_original_of_an_amendment_that_was_deleted_or_changed_shows() {
    let home = walked();
    let name = home.latest();
    home.run(&["amend", &name, "--reason", "misread", "--by", "Bo"], "1\nyes\nAda\n").exits(0);
    home.says(&["records", "audit"], "2 of 2 records in order.");
    std::fs::remove_file(home.shop().join(format!("records/{name}.json"))).unwrap();
    home.run(&["records", "audit"], "").exits(1).says(&format!("amends {name}, which is missing"));
}

#[cfg(unix)]
#[test]
fn trouble_with_the_key_stops_no_bench() {
    use std::os::unix::fs::PermissionsExt;
    let home = shop();
    let key = home.shop().join("keys/signing.json");
    std::fs::set_permissions(&key, std::fs::Permissions::from_mode(0o644)).unwrap();
    let ran = home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    ran.complains("The record is not signed: others can read").says("Record:");
    home.says(&["records", "audit"], "4 of 4 records in order.");
    std::fs::set_permissions(&key, std::fs::Permissions::from_mode(0o600)).unwrap();
    home.says(&["records", "sign"], "1 of 4 records signed; 3 were signed already.");
    std::fs::write(home.shop().join("ledger.jsonl"), "{}\n").unwrap();
    let ran = home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    ran.complains("The record is not in the ledger");
}

#[cfg(unix)]
#[test]
fn a_session_that_was_entered_and_discarded_before_it_could_be_stored_is_not_called_missing() {
    let home = shop();
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES[..2])).exits(3);
    let open = home.shop().join("open");
    let name = std::fs::read_dir(&open).unwrap().next().unwrap().unwrap().file_name().into_string().unwrap();
    // A link to nowhere has the record's name, so it can't be put in its place.
    let in_the_way = home.shop().join(format!("records/{name}.json"));
    std::os::unix::fs::symlink("nowhere", &in_the_way).unwrap();
    home.run(&["guide", "--resume"], &lines(&FEED_LINES[2..])).exits(2);
    std::fs::remove_file(&in_the_way).unwrap();
    home.says(&["records", "audit"], &format!("{name} is finished and not stored yet"));
    home.done(&["records", "discard", &name]);
    home.says(&["records", "audit"], "discarded before it could be stored");
    // An empty folder of that name explains nothing.
    let discarded = home.shop().join("discarded").join(&name);
    let aside = home.path("aside");
    std::fs::rename(&discarded, &aside).unwrap();
    std::fs::create_dir(&discarded).unwrap();
    home.run(&["records", "audit"], "").exits(1).says(&format!("{name} is missing"));
    std::fs::remove_dir(&discarded).unwrap();
    std::fs::rename(&aside, open.join(&name)).unwrap();
    home.done(&["guide", "--resume", &name]);
    home.says(&["records", "audit"], "4 of 4 records in order.");
    assert_eq!(ledger(&home).1.len(), 4);
}
