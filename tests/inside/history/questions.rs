//! The index of records: it answers what the records say, whatever the order in which they came and whoever wrote it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use crate::history::{Changed, Group, GroupBy, Index, Tests};
use crate::leak::{Limits, Verdict, judge};
use crate::quantity::INCH_OF_MERCURY;
use crate::record::{EarlierRecord, Mode, Record, Shop, VerdictCounts};
use crate::session::Auditor;
use crate::stats::Summary;
use crate::tests::support::{Wanted, drawn, generated, inhg, near, session, store};

pub(super) const N: usize = 60;

pub(super) static RECORDS: LazyLock<Vec<Record>> =
    LazyLock::new(|| (0..N).map(|number| generated(&drawn(number, 2))).collect());

struct Bench {
    folder: tempfile::TempDir,
    shop: Shop,
}

impl Bench {
    fn with(records: &[Record]) -> Bench {
        let folder = tempfile::tempdir().unwrap();
        let shop = Shop::open(folder.path()).unwrap();
        let bench = Bench { folder, shop };
        bench.add(records);
        bench
    }

    /// A bench that took these up one after the other.
    fn taken_up<'a>(records: impl IntoIterator<Item = &'a Record>) -> Bench {
        let bench = Bench::with(&[]);
        for record in records {
            bench.add(std::slice::from_ref(record));
            bench.index();
        }
        bench
    }

    fn loses(&self, session: &str) {
        std::fs::remove_file(self.record(session)).unwrap();
    }

    fn record(&self, session: &str) -> PathBuf {
        self.shop.records().join(format!("{session}.json"))
    }

    fn add(&self, records: &[Record]) {
        for record in records {
            store(&self.shop.records(), record);
        }
    }

    fn index(&self) -> Index {
        let mut index = Index::open(&self.shop, Mode::Bench).unwrap();
        index.update(&|| false, &|_| {}).unwrap();
        index
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }
}

/// Everything that the index answers, as text.
fn answers(index: &Index) -> String {
    let mut said = String::new();
    let limits = Limits::new(inhg(21.0), inhg(16.0)).unwrap();
    for unit in index.units().unwrap() {
        for by in [GroupBy::Circuit, GroupBy::Technician, GroupBy::Rig, GroupBy::Month] {
            said += &format!("{unit} {by:?}: {}\n", counted(index, by, &unit));
        }
        for circuit in index.circuits(&unit).unwrap() {
            for tests in [Tests::First, Tests::Again] {
                let Some(spread) = index.spread_of(tests, &unit, &circuit).unwrap() else { continue };
                said += &format!(
                    "{circuit} {tests:?} {} {:.6} {:.6} {} {:?}\n",
                    spread.summary.n,
                    spread.summary.mean,
                    spread.summary.deviation.unwrap_or(0.0),
                    spread.n_undecided,
                    spread.bins()
                );
            }
            said += &format!("{:?}\n", index.judged_by(&unit, &circuit, &limits).unwrap());
        }
        for repair in index.repairs(&unit).unwrap() {
            said += &format!("{repair:?}\n");
        }
    }
    said += &format!("{:?}\n", index.savings().unwrap());
    for rig in index.rigs().unwrap() {
        said += &format!("{rig} {:?}\n", index.drift(&rig, 1000).unwrap());
    }
    said
}

pub(super) fn counted(index: &Index, by: GroupBy, unit: &str) -> String {
    let groups = |tests| index.groups(by, tests, unit, None).unwrap();
    let one = |group: &crate::history::Group| {
        format!("{} {:?} {:.6}", group.label, group.counts, group.mean_pa.unwrap_or(0.0))
    };
    [groups(Tests::First), groups(Tests::Again)].iter().flatten().map(one).collect::<Vec<_>>().join("; ")
}

#[test]
fn generated_records_are_in_order() {
    for record in &RECORDS[..3] {
        let text = crate::record::document(record).unwrap();
        assert_eq!(Auditor::default().audit(text.as_bytes()).faults, []);
    }
}

#[test]
fn counts_and_means_are_those_of_the_records() {
    let index = Bench::with(&RECORDS).index();
    let mut expected: BTreeMap<(&str, &str, bool), (VerdictCounts, Vec<f64>)> = BTreeMap::new();
    for record in RECORDS.iter() {
        let is_again = record.plan.as_ref().is_some_and(|plan| plan.after.is_some());
        for circuit in &record.circuits {
            let unit = record.procedure.unit.as_deref().unwrap();
            let (counts, readings) = expected.entry((unit, &circuit.circuit.name, is_again)).or_default();
            match circuit.verdict {
                Some(Verdict::Holds) => counts.holds += 1,
                Some(Verdict::Worn) => counts.worn += 1,
                Some(Verdict::Leaks) => counts.leaks += 1,
                Some(Verdict::Right) => counts.right += 1,
                Some(Verdict::Open) => counts.open += 1,
                Some(Verdict::Tight) => counts.tight += 1,
                Some(Verdict::Retest) => counts.retest += 1,
                Some(Verdict::Unjudged) => counts.not_judged += 1,
                Some(Verdict::NotFitted) => counts.not_fitted += 1,
                None => counts.not_tested += 1,
            }
            let meanings = circuit.readings.iter().filter_map(|reading| reading.meaning.as_ref());
            readings.extend(meanings.map(|meaning| meaning.standard_reading_pa.value));
        }
    }
    let failed: usize = expected.values().map(|(counts, _)| counts.worn + counts.leaks).sum();
    assert!(failed > 20, "too few failures to count: {failed}");
    assert!(expected.keys().any(|(.., is_again)| *is_again));
    for ((unit, circuit, is_again), (counts, readings)) in expected {
        let tests = if is_again { Tests::Again } else { Tests::First };
        let groups = index.groups(GroupBy::Circuit, tests, unit, None).unwrap();
        let group = groups.iter().find(|group| group.label == circuit).unwrap();
        assert_eq!(group.counts, counts, "{unit} {circuit}");
        let summary = Summary::of(&readings).unwrap();
        near(group.mean_pa.unwrap(), summary.mean, 1e-6);
        let spread = index.spread_of(tests, unit, circuit).unwrap().unwrap();
        assert_eq!(spread.summary.n, summary.n);
        near(spread.summary.mean, summary.mean, 1e-6);
        near(spread.summary.deviation.unwrap(), summary.deviation.unwrap(), 1e-6);
        let mut sorted = readings.clone();
        sorted.sort_by(f64::total_cmp);
        for share in [0.05, 0.25, 0.5, 0.75, 0.95] {
            let at = ((share * sorted.len() as f64).ceil() as usize).max(1) - 1;
            near(spread.quantile(share), sorted[at], 1e-6);
        }
    }
}

#[test]
fn one_circuit_by_technician_adds_up_to_the_circuit() {
    let index = Bench::with(&RECORDS).index();
    for by in [GroupBy::Technician, GroupBy::Rig, GroupBy::Month] {
        let parts = index.groups(by, Tests::First, "Merle M1", Some("circuit 3")).unwrap();
        let whole = index.groups(GroupBy::Circuit, Tests::First, "Merle M1", Some("circuit 3")).unwrap();
        let tested: usize = parts.iter().map(Group::tested).sum();
        assert_eq!(tested, whole[0].tested());
    }
}

#[test]
fn what_other_limits_would_judge_is_what_the_judge_says() {
    let index = Bench::with(&RECORDS).index();
    let limits = Limits::new(inhg(21.0), inhg(16.0)).unwrap();
    let mut n_changed = 0;
    for unit in ["Merle M1", "Merle M2"] {
        for circuit in index.circuits(unit).unwrap() {
            let mut expected = Vec::new();
            for record in RECORDS.iter().filter(|record| record.procedure.unit.as_deref() == Some(unit)) {
                let tested = record.circuits.iter().find(|tested| tested.circuit.name == circuit).unwrap();
                let meanings = tested.readings.iter().map(|reading| reading.meaning.as_ref().unwrap());
                let judged = meanings.map(|meaning| judge(meaning, &limits, record.confidence));
                let would_be = Verdict::worst(judged.map(|judgement| judgement.verdict));
                if let (Some(was), Some(would_be)) = (tested.verdict, would_be)
                    && was != would_be
                {
                    expected.push(Changed { session: record.session.clone(), was, would_be });
                }
            }
            let judged = index.judged_by(unit, &circuit, &limits).unwrap();
            n_changed += expected.len();
            assert_eq!(judged.changed, expected, "{unit} {circuit}");
        }
    }
    assert!(n_changed > 20, "too few changes to compare: {n_changed}");
    // The limits that a circuit has change nothing.
    let limits = index.latest_limits("Merle M1", "circuit 1").unwrap().unwrap();
    assert_eq!(index.judged_by("Merle M1", "circuit 1", &limits).unwrap().changed, []);
}

#[test]
fn repairs_stand_beside_what_was_before() {
    let bench = Bench::with(&[]);
    let wanted = repaired(0);
    let digest = store(&bench.shop.records(), &generated(&wanted));
    let earlier = EarlierRecord { session: session(0), digest };
    let again = Wanted { number: 1, readings: vec![22.5; 12], after: Some(earlier), ..wanted.clone() };
    // A circuit counts once a test, however often it was read in it.
    let mut again = generated(&again);
    let read = again.circuits[4].readings[0].clone();
    again.circuits[4].readings.extend([read.clone(), read]);
    bench.add(&[again]);
    let repairs = bench.index().repairs("Merle M1").unwrap();
    assert_eq!(repairs.len(), 1);
    let repair = &repairs[0];
    assert_eq!((repair.circuit.as_str(), repair.decided.as_str()), ("circuit 5", "ream and oversize valve"));
    assert_eq!((repair.n, repair.holds_now), (1, 1));
    near(repair.before_pa.unwrap(), 12.0 * INCH_OF_MERCURY, 50.0);
    near(repair.after_pa.unwrap(), 22.5 * INCH_OF_MERCURY, 50.0);
    // Tested once more, it is another test.
    bench.add(&[generated(&follows(2, &wanted, 14.0))]);
    let repairs = bench.index().repairs("Merle M1").unwrap();
    assert_eq!(repairs.iter().map(|repair| (repair.n, repair.holds_now)).collect::<Vec<_>>(), [(2, 1)]);
}

/// A unit whose circuit 5 leaks, and what was decided about it.
fn repaired(number: usize) -> Wanted {
    let mut wanted = Wanted { number, unit: "Merle M1".to_owned(), ..drawn(0, 1) };
    wanted.readings = vec![22.0; 12];
    wanted.readings[4] = 12.0;
    wanted
}

fn follows(number: usize, wanted: &Wanted, circuit_5: f64) -> Wanted {
    let after = EarlierRecord { session: session(wanted.number), digest: "0".repeat(64) };
    let mut readings = vec![22.5; 12];
    readings[4] = circuit_5;
    Wanted { number, readings, after: Some(after), ..wanted.clone() }
}

fn amends(number: usize, wanted: &Wanted, circuit_5: f64) -> Wanted {
    let earlier = EarlierRecord { session: session(wanted.number), digest: "0".repeat(64) };
    let mut amended = Wanted { number, amends: Some(earlier), ..wanted.clone() };
    amended.readings[4] = circuit_5;
    amended
}

/// One hour and 48 of parts are 102 at 90 an hour; a replacement costs 700.
#[test]
fn a_unit_saves_its_replacement_once_however_often_it_is_tested_again() {
    let cost = 48.0 + 0.6 * 90.0;
    let first = repaired(0);
    let sound = Wanted { number: 1, readings: vec![22.0; 12], ..repaired(0) };
    let holds_now = follows(2, &first, 22.0);
    let repaired_again = follows(3, &first, 12.0);
    for (wanted, n, saved) in [
        (vec![&sound], 0, 0.0),
        (vec![&first], 1, 700.0 - cost),
        (vec![&first, &sound], 1, 700.0 - cost),
        (vec![&first, &holds_now], 1, 700.0 - cost),
        (vec![&first, &repaired_again], 1, 700.0 - 2.0 * cost),
        (vec![&repaired_again, &first], 1, 700.0 - 2.0 * cost),
        // What the first test had decided, and for how much, is not known.
        (vec![&repaired_again], 0, 0.0),
    ] {
        let bench = Bench::with(&[]);
        for wanted in wanted {
            bench.add(&[generated(wanted)]);
        }
        let savings = bench.index().savings().unwrap();
        assert_eq!(savings.iter().map(|month| month.n).sum::<i64>(), n);
        near(savings.iter().map(|month| month.saved).sum(), saved, 1e-9);
    }
}

#[test]
fn what_is_left_as_it_is_saves_nothing_and_what_is_undecided_is_counted_beside() {
    let mut left = generated(&repaired(0));
    left.decisions[0].decided = "leave it as it is".to_owned();
    let bench = Bench::with(&[]);
    bench.add(&[left]);
    assert_eq!(bench.index().savings().unwrap(), []);
    let mut in_part = generated(&repaired(1));
    in_part.circuits[1].verdict = Some(Verdict::Retest);
    in_part.circuits[7].verdict = None;
    bench.add(&[in_part]);
    let savings = bench.index().savings().unwrap();
    assert_eq!((savings.len(), savings[0].n, savings[0].outside), (1, 1, 2));
}

#[test]
fn a_unit_that_is_left_amiss_saves_nothing_whatever_was_decided_before() {
    let leaking_beside = |wanted: &Wanted| {
        let mut record = generated(wanted);
        record.circuits[1].verdict = Some(Verdict::Leaks);
        record
    };
    let bench = Bench::with(&[]);
    bench.add(&[leaking_beside(&repaired(0))]);
    assert_eq!(bench.index().savings().unwrap(), []);

    let first = repaired(1);
    bench.add(&[generated(&first)]);
    assert_eq!(bench.index().savings().unwrap()[0].n, 1);
    bench.add(&[leaking_beside(&follows(2, &first, 22.0))]);
    assert_eq!(bench.index().savings().unwrap(), []);
}

#[test]
fn savings_are_the_sums_of_the_accounts_of_what_was_decided() {
    let index = Bench::with(&RECORDS).index();
    let was_repaired = |record: &&Record| !record.decisions.is_empty();
    let by_session = |session: &str| RECORDS.iter().find(|record| record.session == session).unwrap();
    let expected = |record: &Record| {
        let earlier = record.plan.as_ref().and_then(|plan| plan.after.as_ref());
        let has_saved = earlier.is_some_and(|earlier| was_repaired(&by_session(&earlier.session)));
        if has_saved { -record.account.total.unwrap() } else { record.account.saved.unwrap() }
    };
    let saved: f64 = RECORDS.iter().filter(was_repaired).map(expected).sum();
    let savings = index.savings().unwrap();
    near(savings.iter().map(|month| month.saved).sum(), saved, 1e-6);
    assert!(savings.iter().all(|month| month.currency == "EUR") && saved > 0.0);
}

#[test]
fn a_repair_is_found_again_through_every_amendment_in_whatever_order_they_came() {
    let first = repaired(0);
    let corrected = amends(2, &first, 11.0);
    let corrected_again = amends(3, &corrected, 10.0);
    let after = follows(1, &first, 22.5);
    let after_corrected = amends(4, &after, 23.0);
    let records = [&first, &after, &corrected, &corrected_again, &after_corrected].map(generated);
    let orders = [[0, 1, 2, 3, 4], [4, 3, 2, 1, 0], [3, 0, 4, 2, 1], [1, 3, 4, 0, 2]];
    for order in orders {
        let bench = Bench::taken_up(order.map(|at| &records[at]));
        let repairs = bench.index().repairs("Merle M1").unwrap();
        assert_eq!(repairs.len(), 1, "{order:?}");
        assert_eq!((repairs[0].n, repairs[0].holds_now), (1, 1));
        near(repairs[0].before_pa.unwrap(), 10.0 * INCH_OF_MERCURY, 50.0);
        near(repairs[0].after_pa.unwrap(), 23.0 * INCH_OF_MERCURY, 50.0);
        // Without the last corrections those before them stand again.
        for gone in [3, 4] {
            bench.loses(&records[gone].session);
        }
        let repairs = bench.index().repairs("Merle M1").unwrap();
        near(repairs[0].before_pa.unwrap(), 11.0 * INCH_OF_MERCURY, 50.0);
        near(repairs[0].after_pa.unwrap(), 22.5 * INCH_OF_MERCURY, 50.0);
    }
}

#[test]
fn of_two_records_that_amend_the_same_the_later_one_counts() {
    let first = repaired(0);
    let (one, other) = (amends(1, &first, 20.0), amends(2, &first, 23.0));
    let other = Wanted { hours: first.hours + 1, ..other };
    let alone = counted(&Bench::with(&[generated(&other)]).index(), GroupBy::Circuit, "Merle M1");
    let records = [&first, &one, &other].map(generated);
    for order in [[0, 1, 2], [2, 1, 0], [1, 2, 0], [2, 0, 1]] {
        let bench = Bench::taken_up(order.map(|at| &records[at]));
        assert_eq!(counted(&bench.index(), GroupBy::Circuit, "Merle M1"), alone, "{order:?}");
    }
}

#[test]
fn of_a_family_of_amendments_one_record_counts_and_its_checks_with_it() {
    let first = repaired(0);
    let (lost, stands) = (amends(1, &first, 20.0), amends(2, &first, 23.0));
    let stands = Wanted { hours: first.hours + 1, ..stands };
    // It amends what another record had replaced already, and so says nothing.
    let late = Wanted { hours: first.hours + 2, ..amends(3, &lost, 10.0) };
    let again = Wanted { amends: None, ..follows(4, &lost, 24.0) };
    let records = [&first, &lost, &stands, &late, &again].map(generated);
    for order in [[0, 1, 2, 3, 4], [4, 3, 2, 1, 0], [3, 0, 4, 2, 1]] {
        let bench = Bench::taken_up(order.map(|at| &records[at]));
        let index = bench.index();
        for wanted in [&first, &lost, &stands, &late] {
            assert_eq!(index.standing_for(&session(wanted.number)).unwrap(), Some(session(2)), "{order:?}");
            assert_eq!(index.tested_again_in(&session(wanted.number)).unwrap(), [session(4)]);
        }
        assert_eq!(index.sessions("Merle M1").unwrap(), [session(2), session(4)]);
        let checks = index.drift(&index.rigs().unwrap()[0], 100).unwrap();
        let checked: Vec<_> = checks.into_iter().map(|check| check.session).collect();
        assert_eq!(checked, [session(4), session(2)]);
        // Without what stood, the one that it had replaced stands again, as it was amended since.
        bench.loses(&session(2));
        let index = bench.index();
        assert_eq!(index.standing_for(&session(0)).unwrap(), Some(session(3)));
        near(index.repairs("Merle M1").unwrap()[0].before_pa.unwrap(), 10.0 * INCH_OF_MERCURY, 50.0);
    }
}

#[test]
fn the_order_in_which_records_come_makes_no_difference() {
    let whole = answers(&Bench::with(&RECORDS).index());
    let bench = Bench::with(&[]);
    for part in RECORDS.chunks(7).rev() {
        bench.add(part);
        bench.index();
    }
    assert_eq!(answers(&bench.index()), whole);
    let mut index = bench.index();
    index.rebuild(&|| false, &|_| {}).unwrap();
    assert_eq!(answers(&index), whole);
}

/// At a million readings a question takes seconds once it reads a table from end to end.
#[test]
fn every_question_about_a_unit_finds_its_rows_by_an_index() {
    let bench = Bench::with(&RECORDS[..2]);
    bench.index();
    let connection = rusqlite::Connection::open(bench.path().join("history.sqlite")).unwrap();
    for sql in [
        include_str!("../../../src/history/sql/failing.sql"),
        include_str!("../../../src/history/sql/by.sql"),
        include_str!("../../../src/history/sql/by_of_circuit.sql"),
        include_str!("../../../src/history/sql/spread.sql"),
        include_str!("../../../src/history/sql/limits.sql"),
        include_str!("../../../src/history/sql/good.sql"),
        include_str!("../../../src/history/sql/class.sql"),
        include_str!("../../../src/history/sql/repairs.sql"),
        include_str!("../../../src/history/sql/drift.sql"),
    ] {
        // About all records: no table is narrowed.
        let sql = sql.replace("asked_", "");
        let mut plan = connection.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
        let nothing = rusqlite::params_from_iter(vec![""; plan.parameter_count()]);
        let steps: Vec<String> =
            plan.query_map(nothing, |row| row.get(3)).unwrap().map(Result::unwrap).collect();
        for step in &steps {
            // What a query within it has found may be gone through.
            let found = ["SCAN of_benches", "SCAN later", "SCAN latest", "SCAN (subquery"];
            let is_of_found = found.iter().any(|scan| step.starts_with(scan));
            assert!(is_of_found || !step.starts_with("SCAN") && !step.contains("(again=?)"), "{step}: {sql}");
        }
    }
}

#[test]
fn a_record_that_is_gone_is_forgotten() {
    let bench = Bench::with(&RECORDS);
    bench.index();
    for record in &RECORDS[20..] {
        bench.loses(&record.session);
    }
    assert_eq!(answers(&bench.index()), answers(&Bench::with(&RECORDS[..20]).index()));
}

#[test]
fn what_is_no_record_is_skipped_and_named() {
    let bench = Bench::with(&RECORDS[..2]);
    std::fs::write(bench.record("torn"), "{\"format\":").unwrap();
    std::fs::copy(bench.record(&RECORDS[0].session), bench.record("copy")).unwrap();
    let index = bench.index();
    let skipped = index.skipped().unwrap();
    let names: Vec<_> = skipped.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["copy", "torn"]);
    assert_eq!(answers(&index), answers(&Bench::with(&RECORDS[..2]).index()));
}

#[test]
fn a_damaged_or_foreign_index_is_made_anew() {
    let whole = answers(&Bench::with(&RECORDS[..5]).index());
    for damage in ["no database at all, but long enough to be taken for one".repeat(200), String::new()] {
        let bench = Bench::with(&RECORDS[..5]);
        bench.index();
        for suffix in ["-wal", "-shm"] {
            let _ = std::fs::remove_file(bench.path().join(format!("history.sqlite{suffix}")));
        }
        std::fs::write(bench.path().join("history.sqlite"), damage).unwrap();
        assert_eq!(answers(&bench.index()), whole);
    }
}

#[test]
fn several_programs_may_bring_one_index_up_to_date_at_once() {
    let bench = Bench::with(&RECORDS);
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| bench.index());
        }
    });
    assert_eq!(answers(&bench.index()), answers(&Bench::with(&RECORDS).index()));
}

#[test]
fn an_update_that_is_broken_off_goes_on_later() {
    let bench = Bench::with(&RECORDS);
    let mut index = Index::open(&bench.shop, Mode::Bench).unwrap();
    let update = index.update(&|| true, &|_| {}).unwrap();
    assert!(update.is_partial && update.added == 0);
    let update = index.update(&|| false, &|_| {}).unwrap();
    assert_eq!((update.added, update.is_partial), (N, false));
    assert_eq!(index.update(&|| false, &|_| {}).unwrap().added, 0);
}
