//! Forty benches send at once while the server is killed: nothing is lost, and nothing is there twice.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use crate::history::{Archive, Index};
use crate::record::{Mode, Shop, sha256};
use crate::tests::support::{Cluster, drawn, generated, store};

const N_BENCHES: usize = 40;
const N_EACH: usize = 10;

/// After so many records that have arrived the server is killed.
const KILLED_AFTER: [i64; 3] = [60, 150, 280];

#[test]
fn forty_benches_send_at_once_and_the_server_is_killed_in_between() {
    let Some(mut cluster) = Cluster::prepared() else { return };
    let folder = tempfile::tempdir().unwrap();
    let shops: Vec<Shop> = (0..N_BENCHES)
        .map(|bench| {
            cluster.admit(&format!("bench_{bench}"), "spoolproof_bench");
            let shop = Shop::open(&folder.path().join(bench.to_string())).unwrap();
            for n in 0..N_EACH {
                store(&shop.records(), &generated(&drawn(bench * N_EACH + n, 4)));
            }
            shop
        })
        .collect();
    let texts: BTreeMap<String, Vec<u8>> = (shops.iter())
        .flat_map(|shop| {
            shop.record_names().unwrap().into_iter().map(|name| std::fs::read(shop.record(&name)).unwrap())
        })
        .map(|text| (sha256(&text), text))
        .collect();
    assert_eq!(texts.len(), N_BENCHES * N_EACH);
    let n_failed = AtomicUsize::new(0);
    let begun = Instant::now();
    std::thread::scope(|scope| {
        for (bench, shop) in shops.iter().enumerate() {
            let (address, n_failed) = (cluster.address(&format!("bench_{bench}")), &n_failed);
            scope.spawn(move || {
                let sent = || Archive::open(&address, Mode::Bench)?.send_records(shop, |_| Ok(()), &|_| {});
                while let Err(error) = sent() {
                    assert!(begun.elapsed() < Duration::from_secs(100), "bench {bench}: {error}");
                    n_failed.fetch_add(1, Ordering::Relaxed);
                    std::thread::sleep(Duration::from_millis(20));
                }
            });
        }
        for n in KILLED_AFTER {
            let mut boss = cluster.boss("school");
            let mut arrived =
                || -> i64 { boss.query_one("SELECT COUNT(*) FROM spoolproof.document", &[]).unwrap().get(0) };
            while arrived() < n {
                std::thread::sleep(Duration::from_millis(1));
            }
            assert!(arrived() < (N_BENCHES * N_EACH) as i64, "all had arrived before the server was killed");
            cluster.kill();
            cluster.run();
        }
    });
    assert!(n_failed.into_inner() > 0, "no bench noticed that the server was killed");
    let rows =
        cluster.boss("school").query("SELECT digest, text, sender FROM spoolproof.document", &[]).unwrap();
    assert_eq!(rows.len(), texts.len(), "as many as were sent, none twice");
    for row in &rows {
        let (digest, text, sender): (&str, &[u8], &str) = (row.get(0), row.get(1), row.get(2));
        assert_eq!(texts[digest], text);
        let number: usize = sender["bench_".len()..].parse().unwrap();
        let name = shops[number].record_names().unwrap();
        assert!(name.iter().any(|name| std::fs::read(shops[number].record(name)).unwrap() == text));
    }
    // Killed while the records are taken up, the tables hold whole records, and the rest comes later.
    let address = cluster.address("boss");
    let taking_up = std::thread::spawn(move || {
        Index::on_server(&address, Mode::Bench).unwrap().update(&|| false, &|_| {})
    });
    let mut boss = cluster.boss("school");
    let mut is_under_way = || -> bool {
        let locked = "SELECT EXISTS (SELECT FROM pg_locks WHERE relation = 'spoolproof_history_bench.state'::regclass AND mode = 'ExclusiveLock')";
        boss.query_one(locked, &[]).unwrap().get(0)
    };
    while !is_under_way() {
        std::thread::sleep(Duration::from_millis(1));
    }
    std::thread::sleep(Duration::from_millis(100));
    cluster.kill();
    assert!(taking_up.join().unwrap().is_err(), "it was done before the server was killed");
    cluster.run();
    let mut index = Index::on_server(&cluster.address("boss"), Mode::Bench).unwrap();
    index.update(&|| false, &|_| {}).unwrap();
    assert_eq!(index.n_records().unwrap(), texts.len());
    assert_eq!(index.update(&|| false, &|_| {}).unwrap().added, 0);
}
