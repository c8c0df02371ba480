//! What was rehearsed and practised is asked about by itself: no answer sums it with what was read at a bench.

use crate::tests::support::{Cluster, FEED_LINES, Home, home, lines};

/// A home with a session at the bench and two rehearsals of the same unit.
fn bench_and_rehearsals() -> Home {
    let home = home();
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    for seed in ["1", "2"] {
        home.run(&["rehearse", "merle.rhai", "--seed", seed], "").exits(0);
    }
    home
}

fn n_tested(home: &Home, more: &[&str]) -> u64 {
    let answer = home.json(&[&["history", "failing"], more].concat());
    let rows =
        answer["tables"].as_array().unwrap().iter().flat_map(|table| table["rows"].as_array().unwrap());
    rows.map(|row| row["tested"].as_u64().unwrap()).sum()
}

#[test]
fn rehearsals_are_asked_about_by_themselves_and_the_answer_says_so() {
    let home = bench_and_rehearsals();
    assert_eq!((n_tested(&home, &[]), n_tested(&home, &["--mode", "rehearsal"])), (1, 2));
    home.says(&["history", "failing", "--mode", "rehearsal"], "which circuits fail most, in rehearsals");
    home.says(&["history", "failing", "--mode", "practice"], "There are no records of that yet.");
    home.refuses(
        2,
        &["history", "failing", "--mode", "bunch"],
        "[possible values: bench, rehearsal, practice]",
    );
    // A rehearsal that got among the records of the bench counts for neither there.
    let rehearsal = crate::tests::support::records_in(&home.shop().join("rehearsals/records")).pop().unwrap();
    std::fs::copy(&rehearsal, home.shop().join("records").join(rehearsal.file_name().unwrap())).unwrap();
    let told = "is left out: it is of the mode rehearsal, and not of bench";
    home.run(&["history", "rebuild"], "").exits(0).complains(told);
    assert_eq!(n_tested(&home, &[]), 1);
}

#[test]
fn a_server_keeps_the_modes_apart_and_gives_each_back() {
    let Some(cluster) = Cluster::prepared() else { return };
    cluster.admit("north", "spoolproof_bench");
    let (home, away) = (bench_and_rehearsals(), Home::new());
    let (north, boss) = (cluster.url("north"), cluster.url("boss"));
    home.says(&["records", "send", "--database", &north], "1 record; 0 had arrived before.");
    let rehearsed = ["--mode", "rehearsal", "--database"];
    home.says(
        &[&["records", "send"], &rehearsed[..], &[&north]].concat(),
        "2 records; 0 had arrived before.",
    );
    assert_eq!(n_tested(&home, &["--database", &boss]), 1);
    assert_eq!(n_tested(&home, &[&rehearsed[..], &[&boss]].concat()), 2);
    away.says(&["records", "import", "--database", &north], "1 taken, 0 here already, 0 refused.");
    away.says(
        &[&["records", "import"], &rehearsed[..], &[&north]].concat(),
        "2 taken, 0 here already, 0 refused.",
    );
    assert_eq!((n_tested(&away, &[]), n_tested(&away, &["--mode", "rehearsal"])), (1, 2));
    // What is sent as what it is not stays out of the answers, and is named.
    let text = std::fs::read(&home.records()[0]).unwrap();
    let sql =
        "INSERT INTO spoolproof.document (digest, session, mode, text) VALUES ($1, 'x', 'practice', $2)";
    let mut client = cluster.client("north", "school").unwrap();
    let spaced = [&text[..], b"\n"].concat();
    client.execute(sql, &[&crate::record::sha256(&spaced), &spaced]).unwrap();
    let asked = home.run(&["history", "failing", "--mode", "practice", "--database", &boss], "").exits(0);
    asked
        .complains("x is left out: it is of the mode bench, and not of practice")
        .says("There are no records");
}
