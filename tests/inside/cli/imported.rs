//! Records of several benches come together in one shop: nothing is lost, nothing is altered, nothing counts twice.

use std::path::PathBuf;

use crate::tests::support::{FEED_LINES, Home, home, lines, walked};

/// A bench on which a unit was tested so many times.
fn bench(n_records: usize) -> Home {
    let home = home();
    for _ in 0..n_records {
        home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    }
    home
}

fn import(school: &Home, places: &[PathBuf]) -> crate::tests::support::Run {
    let places = places.iter().map(|place| place.to_str().unwrap());
    let arguments: Vec<&str> = ["records", "import"].into_iter().chain(places).collect();
    school.run(&arguments, "")
}

/// The names of records and what they say.
fn contents(home: &Home) -> Vec<(PathBuf, String)> {
    let read = |path: PathBuf| (path.file_name().unwrap().into(), std::fs::read_to_string(&path).unwrap());
    home.records().into_iter().map(read).collect()
}

#[test]
fn what_two_benches_have_read_comes_together_and_is_in_order() {
    let (school, north, south) = (bench(1), bench(2), bench(1));
    let ran = import(&school, &[north.shop(), south.shop()]).exits(0);
    assert_eq!(ran.out.matches("taken ").count(), 3, "{}", ran.out);
    ran.says("3 taken, 0 here already, 0 refused.");
    let whole: Vec<_> = contents(&school);
    assert!([contents(&north), contents(&south)].concat().iter().all(|record| whole.contains(record)));
    school.run(&["records", "audit"], "").exits(0).says("4 of 4 records in order.");
    school.says(&["history", "failing"], "feed");
}

#[test]
fn twice_is_once() {
    let (school, north) = (Home::new(), bench(2));
    import(&school, &[north.shop(), north.shop()]).exits(0).says("2 taken, 2 here already, 0 refused.");
    let before = contents(&school);
    import(&school, &[north.shop()]).exits(0).says("0 taken, 2 here already, 0 refused.");
    assert_eq!(contents(&school), before);
}

#[test]
fn an_import_that_was_broken_off_is_gone_on_with() {
    let (school, north) = (Home::new(), bench(3));
    import(&school, &[north.shop()]).exits(0);
    // As it is where the program ended behind the first record: what is half written has a name that nobody looks at.
    let records = school.records();
    std::fs::rename(&records[1], records[1].with_file_name(".unfinished-a1b2c3")).unwrap();
    std::fs::remove_file(&records[2]).unwrap();
    std::fs::remove_dir_all(school.shop().join("ledgers")).unwrap();
    import(&school, &[north.shop()]).exits(0).says("2 taken, 1 here already, 0 refused.");
    school.run(&["records", "audit"], "").exits(0).says("3 of 3 records in order.");
    assert_eq!(contents(&school), contents(&north));
}

#[test]
fn a_record_with_the_name_of_another_is_refused_and_both_stay() {
    let (school, north) = (bench(1), bench(1));
    let ours = school.records().swap_remove(0);
    let theirs = north.records().swap_remove(0);
    let text = std::fs::read_to_string(&theirs).unwrap();
    let name = |path: &PathBuf| path.file_stem().unwrap().to_str().unwrap().to_owned();
    let forged = serde_json::from_str(&text.replace(&name(&theirs), &name(&ours))).unwrap();
    let forged = crate::record::document(&forged).unwrap();
    std::fs::write(&theirs, &forged).unwrap();
    north.run(&["records", "sign", theirs.to_str().unwrap(), "--as", "North"], "").exits(0);
    let before = contents(&school);
    let ran = import(&school, std::slice::from_ref(&theirs))
        .exits(1)
        .complains("the shop has another record of the name");
    ran.says("0 taken, 0 here already, 1 refused.");
    assert_eq!(contents(&school), before);
}

#[test]
fn a_record_that_was_changed_is_refused_and_the_others_are_taken() {
    let (school, north) = (Home::new(), bench(2));
    let changed = north.records().swap_remove(0);
    let text = std::fs::read_to_string(&changed).unwrap();
    std::fs::write(&changed, text.replacen("\"Ada\"", "\"Bo\"", 1)).unwrap();
    let ran = import(&school, &[north.shop()]).exits(1);
    ran.complains("it is not in order: ").says("1 taken, 0 here already, 1 refused.");
    // What was refused is missing by the ledger that came with it.
    let name = changed.file_stem().unwrap().to_str().unwrap();
    school.run(&["records", "audit"], "").exits(1).says(&format!("{name} is missing: the ledger"));
}

#[test]
fn what_nobody_vouches_for_is_refused_until_its_bench_signs_it() {
    let (school, north) = (Home::new(), bench(1));
    let alone = north.records().swap_remove(0);
    import(&school, std::slice::from_ref(&alone)).exits(1).complains("nobody signed it, and no ledger");
    assert_eq!(school.records(), Vec::<PathBuf>::new());
    north.run(&["records", "sign", "--as", "North Bench"], "").exits(0);
    import(&school, std::slice::from_ref(&alone)).exits(0).says("1 taken");
    school.says(&["records", "audit"], "1 signed by North Bench (");
}

#[test]
fn a_signer_whose_name_goes_with_another_key_is_refused() {
    let (school, north) = (bench(1), bench(1));
    for home in [&school, &north] {
        home.run(&["records", "sign", "--as", "North Bench"], "").exits(0);
    }
    import(&school, &[north.shop()]).exits(1).complains("signed it, and the shop knows North Bench");
}

#[test]
fn a_rehearsal_and_an_attempt_are_refused_by_name() {
    let (school, north) = (Home::new(), home());
    north.run(&["rehearse", "merle.rhai"], "").exits(0);
    import(&school, &[north.shop().join("rehearsals")]).exits(1).complains("it is a rehearsal");
}

#[test]
fn a_ledger_that_grew_is_kept_as_it_is_now_and_one_that_was_cut_is_refused() {
    let (school, north) = (Home::new(), bench(2));
    let ledger = north.shop().join("ledger.jsonl");
    import(&school, &[north.shop()]).exits(0).says("kept ");
    north.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    import(&school, &[north.shop()]).exits(0).says("1 taken, 2 here already").says("kept ");
    let kept = school.names(&school.shop().join("ledgers"));
    let kept = school.shop().join("ledgers").join(&kept[0]);
    assert_eq!(std::fs::read(&kept).unwrap(), std::fs::read(&ledger).unwrap());
    let text = std::fs::read_to_string(&ledger).unwrap();
    let mut cut: Vec<&str> = text.lines().collect();
    cut.remove(1);
    std::fs::write(&ledger, cut.join("\n") + "\n").unwrap();
    import(&school, &[north.shop()]).exits(1).complains("does not go on from the ledger that is kept");
    assert_eq!(std::fs::read_to_string(&kept).unwrap(), text);
}

#[test]
fn a_record_that_was_exchanged_with_a_digest_of_its_own_is_refused_as_such() {
    let (school, north) = (Home::new(), bench(1));
    let path = north.records().swap_remove(0);
    let text = std::fs::read_to_string(&path).unwrap().replace("\"Ada\"", "\"Bo\"");
    let forged = serde_json::from_str(&text).unwrap();
    std::fs::write(&path, crate::record::document(&forged).unwrap()).unwrap();
    import(&school, &[north.shop()])
        .exits(1)
        .complains("it is not the record that the ledger")
        .complains("it was altered or exchanged");
    assert_eq!(school.records(), Vec::<PathBuf>::new());
}

#[test]
fn a_signature_that_came_later_is_taken_and_a_strangers_on_a_record_of_the_shop_is_not() {
    let (school, north) = (Home::new(), bench(1));
    import(&school, &[north.shop()]).exits(0);
    // The school signs what it did not make, under its own name.
    school.run(&["records", "sign", "--as", "School"], "").exits(0);
    import(&north, &school.records()).exits(0).says("0 taken, 1 here already");
    north.says(&["records", "audit"], "1 signed by nobody");
    let (office, south) = (Home::new(), bench(1));
    import(&office, &[south.shop()]).exits(0);
    south.run(&["records", "sign", "--as", "South"], "").exits(0);
    import(&office, &[south.shop()]).exits(0).says("was here, and now with the signature of South");
    assert_eq!(contents(&office), contents(&south));
}

#[test]
fn a_place_without_records_begins_no_shop() {
    let school = Home::new();
    let (new, empty) = (school.path("new"), school.path("empty"));
    std::fs::create_dir(&empty).unwrap();
    let places = ["--shop", new.to_str().unwrap(), "records", "import", empty.to_str().unwrap()];
    school.refuses(2, &places, "there are no records in");
    assert!(!new.exists());
}

#[test]
fn a_record_that_a_bench_removed_before_it_sent_its_folder_shows() {
    let (school, north) = (Home::new(), bench(2));
    let gone = north.records().swap_remove(0);
    std::fs::remove_file(&gone).unwrap();
    let name = gone.file_stem().unwrap().to_str().unwrap();
    import(&school, &[north.shop()])
        .exits(1)
        .says("1 taken")
        .complains(&format!("missing {name}: the ledger"));
    school.run(&["records", "audit"], "").exits(1).says(&format!("{name} is missing: the ledger"));
}

#[test]
fn benches_on_one_stick_are_found_and_what_holds_no_record_is_said() {
    let (school, north, south) = (Home::new(), bench(1), walked());
    let stick = school.path("stick");
    for (name, home) in [("north", &north), ("south", &south)] {
        let folder = stick.join(name).join("records");
        std::fs::create_dir_all(&folder).unwrap();
        let record = home.records().swap_remove(0);
        std::fs::copy(&record, folder.join(record.file_name().unwrap())).unwrap();
        std::fs::copy(home.shop().join("ledger.jsonl"), stick.join(name).join("ledger.jsonl")).unwrap();
    }
    import(&school, std::slice::from_ref(&stick)).exits(0).says("2 taken, 0 here already, 0 refused.");
    let empty = school.path("empty");
    std::fs::create_dir(&empty).unwrap();
    import(&school, &[empty]).exits(2).complains("there are no records in");
    import(&school, &[school.path("nowhere")]).exits(2).complains("nowhere");
}
