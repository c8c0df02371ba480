//! Questions about some of the records: by days of the shop, benches and units.

use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;

use super::questions::{N, RECORDS, counted};
use crate::history::{Asked, GroupBy, Index, Tests};
use crate::leak::Limits;
use crate::quantity::Length;
use crate::record::{Event, Mode, Record, Shop, What};
use crate::rig::{BenchIdentity, Orifice};
use crate::tests::support::{drawn, generated, inhg, session, store};

/// Puts a record at a bench, in a place whose clock goes so many minutes before UTC.
fn at_bench(record: &Record, name: &str, minutes_ahead: i16) -> Record {
    let mut record = record.clone();
    let Some(Event { what: What::Opened { opening }, .. }) = record.journal.first_mut() else {
        panic!("no opening")
    };
    opening.bench =
        Some(BenchIdentity { name: Some(name.to_owned()), id: format!("{name}0123456789").to_lowercase() });
    opening.minutes_ahead = minutes_ahead;
    record
}

pub(super) fn index_of(records: &[Record]) -> (tempfile::TempDir, Index) {
    let folder = tempfile::tempdir().unwrap();
    let mut index = Index::open(&Shop::open(folder.path()).unwrap(), Mode::Bench).unwrap();
    let read: Vec<_> = records.iter().map(|record| (record.session.clone(), Ok(record.clone()))).collect();
    index.take_up(&read).unwrap();
    (folder, index)
}

/// The day by the clock of the place, worked out apart from the program: of what was read last.
fn day(record: &Record) -> Date {
    let Some(Event { what: What::Opened { opening }, .. }) = record.journal.first() else {
        panic!("no opening")
    };
    let last =
        record.checks.last().map_or(record.finished, |check| record.journal[check.through as usize - 1].at);
    let ahead = 60 * i64::from(opening.minutes_ahead);
    Offset::UTC.to_datetime(Timestamp::from_second(last.as_second() + ahead).unwrap()).date()
}

#[test]
fn a_narrowed_question_is_answered_as_if_there_were_no_other_records() {
    let all: Vec<Record> =
        RECORDS.iter().enumerate().map(|(n, record)| at_bench(record, place(n).0, place(n).1)).collect();
    let mut days: Vec<Date> = all.iter().map(day).collect();
    days.sort_unstable();
    let (since, until) = (days[N / 6], days[N - N / 4]);
    let (_folder, mut narrowed) = index_of(&all);
    let is_at = |record: &Record, bench: &str| {
        record.opening().unwrap().bench.as_ref().unwrap().name.as_deref() == Some(bench)
    };
    let benches = narrowed.benches().unwrap();
    let north: Vec<i64> =
        benches.iter().filter(|(_, name)| name == "North (nort)").map(|(number, _)| *number).collect();
    type IsMeant<'a> = &'a dyn Fn(&Record) -> bool;
    let cases: [(Asked, IsMeant<'_>); 4] = [
        (Asked { since: Some(since), ..Asked::default() }, &|record| day(record) >= since),
        (Asked { until: Some(until), ..Asked::default() }, &|record| day(record) <= until),
        (Asked { benches: Some(north.clone()), ..Asked::default() }, &|record| is_at(record, "North")),
        (
            Asked {
                since: Some(since),
                until: Some(until),
                benches: Some(north),
                unit: Some("Merle M1".to_owned()),
                ..Asked::default()
            },
            &|record| {
                let is_of_unit = record.procedure.unit.as_deref() == Some("Merle M1");
                (since..=until).contains(&day(record)) && is_at(record, "North") && is_of_unit
            },
        ),
    ];
    for (asked, is_meant) in cases {
        let meant: Vec<Record> = all.iter().filter(|record| is_meant(record)).cloned().collect();
        assert!((3..N).contains(&meant.len()), "{asked:?} leaves {}", meant.len());
        let (_folder, alone) = index_of(&meant);
        narrowed.about(asked.clone());
        for unit in alone.units().unwrap() {
            for by in [GroupBy::Circuit, GroupBy::Technician, GroupBy::Rig, GroupBy::Month] {
                assert_eq!(counted(&narrowed, by, &unit), counted(&alone, by, &unit), "{asked:?} {by:?}");
                let of_circuit =
                    |index: &Index| index.groups(by, Tests::First, &unit, Some("circuit 3")).unwrap();
                assert_eq!(of_circuit(&narrowed), of_circuit(&alone), "{asked:?} {by:?}");
            }
            let spread = |index: &Index| {
                let spread = index.spread_of(Tests::First, &unit, "circuit 3").unwrap();
                spread.map(|spread| (spread.readings, spread.n_undecided))
            };
            assert_eq!(spread(&narrowed), spread(&alone), "{asked:?}");
            let good = |index: &Index| index.good_units(&unit, "circuit 3", None).unwrap();
            assert_eq!(good(&narrowed), good(&alone), "{asked:?}");
            let limits = Limits::new(inhg(21.0), inhg(16.0)).unwrap();
            let judged = |index: &Index| index.judged_by(&unit, "circuit 3", &limits).unwrap();
            assert_eq!(judged(&narrowed), judged(&alone), "{asked:?}");
            let study = |index: &Index| {
                let readings = index.study(&unit).unwrap();
                readings.into_iter().map(|of| (of.operator, of.part, of.value.to_bits())).collect::<Vec<_>>()
            };
            assert_eq!(study(&narrowed), study(&alone), "{asked:?}");
            // What was tested before the repair may lie outside of what is asked about.
            let with_earlier: Vec<Record> =
                all.iter().filter(|of| is_meant(of) || of.plan.is_none()).cloned().collect();
            let (_folder, with_earlier) = index_of(&with_earlier);
            assert_eq!(narrowed.repairs(&unit).unwrap(), with_earlier.repairs(&unit).unwrap(), "{asked:?}");
        }
        assert_eq!(narrowed.rigs().unwrap(), alone.rigs().unwrap());
        for rig in alone.rigs().unwrap() {
            assert_eq!(narrowed.drift(&rig, 1000).unwrap(), alone.drift(&rig, 1000).unwrap(), "{asked:?}");
        }
        let n_saving =
            |index: &Index| index.savings().unwrap().iter().map(|month| month.outside).sum::<i64>();
        assert_eq!(n_saving(&narrowed), n_saving(&alone), "{asked:?}");
    }
}

/// The bench of a record and how many minutes before UTC its clock goes, by the record's number.
fn place(number: usize) -> (&'static str, i16) {
    [("North", -420), ("South", 0), ("West", 765)][number % 3]
}

/// Checks from outside (`.ci/outside/history.py`) name a folder and get 500 of them.
#[test]
fn a_folder_of_records_of_three_benches_is_taken_up_whole() {
    let wanted = std::env::var_os("SPOOLPROOF_WRITE_RECORDS").map(PathBuf::from);
    let n = if wanted.is_some() { 500 } else { N };
    let own = tempfile::tempdir().unwrap();
    let shop = Shop::open(wanted.as_deref().unwrap_or(own.path())).unwrap();
    for number in 0..n {
        let (bench, minutes_ahead) = place(number);
        store(&shop.records(), &at_bench(&generated(&drawn(number, 4)), bench, minutes_ahead));
    }
    let mut index = Index::open(&shop, Mode::Bench).unwrap();
    index.update(&|| false, &|_| {}).unwrap();
    assert_eq!((index.n_records().unwrap() as usize, index.benches().unwrap().len()), (n, 3));
    assert_eq!(index.skipped().unwrap(), []);
}

#[test]
fn a_month_is_the_shops_and_benches_of_equal_parts_are_two() {
    // 31 March, 19:30 in Denver (UTC-6 in summer time, IANA time zone database) is 1 April in UTC.
    let evening: Timestamp = "2021-04-01T01:30:00Z".parse().unwrap();
    let mut read = RECORDS[0].clone();
    let shift = evening.duration_since(read.finished);
    read.finished += shift;
    read.journal.iter_mut().for_each(|event| event.at += shift);
    let mut other = read.clone();
    other.session = session(N);
    let (_folder, index) = index_of(&[at_bench(&read, "North", -360), at_bench(&other, "South", 0)]);
    let labels = |by| -> Vec<String> {
        let unit = read.procedure.unit.clone().unwrap();
        index.groups(by, Tests::First, &unit, None).unwrap().into_iter().map(|group| group.label).collect()
    };
    assert_eq!(labels(GroupBy::Month), ["2021-03", "2021-04"]);
    let rigs = labels(GroupBy::Rig);
    assert!(rigs[0].starts_with("North (nort): ") && rigs[1].starts_with("South (sout): "), "{rigs:?}");
    assert_eq!(index.rigs().unwrap(), rigs);
    // Another orifice is another rig of the same bench.
    let mut rebuilt = at_bench(&read, "North", -360);
    rebuilt.session = session(N + 1);
    rebuilt.rig.orifice = Orifice::new(Length::constant(0.9e-3), rebuilt.rig.orifice.kind()).unwrap();
    let (_folder, index) = index_of(&[at_bench(&read, "North", -360), rebuilt]);
    assert_eq!((index.rigs().unwrap().len(), index.benches().unwrap().len()), (2, 1));
}
